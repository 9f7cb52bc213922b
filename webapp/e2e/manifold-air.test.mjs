// Two absolute transmitters in oxygen service on one manifold: questions about the set are asked
// once. Standard, meter, barometer, permit and the question about oxygen come from the first; the
// second is lower and has its own height. The office's page names the set.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { author } from "./author.mjs";
import { flags, logIn, Plant, ready } from "./plant.mjs";
import { asPerson, kept, Pocket, snap, sound } from "./pocket.mjs";
import { atSizes } from "./sizes.mjs";
import { choosing, hand, onward, stroke, tickAll, unbypassed } from "./visit.mjs";
import { look } from "./walk.mjs";

const ids = {};
const visits = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  const standard = (name, ranges, more = {}) =>
    admin.write("standard", {
      name,
      serial: name.slice(0, 3),
      medium: "gas",
      cleaned_for_oxygen: "2026-01-05",
      calibrated: "2026-01-10",
      due: "2199-01-01",
      status: "in service",
      ranges,
      ...more,
    });
  await standard("Clean comparator", [{ low: "-1", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.001", k: "2" }]);
  await standard("Loop meter", [{ low: "0", high: "24", unit: "mA", absolute: "0.001", k: "2" }]);
  await standard("Shop barometer", [{ low: "800", high: "1200", unit: "hPa", mode: "absolute", absolute: "0.1", k: "2" }]);
  for (const name of ["A", "B"]) {
    const method = await admin.write("method", {
      name: `Loop ${name}`,
      kind: "gauge",
      version: 1,
      definition: { kind: "gauge", points: { values: ["2", "6"] }, directions: "up" },
    });
    ids[name] = await admin.write("instrument", {
      tag: `LOOP-${name}`,
      serial: `L-${name}`,
      label: `loop${name.toLowerCase()}00000`,
      description: "Oxygen header",
      medium: "oxygen",
      setting: "indoors",
      resolution: "0.001",
      status: "in service",
      kind: "gauge",
      range: { low: "0", high: "10", unit: "bar", mode: "absolute" },
      output: { low: "4", high: "20", unit: "mA" },
      limit: { rule: "terms", of_span_percent: 1 },
      method,
    });
  }
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title, here } = hand(() => page);

async function begun(first) {
  await title("Before any pressure");
  await tickAll(page);
  const number = page.getByRole("textbox", { name: "Permit to work: number" });
  if (first) await number.fill("PTW-7");
  else {
    await page.getByText("As for the other gauges of this manifold").waitFor();
    await page.getByText("PTW-7", { exact: true }).waitFor();
    assert.equal(await number.count(), 0, "the permit is asked for once");
    await sound(page, "the permit of a manifold");
    await atSizes(page, "permit of a manifold");
  }
  await snap(page, first ? "manifold-permit" : "manifold-permit-of-set");
  await press("All checked: go on");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
}

test("questions about the set are asked at the first gauge only, and the second has its own height", async () => {
  await page.goto(`${plant.url}/instrument/${ids.A}`);
  await press("Several gauges on this manifold");
  const sheet = page.getByRole("dialog", { name: "Gauges on one manifold" });
  await sheet.getByLabel("Add: tag, serial, area or words").fill("LOOP-B");
  await sheet.getByRole("button", { name: "Add LOOP-B", exact: true }).click();
  await sheet.getByRole("button", { name: "Start with these 2" }).click();
  await title("Before any pressure");
  visits.A = here();
  visits.B = (await kept(page, visits.A)).manifold.visits[1];
  await begun(true);
  await choosing(page);
  await page.getByRole("radio", { name: /Clean comparator/ }).first().check();
  for (const role of ["Meter", "Barometer"]) {
    const name = role === "Meter" ? /Loop meter/ : /Shop barometer/;
    await page.getByRole("region", { name: role }).getByRole("radio", { name }).first().check();
  }
  await press("Use this standard");
  // The questions about the service, asked once: oxygen, and the air in the room.
  const asked = page.getByRole("group", { name: "Is this so here?" });
  await asked.first().waitFor();
  const questions = await asked.count();
  for (const one of await asked.all()) await one.getByLabel("Yes").check();
  await press("Next");
  await page.getByLabel("Air temperature").fill("21");
  await page.getByLabel("Air pressure").fill("1009");
  await page.getByLabel("Standard above the instrument").fill("0.5");
  await page.getByLabel("Water", { exact: true }).check();
  await press("Next");
  await begun(false);
  await title("Heights on the manifold");
  await page.getByText("The standard is 0.5 m above LOOP-A.").waitFor();
  await sound(page, "heights on a manifold");
  await snap(page, "manifold-heights");
  await press("Enter each gauge's height");
  await title("Height of LOOP-B");
  await atSizes(page, "height of one gauge of a manifold");
  await page.getByLabel("Standard above LOOP-B").fill("2,1");
  await snap(page, "manifold-height");
  await press("Next");
  await title("All 2 gauges");
  assert.ok(questions >= 1);
  const [a, b] = [await kept(page, visits.A), await kept(page, visits.B)];
  for (const role of ["standard", "meter", "barometer"])
    assert.equal(b[role].snapshot.name, a[role].snapshot.name, `${role} is the same`);
  assert.equal(b.meter.snapshot.name, "Loop meter");
  assert.equal(b.barometer.snapshot.name, "Shop barometer");
  assert.deepEqual(b.service, a.service, "asked once for the set");
  assert.equal(b.service.oxygen, "yes");
  assert.deepEqual([a.head.standard_above_m, b.head.standard_above_m], ["0.5", "2.1"]);
  assert.deepEqual([a.head.fluid, b.head.fluid], ["water", "water"]);
  assert.equal(b.surroundings.pressure_hpa, "1009");
  assert.deepEqual([a.cautions.permit, b.cautions.permit], ["PTW-7", "PTW-7"], "written on each visit");
});

test("both are read, and each height corrects its own result", async () => {
  await page.getByRole("img", { name: /The other gauges of the manifold/ }).waitFor();
  await press("Start as found: all 2");
  for (let i = 0; i < 60; i++) {
    await unbypassed(page).catch(() => undefined);
    const seen = await look(page);
    if (seen.buttons.includes("No bypass is set")) continue; // for the next circuit
    if (seen.buttons.includes("Close this run")) break;
    const now = page.locator(".gauge-now").first();
    if ((await now.count()) === 0) continue; // the next circuit's question has not come yet
    const where = `${seen.where} ${seen.kept} ${await now.textContent()}`;
    if (seen.pad) {
      const target = Number(/(?:Raise|Lower|Stay at|Set)(?: from \S+ \S+)?(?: to)? ([\d.]+)/.exec(seen.text)?.[1] ?? "2");
      await page.locator(".pad input").fill((4 + 1.6 * target).toFixed(1));
      await page.getByRole("button", { name: /^Keep .*\d/ }).click();
    } else if (seen.buttons.includes("Target reached")) await press("Target reached");
    else if (seen.buttons.includes("Done")) await press("Done");
    await page
      .waitForFunction((old) => {
        const at = document.querySelector(".visit-where");
        const now = document.querySelector(".gauge-now");
        return `${at?.textContent} ${at?.dataset.kept} ${now?.textContent}` !== old;
      }, where, { timeout: 5000 })
      .catch(() => undefined);
  }
  await snap(page, "manifold-air-closed");
  await press("Close this run");
  await page.waitForFunction(() => document.querySelector(".gauge-now .one")?.textContent === "LOOP-B");
  await press("Close this run");
  for (const name of ["A", "B"]) {
    await page.locator(".visit-where").getByText(`LOOP-${name}`, { exact: true }).waitFor();
    await onward(page);
    await press("To the signature");
    await stroke(page);
    await press("Sign");
    await title("Signed");
    if (name === "A") await page.getByRole("link", { name: "Next gauge of this manifold: LOOP-B" }).click();
  }
  await page.getByText("All work sent").waitFor({ timeout: 60000 });
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const errors = {};
  for (const name of ["A", "B"]) {
    const seen = await reviewer(`/api/office/visits/${visits[name]}`);
    assert.equal(seen.status, "signed");
    assert.ok(!Object.keys(seen.visit.fields).some((f) => f.startsWith("check.")), "phone and office agree");
    errors[name] = seen.runs[0].fields.finding.heads[0].value.points[0].error;
  }
  // 1.6 m of water is 0.157 bar (ρ g h with 998 kg/m³ and 9.81 m/s²), and 1.6 mA are 1 bar.
  const apart = Math.abs(errors.A - errors.B) / 1.6;
  assert.ok(Math.abs(apart - 0.157) < 0.003, `${JSON.stringify(errors)}: ${apart} bar apart`);
});

test("the office's page of a visit names the set and the permit", async () => {
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: flags });
  try {
    const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, locale: "en-GB" });
    const desk = await context.newPage();
    await logIn(desk, plant, plant.someone("reviewer"));
    await desk.goto(`${plant.url}/office/visit/${visits.B}`);
    const set = desk.getByRole("region", { name: "Tested with others: 2 gauges on one manifold" });
    await set.getByText("LOOP-B").waitFor();
    await desk.getByText("PTW-7").first().waitFor();
    await sound(desk, "the office's page of a manifold's visit");
    await snap(desk, "manifold-office", [390, 1440]);
    await set.getByRole("link", { name: "LOOP-A" }).click();
    await desk.getByText("PTW-7").first().waitFor();
  } finally {
    await browser.close();
  }
  assert.deepEqual(pocket.faults, []);
});
