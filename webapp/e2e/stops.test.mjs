// What can hurt stops the work: a safety question answered with no, in every kind of work that asks
// one, cautions that are not met, an instrument that is damaged or another one, impossible air, a
// record of another pressure, a disc that is there twice, several readings in a row that are far
// off. On a phone without a network, through reloads; then the office has it all and hears of it
// first.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { altimeter, bears, burst, deadBand, feet, furnish, gauge, leak, pressureSwitch } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket, asPerson, kept, snap, sound } from "./pocket.mjs";
import { choosing, hand, prepare, tickAll } from "./visit.mjs";
import { readings, saw, walk } from "./walk.mjs";

const wide = { low: "-1", high: "10", unit: "bar", mode: "gauge" };
const parts = bears("the airspeed indicator", { max_cas_kt: 260 });
const things = {
  leak: {
    ...leak({ name: "vacuum", pressure: "-0.6", measure_s: 10, every_s: 1, limit_pa_s: "25" }, { temperature: "none" }),
    range: wide,
  },
  switch: { ...pressureSwitch(1, { ...deadBand, safety_function: true }), range: wide },
  burst: { ...burst(2), range: wide },
  altimeter: altimeter(2000, parts),
  airspeed: {
    range: { low: "0", high: "260", unit: "kt", mode: "gauge" },
    particulars: parts,
    definition: { kind: "airspeed", points: [{ kt: 60, tolerance_kt: 3 }] },
  },
  "vertical-speed": {
    range: { low: "-6000", high: "6000", unit: "ft/min", mode: "gauge" },
    particulars: parts,
    definition: { kind: "vertical-speed", points: [{ ft_min: 1000, at_ft: 3000, tolerance_ft_min: 100 }] },
  },
  "pitot-static-leak": {
    range: feet,
    particulars: parts,
    definition: {
      kind: "pitot-static-leak",
      limits_read: { clause: "clause 9", by: "the inspector" },
      static: { start_ft: 3000, cabin_psi: "8.6" },
    },
  },
  gauge: gauge(),
};
const asking = ["leak", "switch", "burst", "altimeter", "airspeed", "vertical-speed", "pitot-static-leak"];
let ids = {};
const visits = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  ids = await furnish(admin, things, (kind) => ({
    description: `A ${kind}`,
    resolution: "0.0001",
    tag: `STOP-${kind.toUpperCase()}`,
    serial: kind,
    label: `${kind.replaceAll("-", "")}0label`.slice(0, 10),
  }));
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  for (const kind of Object.keys(things)) {
    await page.goto(`${plant.url}/instrument/${ids[kind]}`);
    await page.getByRole("button", { name: "Start visit" }).waitFor();
  }
  await plant.kill(); // from here on there is no office
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, title, here, start, sign } = hand(() => page);
const picture = (name) => snap(page, `stops-${name}`);

async function begin(kind) {
  await start(plant, ids[kind]);
  await prepare(page);
  await page.locator(".visit-where[data-kept]").waitFor();
  return here();
}

/** question goes on to the first question with a yes or no answer. */
async function question() {
  for (let i = 0; i < 20; i++) {
    const no = page.getByRole("button", { name: "No", exact: true });
    const done = page.getByRole("button", { name: "Done", exact: true });
    await no.or(done).first().waitFor();
    if ((await no.count()) > 0) return;
    const kept = await page.locator(".visit-where").getAttribute("data-kept");
    await done.first().click();
    await page.waitForFunction((old) => document.querySelector(".visit-where")?.dataset.kept !== old, kept);
  }
  throw new Error("no question came");
}

/** stands checks that only the stop is on the screen: no step, no pad, no other button. */
async function stands(ways, heading = "Do not apply pressure") {
  await title(heading);
  const shown = () => page.locator("main button").allTextContents();
  for (let i = 0; i < 100 && (await shown()).join() !== ways.join(); i++) await page.waitForTimeout(50);
  assert.deepEqual(await shown(), ways);
  assert.equal(await page.locator(".pad").count(), 0);
  assert.equal(await page.getByText(/Target reached|Next:/).count(), 0);
}

