// A visit by another method than the one set: chosen at the instrument with a reason, without a
// network, done, signed, seen by the office first and printed on the certificate.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { author } from "./author.mjs";
import { furnish, gauge, pressureSwitch } from "./kinds.mjs";
import { flags, logIn, Plant, ready } from "./plant.mjs";
import { asPerson, kept, Pocket, snap, sound } from "./pocket.mjs";
import { atSizes } from "./sizes.mjs";
import { hand, onward, run, tickAll } from "./visit.mjs";

const reason = "the customer asked for 2 points";
let id;
let plant;
let pocket;
let page;
let visit;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  const { instrument } = await furnish(admin, { instrument: gauge() }, () => ({
    method: { name: "The usual three points" },
    description: "Pressure of the distribution line",
    resolution: "0.001",
    tag: "OTHER-1",
    serial: "O-1",
    label: "other0meth",
  }));
  id = instrument;
  const method = (name, kind, definition) => admin.write("method", { name, kind, version: 1, definition });
  await method("Short check", "gauge", gauge({}, ["2", "8"]).definition);
  await method("Far too high", "gauge", gauge({}, ["0", "40"]).definition);
  await method("Check of a switch", "switch", pressureSwitch().definition);
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  await page.goto(`${plant.url}/instrument/${id}`);
  await page.getByRole("button", { name: "By another method" }).waitFor();
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title, here, sign } = hand(() => page);

test("methods of its kind are offered, those that do not suit say why, and a reason is asked for", async () => {
  await plant.kill(); // from here on there is no office
  await press("By another method");
  const sheet = page.getByRole("dialog", { name: "By another method" });
  await sheet.getByLabel("Short check, version 1").waitFor();
  const offered = await sheet.locator(".choice label").allTextContents();
  assert.ok(!offered.some((o) => /usual three points|Far too high|Check of a switch/.test(o)), offered.join());
  await sheet.getByText(/that do(es)? not suit, and why/).click();
  const refused = sheet.locator("details li", { hasText: "Far too high, version 1" });
  assert.match(await refused.innerText(), /Far too high, version 1: .*40/);
  assert.equal(await sheet.getByText("Check of a switch").count(), 0, "it is of another kind");
  await sound(page, "another method");
  await atSizes(page, "another method");
  await snap(page, "other-method");
  await press("Start the visit by this method");
  await sheet.getByRole("alert").getByText("Method: choose one.").waitFor();
  await sheet.getByLabel("Short check, version 1").check();
  await press("Start the visit by this method");
  await sheet.getByRole("alert").getByText("Reason for this method: write a few words.").waitFor();
  await sheet.getByLabel("Reason for this method").fill(`  ${reason} `);
  await press("Start the visit by this method");
  await title("Before any pressure");
  visit = here();
  const { method } = await kept(page, visit);
  assert.deepEqual([method.name, method.version, method.reason], ["Short check", 1, reason]);
  assert.deepEqual(method.definition.points.values, ["2", "8"]);
});

test("the visit follows it, and is signed", async () => {
  await tickAll(page);
  await press("All checked: go on");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
  await title("Ready to begin");
  await page.getByText("Short check", { exact: false }).first().waitFor();
  await page.getByText(reason, { exact: true }).waitFor();
  await atSizes(page, "ready to begin by another method");
  await page.getByLabel("Air temperature").fill("21.5");
  await press("Begin");
  await page.locator(".visit-where[data-kept]").waitFor();
  const targets = new Set();
  await run(
    () => page,
    (x) => {
      targets.add(x);
      return x;
    },
  );
  assert.deepEqual([...targets].filter((x) => x > 0), [2, 8]);
  await press("Close this run");
  await page.getByText("As found: result").waitFor();
  await onward(page);
  await sign();
});

test("the office sees the reason before it approves, and the certificate states it", async () => {
  await plant.start();
  await page.goto(plant.url);
  await page.getByText("All work sent").waitFor({ timeout: 60000 });
  const ask = await asPerson(plant, plant.someone("reviewer"));
  const seen = await ask(`/api/office/visits/${visit}`);
  assert.equal(seen.status, "signed");
  assert.ok(seen.attention.includes("other_method"), seen.attention.join());
  assert.ok(!seen.attention.includes("recomputed"), "the server finds the same");
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: flags });
  try {
    const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, locale: "en-GB" });
    const desk = await context.newPage();
    await logIn(desk, plant, plant.someone("reviewer"));
    await desk.goto(`${plant.url}/office/visit/${visit}`);
    await desk.getByText(reason, { exact: true }).waitFor();
    await desk.getByText("done by another method than the one set, with a reason").first().waitFor();
    await sound(desk, "a visit by another method");
    await snap(desk, "other-method-office", [1440]);
  } finally {
    await browser.close();
  }
  const { certificate } = await ask(`/api/office/visits/${visit}/approve`, "POST", { covers: seen.covers, effect: "" });
  const pdf = await ask(`/api/certificates/${certificate.id}.pdf`);
  const text = execFileSync("pdftotext", ["-layout", "-", "-"], { input: pdf }).toString();
  assert.match(text, /Method\s+Short check, version 1/);
  assert.match(text, new RegExp(`Reason for this method\\s+${reason}`));
  const used = (await kept(page, visit)).method.id;
  assert.notEqual((await kept(page, id)).method, used, "the method set for the instrument stays");
  assert.deepEqual(pocket.faults, []);
});
