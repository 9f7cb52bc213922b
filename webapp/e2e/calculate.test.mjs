// The calculations that a laboratory needs besides its visits: a reviewer goes through the
// published examples H.2 and H.3 of the GUM (JCGM 100:2008, data from memory) from the observations
// to the budget.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { flags, logIn, Plant } from "./plant.mjs";
import { snap, sound } from "./pocket.mjs";

let plant;
let browser;
let page;
const faults = [];

before(async () => {
  plant = await Plant.make();
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: flags,
  });
  const context = await browser.newContext({
    viewport: { width: 1024, height: 768 },
    locale: "en-GB",
    reducedMotion: "reduce",
  });
  page = await context.newPage();
  page.setDefaultTimeout(30000);
  page.on("pageerror", (e) => faults.push(e.message));
  await logIn(page, plant, plant.someone("reviewer"));
});

after(async () => {
  await browser?.close();
  await plant?.remove();
});

const result = () => page.getByRole("region", { name: "Result", exact: true });
async function calculate() {
  await page.getByRole("button", { name: "Calculate", exact: true }).click();
  await result().or(page.getByRole("alert")).first().waitFor();
}

/** cells gives the row of a table with a given beginning. */
async function cells(caption, row) {
  const line = result()
    .getByRole("table", { name: caption })
    .getByRole("row")
    .filter({ has: page.getByRole("rowheader", { name: row, exact: true }) });
  return line.getByRole("cell").allInnerTexts();
}

test("observations with their correlation become a formula's budget: the impedance of the GUM", async () => {
  await page.goto(`${plant.url}/office/calculate/observations`);
  const seen = [
    ["V", "5.007 4.994 5.005 4.990 4.999"],
    ["I", "19.663 19.639 19.640 19.685 19.678"],
    ["phi", "1.0456 1.0438 1.0468 1.0428 1.0433"],
  ];
  for (const [i, [name, values]] of seen.entries()) {
    if (i > 0) await page.getByRole("button", { name: /^Add/ }).click();
    const one = page.getByRole("listitem", { name: `Quantity ${i + 1}` });
    await one.getByLabel("Name").fill(name);
    await one.getByLabel("Observations").fill(values);
  }
  await calculate();
  assert.deepEqual((await cells("Means", "V")).slice(0, 2), ["5", "4.9990"]);
  assert.deepEqual(await cells("Correlations", "V and I"), ["\u22120.36"]);
  await sound(page, "observations");
  await snap(page, "calculate-observations", [390, 1024]);

  await page.getByRole("button", { name: "Use in a formula" }).click();
  await page.getByRole("textbox", { name: "Formula" }).fill("1000*V/I*cos(phi)"); // I is in milliamperes
  await calculate();
  const said = await result().locator("strong").innerText();
  assert.match(said, /^127\.7\d* \u00b1 0\.1\d*, k = /, said);
  assert.match(await result().innerText(), /standard uncertainty 0\.071/);
  await sound(page, "formula");
  await snap(page, "calculate-formula", [390, 1024]);
});

test("points become a line with its uncertainties: the thermometer of the GUM", async () => {
  await page.goto(`${plant.url}/office/calculate/line`);
  const t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
  const b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];
  await page.getByText("Paste rows of a spreadsheet").click();
  const rows = page.getByRole("textbox", { name: "Rows" });
  const take = page.getByRole("button", { name: "Take these rows" });
  await rows.fill("1\t2\t3\t4\t5\t6");
  await take.click();
  await page.getByText("Line 1 has 6 columns; there are only 5.").waitFor();
  await rows.fill(["t - 20\tcorrection", ...t.map((x, i) => `${(x - 20).toFixed(3)}\t${b[i]}`)].join("\n"));
  await take.click();
  await page.getByRole("listitem", { name: "Point 11", exact: true }).waitFor();
  assert.equal(await page.getByRole("listitem", { name: /^Point / }).count(), t.length);
  await page.getByLabel("Values of x").fill("10");
  await calculate();
  const a = await cells("The line", "a");
  assert.match(a[0], /^\u22120\.171/);
  assert.match(a[1], /^0\.0029/);
  const slope = await cells("The line", "b");
  assert.match(slope[0], /^0\.0022|^0\.00218/);
  assert.match(slope[1], /^0\.00067/);
  assert.match((await cells("On the line", "10"))[0], /^\u22120\.149/);
  await sound(page, "line");
  await snap(page, "calculate-line", [390, 1024]);
});

test("what cannot be calculated is named beside its field, and nothing typed is lost", async () => {
  await page.goto(`${plant.url}/office/calculate/model`);
  await page.getByRole("textbox", { name: "Formula" }).fill("a/(b");
  await page.getByLabel("Name").fill("a");
  await page.getByLabel("Value").fill("1");
  await page.getByLabel("Standard uncertainty", { exact: true }).fill("0.1");
  await calculate();
  const alert = page.getByRole("alert").first();
  await alert.waitFor();
  assert.match(await alert.innerText(), /Formula/);
  await page.getByRole("textbox", { name: "Formula" }).fill("a^2");
  await calculate();
  await result().locator("strong").waitFor();
  assert.match(await result().innerText(), /standard uncertainty 0\.2/);
  assert.deepEqual(faults, []);
});
