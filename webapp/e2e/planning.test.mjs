// The office looks at the work of the next year, sets the order of its areas, makes rounds of what
// is due in a week, and moves one by keyboard and one by mouse.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { Plant } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";

let plant;
let desk;
let page;
const day = (n) => new Date(Date.now() + n * 86400000).toISOString().slice(0, 10);

before(async () => {
  plant = await Plant.empty();
  const office = await author(plant, plant.someone("administrator"));
  for (const name of ["bert", "dora"])
    await office.ask("/api/users", "POST", { name, password: "another long password", role: "technician" });
  const definition = {
    kind: "gauge",
    points: { count: 5 },
    directions: "up",
    cycles: 1,
    exercise: 1,
    tap: true,
    hold_s: 30,
    hold_top_s: 60,
    way: "applied-set",
    decision: { rule: "simple" },
  };
  const method = await office.write("method", { name: "Five points", kind: "gauge", version: 1, definition, cautions: [] });
  await office.write("standard", {
    name: "Kit A",
    serial: "K-1",
    status: "in service",
    calibrated: day(-200),
    due: day(120),
    ranges: [{ low: "0", high: "16", unit: "bar", mode: "gauge", of_span_percent: "0.01", k: "2" }],
  });
  const about = {
    kind: "gauge",
    range: { low: "0", high: "10", unit: "bar", mode: "gauge" },
    resolution: "0.05",
    limit: { rule: "terms", of_span_percent: "1" },
    status: "in service",
    interval_months: 12,
    method,
  };
  for (let i = 0; i < 12; i++)
    await office.write("instrument", {
      ...about,
      tag: `P-${i}`,
      serial: `s${i}`,
      area: ["Weir", "Boilers"][i % 2],
      due: day(7 + i),
    });
  await office.write("instrument", {
    ...about,
    tag: "P-HIGH",
    serial: "high",
    area: "Boilers",
    due: day(30),
    range: { low: "0", high: "600", unit: "bar", mode: "gauge" },
  });
  desk = new Pocket(plant);
  page = await desk.begin(plant.someone("administrator"));
  await page.setViewportSize({ width: 1440, height: 900 });
});

after(async () => {
  await desk?.remove();
  await plant?.remove();
});

test("the year by weeks, and what cannot be done", async () => {
  await page.goto(`${plant.url}/office/planning`);
  await page.locator("table.figures tbody tr").nth(52).waitFor();
  await sound(page, "the year");
  await snap(page, "planning-year", [1440, 1024]);
  await page.getByRole("button", { name: "Cannot be done" }).click();
  await page.getByRole("row", { name: /P-HIGH.*no standard is suitable/ }).first().waitFor();
  await sound(page, "what cannot be done");
  await page.getByRole("button", { name: "Standards", exact: true }).last().click();
  await page.getByRole("row", { name: /Kit A/ }).waitFor();
});

test("areas have the order that the office states", async () => {
  await page.getByRole("button", { name: "Settings" }).click();
  const box = page.getByLabel(/^Areas in walking order/);
  assert.equal(await box.inputValue(), "Boilers\nWeir");
  await box.fill("Weir\nBoilers");
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await page.getByText("Saved.").waitFor();
  await sound(page, "what is stated");
});

test("rounds are made of what is due, and one is moved by keys", async () => {
  await page.getByRole("button", { name: "Year", exact: true }).click();
  const rows = page.locator("table.figures tbody tr");
  const n = await rows.evaluateAll((list) => list.findIndex((r, i) => i > 0 && Number(r.cells[1].textContent) > 3));
  await rows.nth(n).getByRole("button").click();
  const idea = page.locator(".card.idea").first();
  await idea.waitFor();
  assert.match(await idea.textContent(), /^Weir, Boilers/);
  await sound(page, "the board");
  await snap(page, "planning-board", [1440, 1024]);
  await page.getByRole("button", { name: /^Make \d+ round/ }).click();
  await page.getByText(/(is|are) made\./).waitFor();
  const card = page.locator("table.board .card:not(.idea)").first();
  await card.waitFor();
  const column = (c) => c.evaluate((e) => e.closest("td").cellIndex);
  const before = await column(card);
  await card.focus();
  await page.keyboard.press(before < 5 ? "Alt+ArrowRight" : "Alt+ArrowLeft");
  await page.getByText(/is moved\.$/).waitFor();
  await page.waitForFunction((b) => document.querySelector("table.board .card:not(.idea)")?.closest("td")?.cellIndex !== b, before);
  await snap(page, "planning-made", [1440]);

  // By mouse: to another day of the other person, and the office has it.
  const at = await card.evaluate((e) => ({ row: e.closest("tr").rowIndex, column: e.closest("td").cellIndex }));
  const to = { row: at.row === 1 ? 2 : 1, column: at.column < 5 ? at.column + 1 : at.column - 1 };
  const title = await card.locator("strong").textContent();
  const target = page.locator("table.board tr").nth(to.row).locator("td").nth(to.column - 1);
  const answer = page.waitForResponse((r) => r.request().method() === "PUT" && r.url().includes("/api/office/board/"));
  await card.dragTo(target);
  assert.equal((await answer).status(), 204);
  const moved = target.locator(".card:not(.idea)", { hasText: title }); // as the office has it
  await moved.waitFor();
  await moved.click();
  await page.getByRole("heading", { name: /Weir, Boilers/ }).waitFor();
});
