// With text twice as large on the smallest phone, each screen around a visit still works: the main
// button lies within the screen and is not covered, and no word is cut off or runs out of it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket, snap } from "./pocket.mjs";
import { choosing, hand, run } from "./visit.mjs";
import { readings } from "./walk.mjs";

const range = { low: "0", high: "10", unit: "bar", mode: "gauge" };
const limit = { rule: "terms", of_span_percent: 1 };
const contact = {
  name: "K1",
  acts: "rising",
  nominal: "1.5",
  tolerance: "0.05",
  safe: "open",
  safety_function: true,
};
const things = {
  first: {
    medium: "oxygen in nitrogen",
    cautions: ["oxygen", "asphyxiation", "stored_energy", "hot", "toxic"],
    definition: { kind: "gauge", points: { values: ["0", "10"] }, directions: "up" },
  },
  second: { definition: { kind: "gauge", points: { values: ["0", "10"] }, directions: "up" } },
  trip: {
    particulars: { contacts: [contact] },
    definition: { kind: "switch", cycles: 1, approach: { low: "0.6", high: "1.7" }, rate: "0.01" },
  },
};
const ids = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  const technician = await author(plant, plant.someone("technician"));
  await admin.write("standard", {
    name: "Clean comparator",
    serial: "CC-1",
    medium: "gas",
    cleaned_for_oxygen: "2026-01-05",
    calibrated: "2026-01-10",
    due: "2199-01-01",
    status: "in service",
    ranges: [
      { low: "0", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.001", k: "2" },
    ],
  });
  for (const [name, { definition, ...more }] of Object.entries(things)) {
    const { kind } = definition;
    const method = await admin.write("method", {
      name: `Large: ${name}`,
      kind,
      version: 1,
      definition,
    });
    ids[name] = await admin.write("instrument", {
      tag: `LARGE-${name.toUpperCase()}`,
      serial: `L-${name}`,
      label: `${name}0large000`.slice(0, 10),
      description: "Pressure of the distribution line",
      area: "Compressor house",
      resolution: "0.01",
      status: "in service",
      kind,
      range,
      limit,
      method,
      ...more,
    });
  }
  const now = new Date();
  const two = (n) => String(n).padStart(2, "0");
  await admin.write("round", {
    date: `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`,
    person: technician.user.id,
    title: "Large",
    stops: Object.values(ids).map((instrument) => ({ instrument, method: "" })),
  });
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  await page.addInitScript(() =>
    document.addEventListener("DOMContentLoaded", () => {
      document.documentElement.style.fontSize = "200%";
    }),
  );
  await page.setViewportSize({ width: 360, height: 640 });
  await page.reload();
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title, start } = hand(() => page);

/** look measures the screen that is open: its main button, and what is cut off or runs out of it. */
const look = () =>
  page.evaluate(() => {
    const shown = (e) =>
      e.checkVisibility({ visibilityProperty: true }) && !e.closest(".unseen, svg");
    const root = document.querySelector(".cover") ?? document.querySelector("main");
    const button = [...root.querySelectorAll(".button.main")].find(shown);
    const box = button?.getBoundingClientRect();
    const over = box && document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    const name = (e) =>
      `${e.tagName.toLowerCase()}.${e.className}: ${(e.textContent ?? "").slice(0, 40)}`;
    const cut = [];
    for (const e of root.querySelectorAll("*")) {
      if (!shown(e)) continue;
      const { left, right, width } = e.getBoundingClientRect();
      // A wide table or chart may scroll within its own frame.
      const framed = e.closest(".wide-table, .chart, table") !== null;
      if (!framed && width > 0 && (left < -1 || right > innerWidth + 1))
        cut.push(`out: ${name(e)}`);
      const style = getComputedStyle(e);
      const hides = ["hidden", "clip"].includes(style.overflowX) || e.matches(".button");
      // Of the line on top the method's name alone may end in dots: it is told on the screen.
      if (e.closest(".visit-where") !== null && e.matches(":last-child")) continue;
      if (hides && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1))
        cut.push(`cut: ${name(e)}`);
    }
    return {
      main: box && [box.left, box.top, box.right, box.bottom].map(Math.round),
      free: over !== undefined && (over === button || button.contains(over)),
      sideways: root.scrollWidth - root.clientWidth,
      cut,
    };
  });

/** fits holds the screen that is open against what it must be; with `main`, its button is in view. */
async function fits(name, main = true) {
  assert.equal(await page.evaluate(() => document.documentElement.style.fontSize), "200%");
  await page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
  );
  const seen = await look();
  if (process.env.SHOTS)
    await page.screenshot({ path: `${process.env.SHOTS}/large-${name.replaceAll(" ", "-")}.png` });
  assert.deepEqual(seen.cut, [], `${name}: cut off`);
  assert.equal(seen.sideways, 0, `${name}: scrolls sideways`);
  if (!main) return;
  assert.ok(seen.main, `${name}: no main button`);
  const [l, t, r, b] = seen.main;
  assert.ok(
    l >= 0 && t >= 0 && r <= 360 && b <= 640,
    `${name}: the main button is at ${seen.main}`,
  );
  assert.ok(b - t >= 55, `${name}: the main button is ${b - t} high`);
  assert.ok(seen.free, `${name}: the main button is covered`);
}

