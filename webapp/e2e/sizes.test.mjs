// The screens that stop the work, the abort card and a reading on a manifold fit on each size of a
// phone, and with text twice as large: nothing is cut off or overflows, the sign of a stop and its
// first way on are within the screen, and a reading needs no scrolling.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { altimeter, bears, furnish, gauge, leak } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket } from "./pocket.mjs";
import { atSizes, holds } from "./sizes.mjs";
import { choosing, hand, prepare, tickAll } from "./visit.mjs";
import { walk } from "./walk.mjs";

const things = {
  damaged: gauge(),
  loose: gauge(),
  leak: leak({ pressure: "4", stabilise_s: 0, measure_s: 10, every_s: 1, limit_pa_s: "25" }, { temperature: "none" }),
  altimeter: altimeter(2000, bears("the airspeed indicator", { highest_ft: 5000 })),
  one: gauge({ exercise: 1 }),
  two: gauge({ exercise: 1 }),
};
let ids = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  ids = await furnish(admin, things, (name, kind, number) => ({
    method: { name: `Sizes: ${name}` },
    description: "Pressure of the distribution line",
    area: "Compressor house",
    resolution: "0.001",
    tag: `SIZE-${number}`,
    serial: `S-${name}`,
    label: `${name}0sizes000`.slice(0, 10),
  }));
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title, start } = hand(() => page);

/** stops checks a stop: what it says and how to go on is seen without looking for it. */
const stops = (what) =>
  atSizes(page, what, async (size) => {
    const seen = await page.evaluate(() => {
      scrollTo(0, 0);
      document.querySelector("main").scrollTo(0, 0);
      const shown = (e) => {
        const { left, top, right, bottom, width } = e.getBoundingClientRect();
        const on = document.elementFromPoint(left + width / 2, (top + bottom) / 2);
        return left >= -1 && top >= -1 && right <= innerWidth + 1 && bottom <= innerHeight + 1 && (e === on || e.contains(on));
      };
      const halt = document.querySelector(".halt");
      const [heading, way] = [halt.querySelector("h1, h2"), halt.querySelector(".button.main")];
      return { heading: heading && shown(heading), way: way && shown(way) };
    });
    assert.deepEqual(seen, { heading: true, way: true }, `${what}, ${size}`);
  });

/** until does the steps of the run up to a screen; what is read is this value. */
const until = (value, ends) =>
  walk(
    () => page,
    (seen) => (seen.unit === "hPa" ? "1002.3" : value),
    undefined,
    undefined,
    ends,
  );

async function begin(name) {
  await start(plant, ids[name]);
  await prepare(page);
  await page.locator(".visit-where[data-kept]").waitFor();
}

/** beyond types a value that nothing bears, first doubted and then kept. */
async function beyond(value) {
  await page.locator(".pad input").fill(value);
  const keep = page.getByRole("button", { name: /^Keep .*\d/ });
  await keep.click();
  const why = page.getByLabel(/^Reason/).first();
  await why.waitFor();
  await holds(page, `${value} is doubted`, ["value"]);
  await why.fill("the source was opened too far");
  await keep.click();
  await title("Stop: overload");
}

test("cautions not met, another instrument, and a damaged one", async () => {
  await start(plant, ids.damaged);
  await press("Something is not right");
  await title("Do not apply pressure");
  await stops("cautions not met");
  await press("Put right and answer again");
  await tickAll(page);
  await page.getByLabel("What was put right").fill("Isolated and locked by the shift leader");
  await atSizes(page, "cautions answered again");
  await press("All checked: go on");
  await page.getByLabel("Something differs").check();
  await page.getByLabel("What differs").fill("serial is Q111");
  await page.getByLabel("Another instrument is mounted here now").check();
  await atSizes(page, "what differs", async (size) => {
    const lines = await page.locator("dd.huge", { hasText: "SIZE-1" }).evaluate((e) => {
      const text = document.createRange();
      text.selectNodeContents(e);
      return new Set([...text.getClientRects()].map((r) => Math.round(r.top))).size;
    });
    assert.equal(lines, 1, `${size}: the tag that is compared is not broken`);
  });
  await press("Next");
  await title("Do not apply pressure");
  await stops("another instrument");
  await press("Compare tag and serial again");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Damaged: do not pressurise").check();
  await page.getByLabel("What was seen").fill("glass broken, pointer bent");
  await page.getByLabel("What was put right").fill("At the right one now");
  await atSizes(page, "damaged is chosen");
  await press("Next");
  await title("Do not pressurise");
  await stops("damaged");
});