async function end(reason, ...ticks) {
  for (const t of ["Vented or without pressure, zero seen", ...ticks]) await page.getByLabel(t).check();
  await page.getByLabel("Why it cannot be tested").fill(reason);
  await press("End here: cannot be tested");
  await page.getByText(`Not tested: ${reason}`).waitFor();
  await title("Remark and photo");
  assert.equal(await page.getByRole("button", { name: "Repeat the run" }).count(), 0, "no run follows");
}

const ways = ["Put right and answer again", "End here: cannot be tested"];

for (const kind of asking)
  test(`${kind}: a safety question answered with no stops the run, through a reload; put right it goes on, or it ends without a test`, async () => {
    const visit = await begin(kind);
    visits[kind] = visit;
    await question();
    const asked = (await page.locator(".typed .instruction").textContent()) ?? "";
    await press("No");
    await stands(ways);
    assert.ok(((await page.locator(".halt-sign").textContent()) ?? "").includes(asked), "it says which question");
    if (["leak", "altimeter"].includes(kind)) {
      await sound(page, `${kind}: stop`);
      await picture(`${kind}-no`);
    }
    await page.reload();
    await stands(ways);
    await page.goto(`${plant.url}/round`);
    await page.goto(`${plant.url}/visit/${visit}`);
    await stands(ways);
    // Nothing counts as put right without a word on how.
    await press("Put right and answer again");
    await press("Yes");
    await page.getByText("What was put right: write a few words.").waitFor();
    await page.getByLabel("What was put right").fill("The valve was opened");
    await press("Yes");
    await page.getByRole("heading", { name: "As found" }).waitFor();
    // The answer can be taken back: the run stops again.
    await (await readings(page))
      .getByRole("button", { name: /^Correct: .*yes/ })
      .first()
      .click();
    await press("No");
    await stands(ways);
    await press("End here: cannot be tested");
    await end("No rated hose here");
    await sign();
  });

test("a burst test: each disc has its shield, and no disc occurs twice", async () => {
  const visit = await begin("burst");
  await question();
  await press("Yes");
  await page.locator("textarea").fill("A-1");
  await press("Keep");
  await question();
  await press("No");
  await stands(ways);
  await press("Put right and answer again");
  await page.getByLabel("What was put right").fill("Shield closed");
  await press("Yes");
  await walk(
    () => page,
    () => "5.02",
    undefined,
    undefined,
    (seen) => seen.note && seen.text.split("Next:")[0].includes("Disc 2: its identity"),
  );
  await page.getByText("Disc 2: its identity").first().waitFor();
  await page.locator("textarea").fill("a-1");
  await press("Keep");
  await page.getByRole("alert").getByText("disc 1 and disc 2 have the same identity").waitFor();
  await picture("disc-twice");
  await page.locator("textarea").fill("A-2");
  await press("Keep");
  await page.getByText("Disc 2: is it clamped").first().waitFor();
  assert.equal(await page.getByText("a-1", { exact: true }).count(), 0, "what was refused is not kept");
  assert.equal((await kept(page, visit)).not_tested, undefined);
});