/** identified goes from the cautions to the choice of a standard. */
async function identified() {
  for (const box of await page.getByRole("checkbox").all()) await box.check();
  await press("All of this holds here");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
}

test("the round, the list and the day", async () => {
  await page.goto(`${plant.url}/round`);
  await page.locator(".stops a").first().waitFor();
  await page.locator(".bring summary").waitFor();
  await fits("round", false);
  await page.locator(".bring summary").click();
  await fits("what to bring", false);
  await press("The day");
  await page.getByRole("dialog", { name: "The day" }).waitFor();
  await fits("day", false);
  await page.keyboard.press("Escape");
  await page.goto(`${plant.url}/find`);
  await page.locator(".rows li").first().waitFor();
  await fits("find", false);
});

test("the screens before the first pressure, and the stop", async () => {
  await start(plant, ids.first);
  await fits("cautions");
  for (const box of await page.getByRole("checkbox").all()) await box.check();
  await press("All of this holds here");
  await page.getByLabel("They agree").waitFor();
  await fits("identity");
  await page.getByLabel("Something differs").check();
  await fits("identity differs");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
  await choosing(page);
  await fits("standard");
  await page
    .getByRole("radio", { name: /Clean comparator/ })
    .first()
    .check();
  await press("Use this standard");
  const asked = page.getByRole("group", { name: "Does this hold here?" });
  await asked.first().waitFor();
  await fits("service");
  for (const one of await asked.all()) await one.getByLabel("No").check();
  await press("Next");
  await title("Do not apply pressure");
  await fits("stop");
  await press("End here: cannot be tested");
  await page.getByLabel("Why it cannot be tested").waitFor();
  await fits("end at a stop");
  await press("Back");
  await press("Put right and answer again");
  await fits("answer again");
  for (const one of await asked.all()) await one.getByLabel("Yes").check();
  await page.getByLabel("What was put right").fill("Another hose, doors open");
  await press("Next");
  await page.getByLabel("Air temperature").waitFor();
  await fits("surroundings");
  await page.getByLabel("Air temperature").fill("21.5");
  await press("Next");
  await page.getByRole("button", { name: "Start: As found" }).waitFor();
  await fits("start");
  await press("Start: As found");
});

test("the sheet of readings, the result of a failure, what happens now, and the signature", async () => {
  await page.locator(".bench").waitFor();
  await run(
    () => page,
    (x) => (0.9 * x).toFixed(2),
  );
  await readings(page);
  await fits("readings", false);
  await page.keyboard.press("Escape");
  await press("Close this run");
  await page.getByText("As found: result").waitFor();
  await fits("result", false);
  const now = page.getByRole("heading", { name: "It failed. What happens to it now?" });
  await now.waitFor();
  await page.getByLabel("Leave it in service").check();
  await page.getByRole("button", { name: "Next", exact: true }).scrollIntoViewIfNeeded();
  await fits("what now");
  await page.getByLabel("Who decided this").fill("shift lead");
  await page.getByLabel("Until", { exact: true }).fill("2199-12-31");
  await page.getByLabel("Why this is safe until then").fill("a second gauge is beside it");
  await press("Next");
  await page.getByRole("button", { name: "To the signature" }).waitFor();
  await fits("remark and photo");
  await press("To the signature");
  await page.locator(".signature svg").waitFor();
  await fits("signature");
});

test("the offer of the last stop, and what cannot be tested", async () => {
  await start(plant, ids.second);
  await identified();
  await page.getByRole("button", { name: "Same here: use these" }).waitFor();
  await fits("as at the last stop");
  await press("Cannot be tested today");
  await title("Cannot be tested today");
  await fits("cannot be tested");
  await page.getByLabel("No access").check();
  await page.getByLabel("In a sentence").fill("A scaffold is needed");
  await press("End here: cannot be tested");
  await page.getByText("Not tested: A scaffold is needed").waitFor();
  await fits("not tested");
});

test("bypasses of a safety function", async () => {
  await start(plant, ids.trip);
  await identified();
  await choosing(page);
  await page.getByRole("radio").first().check();
  await press("Use this standard");
  await page.getByLabel("Air temperature").waitFor();
  await press("Next");
  await press("Start: As found");
  await title("Bypasses");
  await fits("bypasses", false);
  await press("Add to the list");
  await fits("a bypass", false);
});

test("no script failed on the way", () => {
  assert.deepEqual(pocket.faults, []);
});
