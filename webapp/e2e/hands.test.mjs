// Questions at the gauge: oxygen service and a gas that displaces air stop the work unless
// everything is clean and aired; values are typed in the technician's own unit and kept as typed.
// On a phone without a network, in every kind of work; then the office sees the same.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { altimeter, bar, bears, burst, gauge, lasting, leak, pressureSwitch, wide } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket, kept, snap, sound } from "./pocket.mjs";
import { choosing, hand, safeService, tickAll } from "./visit.mjs";
import { atSizes } from "./sizes.mjs";
import { readings, walk } from "./walk.mjs";

const lines = (...list) => list.map((line) => `${line}\n`).join("");
const things = {
  gauge: gauge(),
  leak: leak({ pressure: "2", measure_s: 10, every_s: 1, limit_pa_s: "25" }),
  switch: pressureSwitch(),
  burst: burst(),
  altimeter: altimeter(2000, bears("the indicator")),
  programme: {
    range: bar,
    definition: {
      kind: "programme",
      text: lines("unit bar gauge", "set 5", "hold 1 s", "read g from gauge", "vent"),
    },
  },
};
const mediums = { oxygen: "Oxygen", air: "nitrogen" };
/** What there is besides one of each kind in each medium: question, medium, what is special. */
const others = [
  ["oxygen", "Oxygen", " oil"],
  ["air", "nitrogen", " oil"],
  ["air", "nitrogen", " units"],
  ["both", "oxygen in nitrogen", ""],
];
const ids = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  const clean = { medium: "gas", cleaned_for_oxygen: "2026-01-05" };
  const kit = (name, serial, ranges, more) =>
    admin.write("standard", { name, serial, ranges, ...lasting, ...more });
  await kit("Clean kit", "CK-1", wide, clean);
  const better = { bar: { of_span_percent: "0.001" }, ft: { absolute: "0.1" } };
  const fine = wide.map((r) => ({ ...r, ...better[r.unit] }));
  await kit("Oil comparator", "OC-1", fine, { medium: "oil" });
  for (const [kind, { range, particulars, limit, definition }] of Object.entries(things)) {
    const method = await admin.write("method", {
      name: `Test: ${kind}`,
      kind,
      version: 1,
      definition,
    });
    for (const [question, medium, more] of [
      ...Object.entries(mediums).map((m) => [...m, ""]),
      ...(kind === "gauge" ? others : []),
    ])
      ids[`${kind} ${question}${more}`] = await admin.write("instrument", {
        tag: `${question.toUpperCase()}-${kind.toUpperCase()}${more.trim().toUpperCase()}`,
        serial: `${kind} ${question}${more}`,
        label: `${more.trim()}${question}${kind}0label`.slice(0, 10),
        description: `A ${kind} in ${medium}`,
        kind: kind === "programme" ? "gauge" : kind,
        range,
        resolution: kind === "altimeter" ? "1" : "0.01",
        medium,
        method,
        status: "in service",
        ...(particulars ? { particulars } : {}),
        ...(limit ? { limit } : {}),
      });
  }
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  for (const id of Object.values(ids)) {
    await page.goto(`${plant.url}/instrument/${id}`);
    await page.getByRole("button", { name: "Start visit" }).waitFor();
  }
  await plant.kill(); // from here on there is no office
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title, here, start } = hand(() => page);

/** toStandard goes from an instrument to the choice of its standard. */
async function toStandard(what) {
  await start(plant, ids[what]);
  await tickAll(page);
  await press("All checked: go on");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next");
  await choosing(page);
}

async function useOne() {
  const why = page.getByLabel("Reason for using it");
  if ((await why.count()) > 0) await why.fill("browser test");
  await press("Use this standard");
}