test("air of no place, a value beyond the range, and readings that are far off again and again", async () => {
  await start(plant, ids.loose);
  await tickAll(page);
  await press("All checked: go on");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
  await choosing(page);
  await page.getByRole("radio").first().check();
  const why = page.getByLabel("Reason for using it");
  if ((await why.count()) > 0) await why.fill("browser test");
  await press("Use this standard");
  await page.getByLabel("Air temperature").fill("21.5");
  await page.getByLabel("Air pressure").fill("29.92");
  await press("Next");
  await page.getByRole("alert").getByText("was it read in inHg").waitFor();
  await atSizes(page, "air pressure of no place");
  await page.getByLabel("Air pressure").fill("1009");
  await page.getByLabel("Air temperature").fill("215");
  await press("Next");
  await page.getByRole("alert").getByText("an air temperature of 215").waitFor();
  await atSizes(page, "air temperature of no place");
  await page.getByLabel("Air temperature").fill("21.5");
  await press("Next");
  await press("Start: As found");
  await until(undefined, (seen) => seen.pad);
  await beyond("32");
  await stops("beyond the range");
  await press("Read again");
  await until("0", (seen) => seen.text.includes("Stop: is it connected?"));
  await title("Stop: is it connected?");
  await stops("is it connected");
});

test("a barometer of no place", async () => {
  await begin("leak");
  await until("0", (seen) => seen.instruction.includes("Barometer now"));
  await page.locator(".pad input").fill("20.6");
  await page.getByRole("button", { name: /^Keep .*20/ }).click();
  await page.getByRole("alert").getByText("20.6 hPa is that of no place").waitFor();
  await holds(page, "barometer of no place", ["value", "pad"]);
});

test("the abort card, and a height that the lines do not bear", async () => {
  await begin("altimeter");
  await until(undefined, (seen) => seen.pad && seen.unit === "ft");
  await press("Abort card");
  const card = page.getByRole("region", { name: "Abort", exact: true });
  await card.locator("tbody tr").nth(1).waitFor();
  const close = page.getByRole("button", { name: "Close the abort card" });
  await atSizes(page, "abort card", async (size) => {
    const { y, height } = await close.boundingBox();
    assert.ok(y >= 0 && y + height <= page.viewportSize().height, `${size}: the way back to the work is at ${y}`);
  });
  await close.click();
  await beyond("5600");
  await stops("beyond what the lines bear");
});

test("a reading on a manifold", async () => {
  await page.goto(`${plant.url}/instrument/${ids.one}`);
  await press("Several gauges on this manifold");
  const sheet = page.getByRole("dialog", { name: "Gauges on one manifold" });
  await sheet.getByLabel("Add: tag, serial, area or words").fill("SIZE-6");
  await sheet.getByRole("button", { name: "Add SIZE-6", exact: true }).click();
  await sheet.getByRole("button", { name: "Start with these 2" }).waitFor();
  await atSizes(page, "gauges on one manifold");
  await sheet.getByRole("button", { name: "Start with these 2" }).click();
  for (const tag of ["SIZE-5", "SIZE-6"]) {
    await page.locator(".visit-where").getByText(tag, { exact: true }).waitFor();
    await title("Before any pressure");
    await tickAll(page);
    await press("All checked: go on");
    await page.getByLabel("They agree").check();
    await page.getByLabel("Good").check();
    await press("Next");
    if (tag === "SIZE-6") {
      await title("Heights on the manifold");
      await atSizes(page, "heights on the manifold");
      await press("Same height for all gauges");
      continue;
    }
    await choosing(page);
    await page.getByRole("radio").first().check();
    const why = page.getByLabel("Reason for using it");
    if ((await why.count()) > 0) await why.fill("browser test");
    await press("Use this standard");
    await page.getByLabel("Air temperature").fill("21.5");
    await page.getByLabel("Standard above the instrument").fill("0.5");
    await page.getByLabel("Water", { exact: true }).check();
    await press("Next");
  }
  await title("All 2 gauges");
  await atSizes(page, "all gauges of the manifold");
  await press("Start as found: all 2");
  await until(undefined, (seen) => seen.pad);
  await page.locator(".gauge-now").first().waitFor();
  await holds(page, "reading on a manifold", ["instruction", "value", "pad"]);
  await page.locator(".pad input").fill("0.01");
  await page.locator('.bench[data-looked="0.01"]').waitFor();
  await holds(page, "verdict on a manifold", ["instruction", "value", "verdict", "band", "pad"]);
  assert.deepEqual(pocket.faults, []);
});
