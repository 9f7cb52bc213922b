// The office looks at the test results over the years: advice on intervals and decisions on it,
// pass rates that lead to their tests, the worst instruments, and what intervals cost.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";

let plant;
let desk;
let page;

before(async () => {
  plant = await Plant.make();
  desk = new Pocket(plant);
  page = await desk.begin(plant.someone("administrator"));
  await page.setViewportSize({ width: 1440, height: 900 });
});

after(async () => {
  await desk?.remove();
  await plant?.remove();
});

test("the advice on intervals is accepted with a reason, which is in the record", async () => {
  await page.goto(`${plant.url}/office/figures`);
  await page.getByRole("heading", { name: "Results and intervals" }).waitFor();
  await page.locator("table.figures tbody tr").first().waitFor();
  await sound(page, "advice on intervals");
  await snap(page, "figures-advice", [1440, 1024]);
  const box = page.getByRole("checkbox", { name: /^Choose / }).first();
  const tag = (await box.getAttribute("aria-label")).replace("Choose ", "");
  await box.focus();
  await page.keyboard.press("Space");
  await page.getByRole("button", { name: "Accept", exact: true }).click();
  await page.getByText("Enter a reason. It is kept in the record.").waitFor();
  await page.getByLabel("Reason").fill("Agreed with the shift");
  await page.getByRole("button", { name: "Accept", exact: true }).click();
  await page.getByText("Kept for 1 instrument.").waitFor();
  await page.getByLabel("Show").selectOption("decided");
  await page.getByRole("link", { name: tag, exact: true }).click();
  await page.getByRole("heading", { name: `${tag}: results and interval` }).waitFor();
  await page.getByText(/^accepted: /).waitFor();
  await page.getByText("Agreed with the shift").waitFor();
  await sound(page, "an instrument's results");
  await snap(page, "figures-one", [1440]);
});

test("each figure leads to the visits behind it", async () => {
  await page.goto(`${plant.url}/office/figures`);
  await page.getByRole("button", { name: "Pass rates" }).click();
  await page.getByText(/tests found the instrument in tolerance/).waitFor();
  await sound(page, "pass rates");
  await snap(page, "figures-rates", [1440]);
  await page.getByLabel("By", { exact: true }).selectOption("area");
  const row = page.locator("table.figures tbody tr").first();
  const of = Number((await row.locator("td.number").first().textContent()).split("/")[1]);
  await row.getByRole("button").first().click();
  await page.getByRole("heading", { name: /^Tests: / }).waitFor();
  await page.locator("table.figures tbody tr").first().waitFor();
  const found = Number(await page.locator("section p[role=status]").textContent());
  assert.ok(found >= of, `${found} tests behind ${of}`);
  await sound(page, "tests behind a figure");
  await page.locator("table.figures tbody a[href^='/office/visit/']").first().click();
  await page.waitForURL(/\/office\/visit\//);
});

test("the worst, the models and the hours", async () => {
  await page.goto(`${plant.url}/office/figures`);
  await page.getByRole("button", { name: "Worst fifty" }).click();
  await page.locator("table.figures tbody tr").first().waitFor();
  await snap(page, "figures-worst", [1440]);
  await page.getByRole("button", { name: "By model" }).click();
  await page.locator("table.figures tbody tr").first().waitFor();
  await sound(page, "by model");
  await snap(page, "figures-groups", [1440]);
  await page.getByRole("button", { name: "Hours" }).click();
  await page.getByText(/^Testing takes .+ hours a year/).waitFor();
  await snap(page, "figures-hours", [1440]);
});
