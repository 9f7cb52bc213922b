// The work screen fits on one screen. At three sizes of a phone and with text twice as large, on
// every kind of step, the instruction with its figures, the value, its verdict, the pad and the
// main button are within the screen and do not overlap, and nothing moves when the connection
// changes. A gauge of six points up and down takes few taps from the open app to its verdict.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { burst, deadBand, furnish, gauge, leak, pressureSwitch } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { kept, Pocket, snap, sound } from "./pocket.mjs";
import { holds, places } from "./sizes.mjs";
import { hand, prepare, tickAll } from "./visit.mjs";
import { more, readings, walk } from "./walk.mjs";

const points = ["0", "2", "4", "6", "8", "10"];
const things = {
  gauge: {
    ...gauge({ tap: true, hold_s: 2 }, ["0", "0.32", "1.6"]),
    range: { low: "0", high: "1.6", unit: "bar", mode: "gauge" },
    resolution: "0.005",
  },
  taps: { ...gauge({ directions: "up-down", tap: true }, points), resolution: "0.05" },
  leak: {
    ...leak({ pressure: "6", stabilise_s: 20, measure_s: 60, every_s: 10, limit_pa_s: "250" }, { temperature: "none" }),
    resolution: "0.001",
  },
  switch: { ...pressureSwitch(2, deadBand), resolution: "0.001" },
  burst: { ...burst(), resolution: "0.001" },
};
things.moves = things.gauge;
things.more = things.gauge;
things.bell = things.gauge;
things.change = things.taps;
let ids = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  ids = await furnish(admin, things, (name) => ({
    method: { name: `Anatomy: ${name}` },
    description: `One for ${name}`,
    tag: `ANA-${name.toUpperCase()}`,
    serial: name,
    label: `${name}0anatomy0`.slice(0, 10),
  }));
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  for (const id of Object.values(ids)) {
    await page.goto(`${plant.url}/instrument/${id}`);
    await page.getByRole("button", { name: "Start visit" }).waitFor();
  }
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

async function begin(name) {
  await start(plant, ids[name]);
  await prepare(page);
  await page.locator(".bench").waitFor();
}

/** met checks each kind of screen once. wants(seen) names it and the parts that it must show. */
const met = new Set();
async function meet(name, wanted) {
  if (met.has(name)) return;
  met.add(name);
  await holds(page, name, wanted);
}

const { press, here, start } = hand(() => page);
const typed = async (value) => {
  await page.locator(".pad input").fill(value);
  await page.locator(`.bench[data-looked="${value}"]`).waitFor();
};

test("a gauge: vent, set, hold, read before and after tapping, doubt, all readings", async () => {
  await begin("gauge");
  const until = (ends) =>
    walk(
      () => page,
      () => "0",
      undefined,
      undefined,
      ends,
    );
  await meet("vent", ["instruction"]);
  await until((seen) => seen.buttons.includes("Target reached"));
  await meet("set", ["instruction"]);
  await press("Target reached");
  await page.locator(".pad input").waitFor();
  await meet("read while it waits", ["instruction", "bounds", "value", "pad", "foot"]);
  await page.getByText("Time is up").waitFor();
  await typed("0.325");
  await meet("read before tapping", ["instruction", "bounds", "value", "pad"]);
  await press("Keep 0.325\u00a0bar");
  await page.getByRole("button", { name: /^Same as before tapping: 0\.325/ }).waitFor();
  await meet("read again", ["instruction", "bounds", "value", "pad"]);
  await typed("0.33");
  await page.locator(".preview .limit-band").waitFor();
  await meet("read", ["instruction", "bounds", "value", "verdict", "band", "pad"]);
  await sound(page, "the work screen");
  // Ten times too much: this screen asks about it, and one tap corrects it.
  await typed("3.2");
  await page.getByText("outside the instrument's range").waitFor();
  await meet("doubt", ["instruction", "value", "band", "pad"]);
  await sound(page, "a doubtful value");
  await press("Did you mean 0.32\u00a0bar?");
  await page.locator('.bench[data-looked="0.32"]').waitFor();
  assert.equal(await page.locator(".doubt").count(), 0);
  // A text that is no number is not turned into one.
  await page.locator(".pad input").fill("1e9");
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.getByRole("alert").getByText("\u201c1e9\u201d is not a number").waitFor();
  // Finer than the scale can be read: the screen asks for a reason or a readable value.
  await typed("0.322");
  await page.getByText("finer than it can be read").waitFor();
  await press("Keep 0.322\u00a0bar");
  await page.getByLabel("Reason", { exact: true }).waitFor();
  await holds(page, "why", ["instruction", "value"]);
  await sound(page, "why it is right");
  await press("estimated between the marks");
  await press("Keep 0.322\u00a0bar");
  await page.getByRole("button", { name: "Target reached" }).waitFor();
  const sheet = await readings(page);
  await sheet.getByRole("button", { name: /^Correct: .*0\.322/ }).waitFor();
  await sound(page, "the readings so far");
  await snap(page, "anatomy-readings");
  await sheet.getByRole("button", { name: "Close", exact: true }).click();
  await until(undefined);
  await meet("all readings", ["instruction"]);
  await page.getByRole("button", { name: /^Correct: .*0\.322/ }).click(); // a tap on the cell
  await page.getByText("stays on record").waitFor();
  await press("Cancel");
  await page.getByRole("button", { name: "Close this run" }).waitFor();
});