for (const kind of Object.keys(things))
  test(`${kind}: oxygen and nitrogen are asked about, and a no stops until it is put right`, async () => {
    for (const question of Object.keys(mediums)) {
      await toStandard(`${kind} ${question}`);
      await page
        .getByRole("radio", { name: /Clean kit/ })
        .first()
        .check();
      await useOne();
      const group = page.getByRole("group", { name: "Is this so here?" });
      await group.waitFor();
      if (kind === "gauge") {
        await sound(page, `${question}: the question`);
        await snap(page, `hands-${question}-asked`);
      }
      await press("Next");
      await page.getByText(/answer yes or no/).waitFor();
      await group.getByLabel("No").check();
      await press("Next");
      await title("Do not apply pressure");
      await page.reload();
      await title("Do not apply pressure");
      assert.equal(await page.locator(".pad").count(), 0);
      if (kind === "gauge") {
        await sound(page, `${question}: the stop`);
        await snap(page, `hands-${question}-stop`);
      }
      await press("Put right and answer again");
      await group.getByLabel("Yes").check();
      await press("Next");
      await page.getByText("What was put right: write a few words.").waitFor();
      await page
        .getByLabel("What was put right")
        .fill("Another hose, marked for oxygen; doors open");
      await press("Next");
      await page.getByLabel("Air temperature").waitFor();
    }
  });

test("with two questions answered no, the stop says how to make both safe", async () => {
  await toStandard("gauge both");
  await page
    .getByRole("radio", { name: /Clean kit/ })
    .first()
    .check();
  await useOne();
  for (const name of [
    "Oxygen service: Is this so here?",
    "Air in the room: Is this so here?",
  ])
    await page.getByRole("group", { name, exact: true }).getByLabel("No").check();
  await press("Next");
  await title("Do not apply pressure");
  const stop = page.locator(".halt-sign");
  for (const said of [
    /clean for oxygen, free of oil and grease\?/,
    /Is the room ventilated/,
    /Connect nothing that may hold oil or grease/,
    /Do not vent into the room/,
  ])
    await stop.getByText(said).waitFor();
  await sound(page, "two questions: the stop");
});

test("a standard that contained oil is refused for oxygen whatever the reason, not for nitrogen", async () => {
  await toStandard("gauge oxygen oil");
  const oil = page.getByRole("radio", { name: /Oil comparator/ }).first();
  const folded = page.locator("details.opened summary");
  await folded.click();
  await page
    .getByText(/has held oil: never in oxygen service/)
    .first()
    .waitFor();
  await oil.check();
  await useOne();
  await page.getByText(/cannot be used here, whatever the reason/).waitFor();
  await snap(page, "hands-oil");
  await toStandard("gauge air oil");
  assert.equal(await page.getByText(/has held oil/).count(), 0);
});

/** runOf gives what was captured in the run of a visit. */
function runOf(visit) {
  return page.evaluate(
    (parent) =>
      new Promise((done) => {
        const opening = indexedDB.open("gaugewright");
        opening.onsuccess = () => {
          const asked = opening.result.transaction("records").objectStore("records").getAll();
          asked.onsuccess = () => {
            opening.result.close();
            const run = asked.result
              .map((r) => r.state)
              .find((r) => r.kind === "run" && r.parent === parent);
            const fields = Object.entries(run?.fields ?? {}).filter(([name]) =>
              name.startsWith("capture."),
            );
            done(fields.map(([, f]) => f.heads[0].value));
          };
        };
      }),
    visit,
  );
}

/** otherUnits tries the pad of a reading at 5 bar: 1 bar is 14.503774 psi (NIST SP 811). */
async function otherUnits() {
  const field = page.locator(".pad input");
  const unit = page.locator("select.pad-unit");
  await field.fill("72.5");
  await page.getByText("= 4.9987 bar").waitFor();
  await page.getByRole("img", { name: /error .* bar, inside/ }).waitFor();
  for (const [width, height] of [
    [360, 640],
    [390, 844],
    [844, 390],
  ]) {
    await page.setViewportSize({ width, height });
    const keep = await page.getByRole("button", { name: /^Keep 72.5/ }).boundingBox();
    assert.ok(
      keep && keep.y + keep.height <= height,
      `the main button is in view at ${width}x${height}`,
    );
    await snap(page, `hands-psi-${width}`, [width]);
  }
  await page.setViewportSize({ width: 390, height: 844 });
  await sound(page, "a value in psi");
  await field.fill("7.25");
  await page.getByRole("button", { name: /72.5/ }).waitFor(); // the value that was perhaps meant
  await field.fill("72.512");
  await page.getByText(/finer than it can be read/).waitFor();
  await field.fill("500 kPa"); // a unit after the number is accepted
  await page.getByText("= 5 bar").waitFor();
  assert.equal(await unit.inputValue(), "kPa");
  await unit.selectOption("psi");
  await field.fill("");
}