test("cautions that are not met, another instrument, and a damaged one: nothing of a run follows", async () => {
  visits.cautions = await start(plant, ids["gauge"]);
  await page.getByRole("checkbox").nth(1).check();
  await picture("cautions-ask");
  await press("Something is not right");
  await stands(ways);
  await page.getByText("The line is isolated, locked and tagged").waitFor();
  await picture("cautions");
  await sound(page, "cautions not met");
  await page.reload();
  await stands(ways);
  await press("Put right and answer again");
  await page.getByRole("checkbox").first().waitFor();
  await tickAll(page);
  await press("All checked: go on");
  await page.getByText("What was put right: write a few words.").waitFor();
  await page.getByLabel("What was put right").fill("Isolated and locked by the shift leader");
  await press("All checked: go on");
  await title("Is this the instrument?");
  // another one
  await page.getByLabel("Something differs").check();
  await press("Next");
  await page.getByText("What differs: write a few words.").waitFor();
  await page.getByLabel("What differs").fill("serial is Q111");
  await press("Next");
  await page.getByText("What is different: choose one.").waitFor();
  await page.getByLabel("Another instrument is mounted here now").check();
  await picture("identity-ask");
  await press("Next");
  const compare = ["Compare tag and serial again", "End here: cannot be tested"];
  await stands(compare);
  await page.getByText("its range and limits are not known").waitFor();
  await sound(page, "another instrument");
  await picture("exchanged");
  await page.reload();
  await stands(compare);
  await press("Compare tag and serial again");
  await page.getByLabel("Something differs").check();
  await page.getByLabel("I am at another instrument").check();
  await page.getByLabel("What differs").fill("tag is PI-7");
  await page.getByLabel("What was put right").fill("Looked at the tag");
  await press("Next");
  await stands(compare);
  await page.getByText("its range and limits are different").waitFor();
  await press("Compare tag and serial again");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Damaged: do not pressurise").check();
  await page.getByLabel("What was seen").fill("glass broken, pointer bent");
  await page.getByLabel("What was put right").fill("At the right one now");
  await press("Next");
  await stands(["End here: cannot be tested"], "Do not pressurise");
  await page.getByText("glass broken, pointer bent").first().waitFor();
  await sound(page, "damaged");
  await picture("damaged");
  await page.reload();
  await stands(["End here: cannot be tested"], "Do not pressurise");
  assert.ok(
    await page.getByRole("button", { name: "End here: cannot be tested" }).isDisabled(),
    "vented and tagged out first",
  );
  await end("glass broken, pointer bent", "Tagged out");
  assert.equal(await page.getByRole("button", { name: "It can be tested after all" }).count(), 0);
  await sign();
});

test("a dirty instrument, and one with only a wrong register entry, are tested; impossible air is refused", async () => {
  visits.dirty = await start(plant, ids["gauge"]);
  await tickAll(page);
  await press("All checked: go on");
  await page.getByLabel("Something differs").check();
  await page.getByLabel("It is this instrument and its dial shows the range above").check();
  await page.getByLabel("What differs").fill("serial has one more digit");
  await page.getByLabel("Dirty, but can be tested").check();
  await page.getByLabel("What was seen").fill("oil on the dial");
  await press("Next");
  await choosing(page);
  await page.getByRole("radio").first().check();
  const why = page.getByLabel("Reason for using it");
  if ((await why.count()) > 0) await why.fill("browser test");
  await press("Use this standard");
  await page.getByLabel("Air temperature").fill("21");
  await page.getByLabel("Air pressure").fill("29,92");
  await press("Next");
  await page.getByRole("alert").getByText("was it read in inHg").waitFor();
  await picture("air");
  await page.getByLabel("Air pressure").fill("1009");
  await page.getByLabel("Air temperature").fill("215");
  await press("Next");
  await page.getByRole("alert").getByText("an air temperature of 215").waitFor();
  await page.getByLabel("Air temperature").fill("21,5");
  await press("Next");
  await press("Start: As found");
  // a value beyond the range is doubted first; if it is right, something was strained
  await walk(
    () => page,
    () => undefined,
    undefined,
    undefined,
    (seen) => seen.pad,
  );
  const keep = page.getByRole("button", { name: /^Keep .*32/ });
  await page.locator(".pad input").fill("32");
  await keep.click();
  await page.getByLabel("Reason", { exact: true }).fill("the source was opened too far");
  await keep.click();
  await title("Stop: overload");
  await page.getByText("it may be strained").waitFor();
  await sound(page, "over range");
  await picture("over-range");
  await press("Read again");
  await page.locator(".pad input").waitFor();
  assert.equal(await page.locator(".pad input").inputValue(), "");
  // readings of zero at every point: the second one far off stops the run
  await walk(
    () => page,
    () => "0",
    undefined,
    undefined,
    (seen) => seen.text.includes("Stop: is it connected?"),
  );
  await title("Stop: is it connected?");
  await sound(page, "connected");
  await picture("connected");
  await press("Read again");
  await page.locator(".pad input").fill("9.99");
  await page.getByRole("button", { name: /^Keep .*9/ }).click();
  await page
    .getByRole("button", { name: /^(Close this run|Done)$/ })
    .first()
    .waitFor();
});