test("nothing moves when the connection changes", async () => {
  await begin("moves");
  await walk(
    () => page,
    () => "0",
    undefined,
    undefined,
    (seen) => seen.buttons.includes("Target reached"),
  );
  await press("Target reached");
  await page.locator(".pad input").waitFor();
  await page.getByText("Time is up").waitFor();
  const still = async () => (await places(page)).found;
  const first = await still();
  await pocket.context.setOffline(true);
  await page.locator(".sync-sign").getByText("no connection").waitFor({ timeout: 60000 });
  assert.deepEqual(await still(), first);
  await pocket.context.setOffline(false);
  assert.deepEqual(await still(), first);
});

test("the end of a wait vibrates and sounds, unless the tone is off; the screen stays on", async () => {
  // Records what the page asks of the phone: a computer has neither motor nor lock.
  await page.addInitScript(() => {
    window.asked = { felt: [], tones: 0, awake: 0, released: 0 };
    navigator.vibrate = (pattern) => window.asked.felt.push(String(pattern)) > 0;
    const make = AudioContext.prototype.createOscillator;
    AudioContext.prototype.createOscillator = function () {
      window.asked.tones++;
      return make.call(this);
    };
    navigator.wakeLock.request = async () => {
      window.asked.awake++;
      return { release: async () => void window.asked.released++ };
    };
  });
  const asked = () => page.evaluate(() => window.asked);
  await begin("bell");
  const wait = async () => {
    await walk(
      () => page,
      () => "0",
      undefined,
      undefined,
      (seen) => seen.buttons.includes("Target reached"),
    );
    await press("Target reached");
    await page.getByText("Time is up").waitFor();
  };
  await wait();
  const first = await asked();
  assert.ok(first.felt.includes("200,100,200"), `felt ${first.felt}`);
  assert.equal(first.tones, 2);
  assert.ok(first.awake > 0, "the screen may go dark");
  assert.equal(first.released, 0);
  await page.getByRole("button", { name: "More", exact: true }).click();
  await page.getByLabel("Tone at the end of a wait").uncheck();
  await page.getByRole("button", { name: "Close", exact: true }).click();
  await typed("0.325");
  await press("Keep 0.325\u00a0bar");
  await page.getByRole("button", { name: /^Same as before tapping/ }).click();
  await wait();
  const second = await asked();
  assert.equal(second.tones, 2, "a tone that is off");
  const rings = (of) => of.felt.filter((f) => f === "200,100,200").length;
  assert.ok(rings(second) > rings(first), "the end of the next wait is felt all the same");
  await page.goto(`${plant.url}/round`);
});

test("a leak test: question, wait, readings", async () => {
  await begin("leak");
  await walk(
    () => page,
    (seen) => (seen.unit === "hPa" ? "1009" : "6"),
    async (seen) => {
      if (seen.buttons.includes("Yes")) await meet("question", ["instruction"]);
      if (!seen.pad && (await page.locator(".timer").count()) > 0) await meet("wait", ["instruction"]);
      if (seen.unit === "hPa") await meet("number asked", ["instruction", "value", "pad"]);
      return false;
    },
    undefined,
    (seen) => seen.buttons.includes("End the readings"),
  );
  for (const v of ["6", "5.999", "5.999", "5.998"]) {
    await page.locator(".pad input").fill(v);
    await page.getByRole("button", { name: /^Keep \d/ }).click();
    await page.waitForFunction(() => document.querySelector(".pad input")?.value === "");
  }
  await page.locator(".decision").waitFor();
  await meet("leak reading", ["bounds", "value", "pad"]);
  // A technician who reads another unit types in that unit: the record keeps the value and the unit
  // as typed.
  await page.locator("select.pad-unit").selectOption("kPa");
  await page.locator(".pad input").fill("599.8");
  await press("Keep 599.8\u00a0kPa");
  await page.getByText(/last 599\.8\u00a0kPa/).waitFor();
});

test("a switch and a disc: the ramp, the reading, the question after it", async () => {
  for (const name of ["switch", "burst"]) {
    await begin(name);
    await walk(
      () => page,
      (seen) =>
        seen.buttons.includes("Skip this")
          ? { press: "Skip this" }
          : name === "switch"
            ? /reset/.test(seen.label)
              ? "0.82"
              : "1.51"
            : "5.02",
      async (seen) => {
        if (seen.pad && !seen.buttons.includes("Skip this")) {
          await typed(name === "switch" ? (/reset/.test(seen.label) ? "0.82" : "1.51") : "5.02");
          await meet(`${name} reading`, ["instruction", "bounds", "value", "pad"]);
        } else if (seen.buttons.includes("Done") && /^Raise (from .* )?to .*\/s/m.test(seen.text))
          await meet(`${name} ramp`, ["instruction", "bounds"]);
        return false;
      },
    );
    await page.getByRole("button", { name: "Close this run" }).waitFor();
  }
  for (const kind of [
    "vent",
    "set",
    "wait",
    "question",
    "number asked",
    "leak reading",
    "switch reading",
    "switch ramp",
    "burst reading",
    "burst ramp",
  ])
    assert.ok(met.has(kind), `no screen of the kind ${kind} was met`);
});

