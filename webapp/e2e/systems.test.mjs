// A leak test with typed readings and one with a logger's file, a switch over two cycles and two
// discs with traces, on a phone without a network: signed, then sent, recalculated at the office
// from the records themselves. The import of a record is checked against the accessibility rules by
// day and by night.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { burst, deadBand, furnish, leak, pressureSwitch } from "./kinds.mjs";
import { Plant, ready } from "./plant.mjs";
import { Pocket, asPerson, snap, sound } from "./pocket.mjs";
import { hand, onward, prepare } from "./visit.mjs";
import { readings, saw, walk } from "./walk.mjs";

// The leak test takes seconds. A temperature that nobody records may change by 0.2 K in that time,
// which looks like 68 Pa/s: only a limit well above that can be decided.
const things = {
  leak: leak(
    { pressure: "6", stabilise_s: 1, measure_s: 10, every_s: 1, limit_pa_s: "250" },
    { temperature: "none", barometer: "none" },
  ),
  switch: pressureSwitch(2, deadBand),
  burst: burst(2),
};
let ids = {};
const visits = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  ids = await furnish(admin, things, (kind) => ({
    method: { name: `Test of a ${kind}` },
    description: `A ${kind}`,
    resolution: "0.0001",
    tag: `SYS-${kind.toUpperCase()}`,
    serial: kind,
    label: `${kind}0label`.slice(0, 10),
  }));
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  await page.goto(`${plant.url}/instrument/${ids.switch}`);
  await page.getByText("acts rising at 1.5 bar").waitFor();
  await sound(page, "what a switch is");
  await plant.kill(); // from here on there is no office
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, start, sign } = hand(() => page);

const picture = (name) => snap(page, `systems-${name}`);

async function begin(kind, name = kind) {
  visits[name] = await start(plant, ids[kind]);
  await prepare(page);
  await page.locator(".visit-where").waitFor();
}

/**
 * through does the plan. reply() is typed on a pad, "" ends its values. at[text]() is called once,
 * when a screen with that text appears.
 */
function through(reply, at = {}) {
  const met = new Set();
  return walk(
    () => page,
    () => {
      const said = reply();
      return said === "" ? { press: "End the readings" } : said;
    },
    async (seen) => {
      const special = Object.keys(at).find((text) => seen.text.includes(text) && !met.has(text));
      if (!special) return false;
      met.add(special);
      await at[special]();
      return true;
    },
  );
}

/**
 * file gives a file to the open screen and goes on to the result of reading it. on(stage) checks it
 * on the way.
 */
async function file(name, text, confirm, on = async () => {}) {
  await press("Take it from a logger's file");
  await page.locator("input[type=file]").setInputFiles({ name, mimeType: "text/csv", buffer: Buffer.from(text) });
  await page.getByText("Check each column").waitFor();
  await on("columns");
  await press("These columns are right: read the file");
  await page.getByRole("alert").getByText("Gauge or absolute").waitFor();
  await page.getByLabel("gauge: zero when vented").check();
  await confirm();
  await press("These columns are right: read the file");
  await page.getByText(/rows are used/).waitFor();
  await on("read");
}

async function close(name, verdict) {
  await press("Close this run");
  await page.getByText("As found: result").waitFor();
  await page.locator(".chart").first().waitFor();
  await page.locator("main").getByText(verdict, { exact: true }).first().waitFor();
  await sound(page, `${name}: result`);
  await picture(`${name}-result`);
  await onward(page);
}

test("a leak test with typed readings: stored energy before the first pressure, a decision after each reading, the line through them", async () => {
  await begin("leak", "leak typed");
  // As planned, a reading a second: the shorter the time, the larger the uncertainty.
  let n = 0;
  let next = 0;
  await through(
    () => {
      if (performance.now() < next) return undefined;
      next = performance.now() + 1000;
      n++;
      return n > 8 ? "" : (6 - (n % 2) * 0.0001).toFixed(4);
    },
    {
      isentropic: async () => {
        await sound(page, "energy");
        await picture("energy");
      },
      "Decision now": async () => {
        await sound(page, "a decision");
        await picture("leak-live");
      },
    },
  );
  await close("leak typed", "pass");
  await sign();
});

