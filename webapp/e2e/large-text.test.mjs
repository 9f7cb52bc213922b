// With text twice as large on the smallest phone, each screen around a visit still works: the main
// button is within the screen and not covered, and no word is cut off or overflows it.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { furnish, gauge, percent, pressureSwitch, today } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket } from "./pocket.mjs";
import { choosing, hand, run, tickAll } from "./visit.mjs";
import { readings } from "./walk.mjs";

const things = {
  first: {
    ...gauge({}, ["0", "10"]),
    medium: "oxygen in nitrogen",
    cautions: ["oxygen", "asphyxiation", "stored_energy", "hot", "toxic"],
  },
  second: gauge({}, ["0", "10"]),
  trip: { ...pressureSwitch(1, { safety_function: true }), limit: percent },
};
let ids = {};
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
  ids = await furnish(admin, things, (name) => ({
    method: { name: `Large: ${name}` },
    tag: `LARGE-${name.toUpperCase()}`,
    serial: `L-${name}`,
    label: `${name}0large000`.slice(0, 10),
    description: "Pressure of the distribution line",
    area: "Compressor house",
    resolution: "0.01",
  }));
  await admin.write("round", {
    date: today(),
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

/** look measures the open screen: its main button, and what is cut off or overflows it. */
const look = () =>
  page.evaluate(() => {
    const shown = (e) =>
      e.checkVisibility({ visibilityProperty: true }) && !e.closest(".unseen, svg");
    const cover = document.querySelector(".cover");
    const root = cover ?? document.querySelector("main");
    const around = cover ? [] : [...document.querySelectorAll("header *, nav *")];
    const button = [...root.querySelectorAll(".button.main")].find(shown);
    const box = button?.getBoundingClientRect();
    const over = box && document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
    const name = (e) =>
      `${e.tagName.toLowerCase()}.${e.className}: ${(e.textContent ?? "").slice(0, 40)}`;
    const cut = [];
    for (const e of [...around, ...root.querySelectorAll("*")]) {
      if (!shown(e)) continue;
      const { left, right, width } = e.getBoundingClientRect();
      // A wide table or chart may scroll within its own frame.
      const framed = e.closest(".wide-table, .chart, table") !== null;
      const frame = e.parentElement?.closest(".halt-sign")?.getBoundingClientRect().right;
      const edge = frame ?? innerWidth;
      if (!framed && width > 0 && (left < -1 || right > edge + 1)) cut.push(`out: ${name(e)}`);
      const style = getComputedStyle(e);
      const hides = ["hidden", "clip"].includes(style.overflowX) || e.matches(".button");
      // On the top line only the method's name may end in dots; the screen shows it in full.
      if (e.closest(".visit-where") !== null && e.matches(":last-child")) continue;
      // The device's screen shows the line about the connection in full.
      if (e.matches(".sync-line span")) continue;
      if (hides && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1))
        cut.push(`cut: ${name(e)}`);
    }
    return {
      main: box && [box.left, box.top, box.right, box.bottom].map(Math.round),
      // Anything on top of text must hide it, whether it can be pressed or not.
      clear:
        button !== undefined &&
        getComputedStyle(button).position === "sticky" &&
        getComputedStyle(button).backgroundColor === "rgba(0, 0, 0, 0)",
      free: over !== undefined && (over === button || button.contains(over)),
      sideways: root.scrollWidth - root.clientWidth,
      cut,
    };
  });

/** fits checks the open screen; with `main`, its button must be visible. */
async function fits(name, main = true) {
  assert.equal(await page.evaluate(() => document.documentElement.style.fontSize), "200%");
  await page.evaluate(
    () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))),
  );
  const seen = await look();
  if (process.env.SHOTS) {
    const path = (more) => `${process.env.SHOTS}/large-${name.replaceAll(" ", "-")}${more}.png`;
    await page.screenshot({ path: path("") });
    await page.setViewportSize({ width: 360, height: 2400 });
    await page.screenshot({ path: path("-tall") });
    await page.setViewportSize({ width: 360, height: 640 });
  }
  for (const cut of seen.cut) wrong.push(`${name}: ${cut}`);
  if (seen.sideways !== 0) wrong.push(`${name}: scrolls ${seen.sideways} px sideways`);
  if (!main) return;
  const [l, t, r, b] = seen.main ?? [0, 0, 0, 0];
  if (b - t < 55) wrong.push(`${name}: the main button is ${b - t} px high`);
  if (l < 0 || t < 0 || r > 360 || b > 640) wrong.push(`${name}: the main button is at ${seen.main}`);
  if (seen.clear) wrong.push(`${name}: text shows through the main button`);
  if (!seen.free) wrong.push(`${name}: the main button is covered`);
}

/** What was wrong on the screens of a test, reported at its end. */
const wrong = [];
const good = () => assert.deepEqual(wrong.splice(0), []);

/** identified goes from the cautions to the choice of a standard. */
async function identified() {
  await tickAll(page);
  await press("All checked: go on");
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
  await page.goto(`${plant.url}/instrument/${ids.first}`);
  await page.getByRole("button", { name: "Start visit" }).waitFor();
  await fits("instrument", false);
  await page.goto(`${plant.url}/device`);
  await title("This device");
  await fits("device", false);
  good();
});

test("the screens before the first pressure, and the stop", async () => {
  await start(plant, ids.first);
  await fits("cautions");
  await tickAll(page);
  await press("All checked: go on");
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
  const asked = page.getByRole("group", { name: "Is this so here?" });
  await asked.first().waitFor();
  await fits("service");
  for (const one of await asked.all()) await one.getByLabel("No").check();
  await press("Next");
  await title("Do not apply pressure");
  await fits("stop");
  await press("End here: cannot be tested");
  await page.getByLabel("Why it cannot be tested").waitFor();
  await fits("end at a stop");
  await page.locator(".halt").getByRole("button", { name: "Back", exact: true }).click();
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
  good();
});

test("the sheet of readings, the result of a failure, what happens now, and the signature", async () => {
  await page.locator(".bench").waitFor();
  let steps = 0;
  await run(
    () => page,
    (x) => (0.9 * x).toFixed(2),
    undefined,
    async () => {
      if (steps++ === 1) await fits("pad");
    },
  );
  assert.ok(steps > 1, "no pad was looked at");
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
  good();
});

test("the offer of the last stop, and what cannot be tested", async () => {
  await start(plant, ids.second);
  await identified();
  await page.getByRole("button", { name: "Begin", exact: true }).waitFor();
  await fits("as at the last stop");
  await press("Cannot be tested today");
  await title("Cannot be tested today");
  await fits("cannot be tested");
  await page.getByLabel("No access").check();
  await page.getByLabel("In a sentence").fill("A scaffold is needed");
  await press("End here: cannot be tested");
  await page.getByText("Not tested: A scaffold is needed").waitFor();
  await fits("not tested");
  good();
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
  await page.goto(`${plant.url}/round`);
  await page.locator(".under-way").getByText("Go on").first().waitFor();
  await page.getByText("A scaffold is needed · not signed").waitFor();
  await fits("round under way", false);
  good();
});

test("no script failed on the way", () => {
  assert.deepEqual(pocket.faults, []);
});