test("a leak test: an impossible barometer reading is refused; a first reading and a record of another pressure are doubted", async () => {
  await begin("leak");
  await question();
  await press("Yes");
  await walk(
    () => page,
    () => undefined,
    undefined,
    undefined,
    (seen) => seen.instruction.includes("Barometer now"),
  );
  await page.locator(".pad input").fill("20.6");
  await page.getByRole("button", { name: /^Keep .*20/ }).click();
  await page.getByRole("alert").getByText("20.6 hPa is that of no place").waitFor();
  await picture("barometer");
  // A barometer in another unit: the record keeps what was typed beside the value in the step's
  // unit.
  await page.locator("select.pad-unit").selectOption("inHg");
  await page.locator(".pad input").fill("29.80");
  await page.getByText(/= 1,?009\.14\shPa/).waitFor();
  await sound(page, "a barometer in inches of mercury");
  await page.getByRole("button", { name: /^Keep .*29\.80/ }).click();
  await page.getByText("End the readings").waitFor();
  await saw(page, "typed as 29.80 inHg");
  await page.locator(".pad input").fill("4");
  await page.getByRole("button", { name: /^Keep .*4/ }).click();
  await page.getByRole("alert").getByText("the sign is wrong").waitFor();
  await press("Take it from a logger's file");
  const file = async (from) => {
    const rows = [
      "t [s],p [bar]",
      ...Array.from({ length: 30 }, (_, i) => `${i},${(from + (i % 2) * 0.001).toFixed(4)}`),
    ];
    await page
      .locator("input[type=file]")
      .setInputFiles({ name: "leak.csv", mimeType: "text/csv", buffer: Buffer.from(rows.join("\n")) });
    await page.getByText("Check each column").waitFor();
    // The columns of the earlier file may still be shown; a choice made on them would be lost.
    await page.locator(".trace-columns samp").getByText(from.toFixed(4)).waitFor();
    await page.getByLabel("gauge: zero when vented").check();
    await press("These columns are right: read the file");
    await page.getByText(/rows are used/).waitFor();
  };
  await file(4);
  await page.getByRole("alert").getByText("Not this record").waitFor();
  assert.ok(await page.getByRole("button", { name: "Use this record" }).isDisabled());
  await sound(page, "a record of another pressure");
  await picture("record");
  await press("Change the columns");
  await file(-0.59);
  assert.ok(await page.getByRole("button", { name: "Use this record" }).isEnabled());
  await press("Use this record");
  await saw(page, /leak.csv/);
});

test("the office hears of it first, and what was not tested gets no certificate", async () => {
  await plant.start();
  await page.reload();
  await page.getByText("All work sent").waitFor({ timeout: 90000 });
  const office = await asPerson(plant, plant.someone("reviewer"));
  for (const kind of asking) {
    const seen = await office(`/api/office/visits/${visits[kind]}`);
    assert.equal(seen.status, "signed", kind);
    assert.deepEqual(seen.attention.slice(0, 2), ["safety_no", "not_tested"], `${kind}: ${seen.attention}`);
    assert.ok(!seen.attention.includes("recomputed"), `${kind}: the server decides the same`);
    const finding = seen.runs[0].fields.finding.heads[0].value;
    assert.equal(finding.verdict, "undecided", kind);
    assert.match(finding.reason, /safety question/, kind);
    assert.equal(seen.visit.fields.not_tested.heads[0].value.reason, "No rated hose here");
  }
  const broken = await office(`/api/office/visits/${visits.cautions}`);
  assert.deepEqual(broken.attention.slice(0, 2), ["item_damaged", "not_tested"]);
  assert.deepEqual(broken.runs, []);
  const reply = await office(`/api/office/visits/${visits.cautions}/approve`, "POST", { covers: broken.covers, effect: "nothing was touched" });
  assert.match(JSON.stringify(reply.certificate), /not tested: glass broken/);
  assert.deepEqual(pocket.faults, []);
});