test("a leak test from a logger's file: faults are shown with their lines, nothing is dropped silently", async () => {
  await begin("leak", "leak trace");
  const rows = ["# logger of the test", "Time;Pressure;Gas temp.", "s;bar;\u00b0C"];
  for (let i = 0; i < 400; i++)
    rows.push(
      `${i};${i === 100 ? "OVER" : (6 - i * 0.00002 + Math.sin(i) * 0.0001).toFixed(5)};20.5`.replaceAll(".", ","),
    );
  rows.splice(203, 0, rows[202]);
  rows[300] = rows[300].replace(/;[^;]*$/, ";");
  await through(() => "", {
    "From a logger's file": async () => {
      await file(
        "leak.csv",
        rows.join("\r\n"),
        async () => {},
        async (stage) => {
          await sound(page, stage);
          await picture(`import-${stage}`);
        },
      );
      const told = await page.locator("main").innerText();
      assert.match(told, /398 of 401 rows are used/);
      assert.match(told, /1 cell without temperature/);
      assert.match(told, /Line 104\s+\u201cOVER\u201d/);
      assert.match(told, /Line 204\s+\u201c199\u201d/);
      await press("Use this record");
      await page.getByText("Check each column").waitFor({ state: "detached" });
      await saw(page, /leak.csv/);
      // The same record is read another way: its first reading stays, with the reason for the
      // second.
      await (await readings(page)).getByRole("button", { name: /^Correct: .*leak.csv/ }).click();
      await page.getByText("Check each column").waitFor();
      await page.getByLabel("gauge: zero when vented").check();
      await press("These columns are right: read the file");
      await page.getByText(/398 of 401 rows are used/).waitFor();
      await press("Use this record");
      await page
        .getByRole("alert")
        .getByText(/reason/i)
        .waitFor();
      await page.getByLabel("Reason", { exact: true }).fill("Columns looked at again");
      await sound(page, "record read another way");
      await picture("import-again");
      await press("Use this record");
      await page.getByText("stays on record").waitFor({ state: "detached" });
    },
  });
  await page.reload(); // the samples are forgotten: they are read again from the stored file
  await close("leak trace", "pass");
  await sign();
});

test("a switch over two cycles: the points as they come, the dead band, its statistics", async () => {
  await begin("switch");
  const cycle = { set: ["1.50", "1.51"], reset: ["0.81", "0.82"] };
  const taken = [];
  await through(
    () => {
      const of = taken.length % 2 === 0 ? "set" : "reset";
      const v = cycle[of][Math.floor(taken.length / 2)] ?? "1.5";
      taken.push(v);
      return v;
    },
    {
      0.81: async () => {
        await sound(page, "cycles");
        await picture("switch-live");
      },
    },
  );
  assert.deepEqual(taken, ["1.50", "0.81", "1.51", "0.82"]);
  await close("switch", "pass");
  await sign();
});

test("two discs: one typed, one from a fast logger's file with the burst in it", async () => {
  await begin("burst");
  const rows = ["t [ms],p [bar]"];
  for (let i = 0; i < 3000; i++)
    rows.push(`${i * 10},${i < 2500 ? (1 + i * 0.0016).toFixed(4) : (5 * Math.exp((2500 - i) / 3)).toFixed(4)}`);
  let discs = 0;
  await through(() => "5.05", {
    "From a logger's file": async () => {
      discs++;
      await file("disc.csv", Buffer.from(`\ufeff${rows.join("\n")}`, "utf16le"), async () => {}); // as some loggers write
      await picture("burst-read");
      await press("Use this record");
      await saw(page, /disc.csv/);
    },
  });
  assert.equal(discs, 1);
  await close("burst", "pass");
  await sign();
});