/**
 * wholeRows looks at the readings so far: beside a long value, such as one that was typed in another
 * unit and corrected, no word of a row is broken and nothing runs out of the sheet.
 */
async function wholeRows() {
  const sheet = await readings(page);
  await sheet.getByText("145.1 psi").waitFor();
  await sheet.locator(".mark").first().waitFor();
  await sheet.locator(".cell").last().evaluate((cell) => {
    cell.textContent = "10.0042928123456789 bar, typed as 145.100000000000001 psi was 144.9 psi, was 145.3 psi";
  });
  await atSizes(page, "readings typed in psi", async (size) => {
    const seen = await sheet.locator("table.before").evaluate((table) => {
      const broken = [];
      const walker = document.createTreeWalker(table, NodeFilter.SHOW_TEXT);
      for (let text = walker.nextNode(); text; text = walker.nextNode())
        for (const { 0: word, index } of text.data.matchAll(/\S+/g)) {
          const range = document.createRange();
          range.setStart(text, index);
          range.setEnd(text, index + word.length);
          const tops = [...range.getClientRects()].map((r) => Math.round(r.top));
          if (new Set(tops).size > 1) broken.push(word);
        }
      const { left, right } = table.parentElement.getBoundingClientRect();
      const out = [...table.querySelectorAll("th, td, .cell")].filter((e) => {
        const box = e.getBoundingClientRect();
        return box.left < left - 1 || box.right > right + 1;
      });
      return { broken, out: out.map((e) => e.textContent), rows: table.rows.length };
    });
    assert.ok(seen.rows > 2, `${size}: the rows are there`);
    assert.deepEqual([seen.broken, seen.out], [[], []], size);
  });
  await snap(page, "hands-readings-psi", [360, 844]);
  await page.keyboard.press("Escape");
}

test("values are typed in another unit, kept as typed and judged in the instrument's", async () => {
  await toStandard("gauge air units");
  await page
    .getByRole("radio", { name: /Clean kit/ })
    .first()
    .check();
  await useOne();
  await safeService(page);
  await page.getByLabel("Unit: \u00b0C").selectOption("\u00b0F");
  await page.getByLabel("Air temperature").fill("70,7");
  await page.getByLabel("Unit: hPa").selectOption("inHg");
  await page.getByLabel("Air pressure").fill("29.8");
  await page.getByLabel("Standard above the instrument").fill("3.5");
  await page.getByLabel("Unit: m", { exact: true }).selectOption("ft");
  await page.getByRole("radio", { name: "Nitrogen" }).check();
  await snap(page, "hands-units-air");
  await sound(page, "surroundings in other units");
  await press("Next");
  await press("Start: As found");
  const psi = ["0", "72.5", "145.1"];
  let at = 0;
  let tried = false;
  await walk(
    () => page,
    () => psi[at++],
    async (seen) => {
      if (!seen.pad) return false;
      if (seen.unit !== "psi") {
        await page.locator("select.pad-unit").selectOption("psi");
        return true;
      }
      if (at === 1 && !tried) {
        tried = true;
        await otherUnits();
        return true;
      }
      return false;
    },
  );
  await wholeRows();
  const visit = here();
  const values = (await runOf(visit)).map((c) => `${c.value} ${c.unit}`);
  assert.deepEqual(values.sort(), ["0 psi", "145.1 psi", "72.5 psi"]);
  const seen = await kept(page, visit);
  assert.deepEqual(seen.typed, {
    temperature_c: "70.7 \u00b0F",
    pressure_hpa: "29.8 inHg",
    standard_above_m: "3.5 ft",
  });
  // 70.7 °F is (70.7 - 32) / 1.8 °C, exactly 21.5; 3.5 ft of 0.3048 m are 1.0668 m.
  assert.equal(seen.surroundings.temperature_c, "21.5");
  assert.equal(seen.head.standard_above_m, "1.0668");
});