test("six points up and down take at most 80 taps from the open app to the verdict", async () => {
  await page.goto(`${plant.url}/find`);
  await page
    .getByRole("searchbox")
    .or(page.getByLabel(/search/i))
    .first()
    .fill("ANA-TAPS");
  await page.locator(".rows li a").first().waitFor();
  let count = 0;
  const tapped = async (where) => {
    count++;
    await where.first().click();
  };
  const button = (name) => page.getByRole("button", { name, exact: typeof name === "string" });
  await tapped(page.locator(".rows li a"));
  await tapped(button("Start visit"));
  await page.getByRole("heading", { name: "Before any pressure" }).waitFor();
  for (const box of await page.getByRole("checkbox").all()) await tapped(box);
  await tapped(button("All checked: go on"));
  await tapped(page.getByLabel("They agree"));
  await tapped(page.getByLabel("Good"));
  await tapped(button("Next"));
  // Standard and surroundings of the last stop are offered together; everything else is folded.
  const facts = page.locator(".visit .facts");
  await facts.getByText("21.5\u00a0\u00b0C").waitFor();
  assert.equal(await page.locator(".standards").count(), 0);
  const offered = await facts.locator("strong").innerText();
  await sound(page, "as at the last stop");
  await snap(page, "anatomy-as-last");
  const visit = here();
  await tapped(button("Begin"));
  await page.locator(".visit-where[data-kept]").waitFor();
  const fields = await kept(page, visit);
  assert.equal(fields.standard.snapshot.name, offered);
  assert.equal(fields.standard.reason, undefined);
  assert.equal(fields.surroundings.temperature_c, "21.5");
  // Each reading is half a step off: two taps on a step key and Keep. After tapping it shows the
  // same.
  for (let i = 0; i < 400; i++) {
    const kept = await page.locator(".visit-where").getAttribute("data-kept");
    await page.locator(".bench .button.main").first().waitFor();
    if ((await button("Close this run").count()) > 0) break;
    const same = button(/^Same as before tapping/);
    if ((await same.count()) > 0) await tapped(same);
    else if ((await page.locator(".pad input").count()) > 0) {
      const up = page.getByRole("button", { name: /^one step up/ });
      await tapped(up);
      await tapped(button(/^Keep \S*\d/));
    } else await tapped(page.locator(".bench .button.main"));
    await page.waitForFunction((old) => document.querySelector(".visit-where")?.dataset.kept !== old, kept);
  }
  await tapped(button("Close this run"));
  await page.getByText("As found: result").waitFor();
  await page.locator("main .mark").first().waitFor();
  console.log(`# ${count} taps from the open app to the verdict`);
  assert.ok(count <= 80, `${count} taps`);
});

test("what differs from the last stop is changed: all standards are listed, the air is filled in", async () => {
  await start(plant, ids.change);
  await tickAll(page);
  await press("All checked: go on");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
  await press("Change: Standard");
  await page.locator(".standards").first().waitFor();
  const first = page.getByRole("radio").first();
  assert.equal(await first.isChecked(), true, "the standard of the last stop is chosen");
  await press("Use this standard");
  const air = page.getByLabel("Air temperature");
  await air.waitFor();
  assert.equal(await air.inputValue(), "21.5");
  await page.getByText("as at the last stop").first().waitFor();
  await air.fill("23");
  await press("Next");
  await page.getByRole("button", { name: "Start: As found" }).waitFor();
  assert.equal((await kept(page, here())).surroundings.temperature_c, "23");
});

test("seldom-needed actions are one tap away and cover the rest; a new screen begins at its top", async () => {
  await begin("more");
  await more(page, "Stop");
  await page.getByText("Vent the system").waitFor();
  await page.locator(".visit-foot").getByRole("button", { name: "Back" }).click();
  await page.locator(".bench").waitFor();
  await press("More");
  await sound(page, "what is seldom wanted");
  await page.getByLabel("Tone at the end of a wait").uncheck();
  await page.keyboard.press("Escape");
  assert.equal(await page.getByRole("dialog").count(), 0);
  await press("More");
  assert.equal(await page.getByLabel("Tone at the end of a wait").isChecked(), false, "it is remembered");
  assert.equal(await page.evaluate(() => document.querySelector("main").scrollTop), 0);
});

test("no script failed on the way", () => {
  assert.deepEqual(pocket.faults, []);
});