test("the office has them all, with their records, and calculates the same", async () => {
  await plant.start();
  await page.reload();
  await page.getByText("All work sent").waitFor({ timeout: 90000 });
  const office = await asPerson(plant, plant.someone("reviewer"));
  for (const [name, id] of Object.entries(visits)) {
    const seen = await office(`/api/office/visits/${id}`);
    assert.equal(seen.status, "signed", name);
    for (const wrong of ["recomputed", "trace_away", "no_finding"])
      assert.ok(
        !seen.attention.includes(wrong),
        `${name}: ${wrong}: ${JSON.stringify(Object.entries(seen.visit.fields).filter(([f]) => f.startsWith("check.")))}`,
      );
    assert.equal(seen.runs[0].fields.finding.heads[0].value.verdict, "pass", name);
    const traces = Object.entries(seen.runs[0].fields).flatMap(([f, v]) =>
      f.startsWith("capture.") && v.heads[0].value.of === "trace" ? [v.heads[0].value] : [],
    );
    assert.equal(traces.length, { "leak trace": 2, burst: 1 }[name] ?? 0, name);
    if (name === "leak trace")
      assert.deepEqual(
        traces.map((t) => t.reason ?? "").sort(),
        ["", "Columns looked at again"],
        "both stay on record",
      );
    for (const t of traces)
      assert.equal((await office(`/api/blobs/${t.value}`)).length, t.file.bytes, "the record is whole");
  }
  await page.goto(`${plant.url}/instrument/${ids.leak}`);
  await page.locator(".history .chart").waitFor();
  await sound(page, "history of a system");
  await picture("history");
  assert.deepEqual(pocket.faults, []);
});

test("the office sends a visit back: the logger's record gets another file, with a reason, and the figures follow", async () => {
  const office = await asPerson(plant, plant.someone("reviewer"));
  const id = visits["leak trace"];
  const rate = (seen) => seen.runs[0].fields.finding.heads[0].value.results.find((r) => r.unit === "Pa/s").value;
  const before = rate(await office(`/api/office/visits/${id}`));
  await office(`/api/office/visits/${id}/return`, "POST", { remark: "The record is of another morning." });
  await page.goto(`${plant.url}/visit/${id}`);
  await page.getByText("The record is of another morning.").waitFor({ timeout: 90000 });
  await page.locator(".corrections summary").first().click();
  await page
    .locator(".corrections .before li")
    .filter({ hasText: "leak.csv" })
    .getByRole("button", { name: "Correct" })
    .click();
  const rows = ["Time [s];Pressure [bar];Gas temp. [\u00b0C]"];
  for (let i = 0; i < 400; i++) rows.push(`${i};${(6 - i * 0.00005 + Math.sin(i) * 0.0001).toFixed(5)};20.5`);
  await page
    .locator("label", { hasText: "Another file" })
    .locator("input")
    .setInputFiles({ name: "right.csv", mimeType: "text/csv", buffer: Buffer.from(rows.join("\n")) });
  await page.getByText("Check each column").waitFor();
  await page.getByLabel("gauge: zero when vented").check();
  await press("These columns are right: read the file");
  await page.getByText(/400 rows are used|400 of 400 rows are used/).waitFor();
  await page.getByLabel("Reason", { exact: true }).fill("Another morning's file was taken");
  await sound(page, "another record in a closed run");
  await picture("corrected-record");
  await press("Use this record");
  await page.locator(".corrections summary").first().waitFor();
  await sign();
  let seen;
  for (let i = 0; i < 240; i++) {
    seen = await office(`/api/office/visits/${id}`);
    if (seen.status === "signed") break;
    await page.waitForTimeout(250);
  }
  assert.equal(seen.status, "signed");
  const traces = Object.entries(seen.runs[0].fields).flatMap(([f, v]) =>
    f.startsWith("capture.") && v.heads[0].value.of === "trace" ? [v.heads[0].value] : [],
  );
  assert.deepEqual(traces.map((t) => [t.file.name, t.reason ?? ""]).sort(), [
    ["leak.csv", ""],
    ["leak.csv", "Columns looked at again"],
    ["right.csv", "Another morning's file was taken"],
  ]);
  // 5e-5 bar/s are 5 Pa/s, and it was 2 before: both from the lines that the files were made from.
  assert.ok(Math.abs(before - 2) < 0.2 && Math.abs(rate(seen) - 5) < 0.2, `${before} ${rate(seen)} Pa/s`);
  assert.ok(!seen.attention.includes("recomputed"), JSON.stringify(seen.attention));
});
