// A value beyond the limit of the weakest part stops the work in every kind of work. It is doubted
// first; if it is right after all, the screen says stop, also after a reload during the question.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { altimeter, bears, burst, feet, furnish, gauge, leak, pressureSwitch } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";
import { hand, prepare } from "./visit.mjs";
import { walk } from "./walk.mjs";

const parts = bears("the airspeed indicator", { max_cas_kt: 260, highest_ft: 5000 });
const bar10 = { low: "0", high: "10", unit: "bar", mode: "gauge" };
const glass = { weakest: { high: "6", part: "the sight glass" } };
const quick = { stabilise_s: 0, measure_s: 10, every_s: 1, limit_pa_s: "25" };
const leaking = leak({ ...quick, pressure: "4" }, { temperature: "none", barometer: "none" });

/** The instrument of each kind, with a value that is too high and what its stop names. */
const things = {
  gauge: { ...gauge(), too: "32 bar", names: "the instrument's range" },
  "known limit": {
    ...gauge(),
    overload: "13",
    too: "13.4 bar",
    names: "the instrument's overload limit",
  },
  transmitter: {
    ...gauge(),
    output: { low: "4", high: "20", unit: "mA" },
    too: "32 bar",
    names: "the instrument's range",
  },
  leak: {
    ...leaking,
    particulars: { ...leaking.particulars, ...glass },
    too: "6.5 bar",
    names: "the limit of the sight glass",
  },
  switch: { ...pressureSwitch(1), too: "10.8 bar", names: "the instrument's range" },
  burst: { ...burst(1), too: "10.8 bar", names: "the instrument's range" },
  altimeter: { ...altimeter(2000, parts), too: "5600 ft", names: "the limit of the instruments on the lines" },
  airspeed: {
    range: { low: "0", high: "400", unit: "kt", mode: "gauge" },
    particulars: { ...parts, max_cas_kt: 400 },
    definition: { kind: "airspeed", points: [{ kt: 60, tolerance_kt: 3 }] },
    too: "290 kt", // 12 kPa is the impact pressure of 269.6 kt
    names: "the limit of the airspeed indicator",
  },
  "vertical-speed": {
    range: { low: "-8000", high: "8000", unit: "ft/min", mode: "gauge" },
    particulars: parts,
    definition: { kind: "vertical-speed", points: [{ ft_min: 1000, at_ft: 3000, tolerance_ft_min: 100 }] },
    too: "6500 ft/min",
    names: "the limit of the instruments on the lines",
  },
  "pitot-static-leak": {
    range: feet,
    particulars: { ...parts, highest_ft: 16000 },
    definition: {
      kind: "pitot-static-leak",
      limits_read: { clause: "clause 9", by: "the inspector" },
      static: { start_ft: 3000 },
    },
    too: "18000 ft",
    names: "the limit of the instruments on the lines",
  },
  programme: {
    range: bar10,
    particulars: { relief: "7", weakest: { pressure: "6", part: "the sight glass" } },
    definition: { kind: "programme", text: "unit bar gauge\nset 4\nread p from gauge\nvent\n" },
    too: "6.5 bar",
    names: "the limit of the sight glass",
  },
};
let ids = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  const bare = Object.fromEntries(Object.entries(things).map(([name, { too, names, ...thing }]) => [name, thing]));
  ids = await furnish(admin, bare, (kind) => ({
    description: `A ${kind}`,
    resolution: "0.0001",
    tag: `OVER-${kind.toUpperCase().replace(" ", "-")}`,
    serial: kind,
    label: `${kind.replaceAll(/[- ]/g, "")}0overrange`.slice(0, 10),
  }));
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title } = hand(() => page);

for (const [kind, { too, names }] of Object.entries(things))
  test(`${kind}: ${too} is asked about, and stops the work`, async () => {
    const [value, ...of] = too.split(" ");
    const unit = of.join(" ");
    await page.goto(`${plant.url}/instrument/${ids[kind]}`);
    await press("Start visit");
    await prepare(page);
    await page.locator(".visit-where[data-kept]").waitFor();
    await walk(
      () => page,
      (seen) => (seen.unit === "hPa" ? "1002.3" : { press: "Skip this" }),
      undefined,
      undefined,
      (seen) => seen.pad && [unit, "mA"].includes(seen.unit),
    );
    // A transmitter's signal strains nothing; what the standard shows beside it does.
    if (kind === "transmitter") await press("The standard shows another value");
    await page.locator(".pad input").fill(value);
    const keep = page.getByRole("button", { name: /^Keep .*\d/ });
    await keep.click();
    await page.getByLabel(/^Reason/).first().waitFor();
    assert.equal(await page.getByRole("heading", { name: "Stop: overload" }).count(), 0, "asked first");
    await page.getByLabel(/^Reason/).first().fill("the source was opened too far");
    await keep.click();
    await title("Stop: overload");
    await page.getByText(names).first().waitFor();
    await page.getByText("Shut off the source and vent").waitFor();
    assert.equal(await page.locator(".pad").count(), 0, "no value is typed beside the stop");
    if (["leak", "programme"].includes(kind)) await sound(page, `${kind}: over range`);
    await snap(page, `over-range-${kind.replace(" ", "-")}`);
    await press("Read again");
    await page.locator(".pad input").waitFor();
    assert.equal(await page.locator(".pad input").inputValue(), "");
    assert.deepEqual(pocket.faults, []);
  });
