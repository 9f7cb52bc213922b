import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import fc from "fast-check";
import { Machine } from "../src/calcworker/wasi";
import { fewer } from "../src/parts/trace-chart";
import { type Form, formOf, readingOf, timeForm } from "../src/views/trace/reading";
import { type Ask, blockFor, look, mostSamples, plain as inUTF8, read, rowsOf, type Seen } from "../src/records/trace";
import { standsFor } from "../src/views/trace/stands";
import type { Step } from "../src/records/run";
import { traceWords as w } from "../src/words/trace";

const column = (n: number, name: string, kind: string, guess: string, more: object = {}) => ({
  column: n,
  name,
  unit: "",
  kind,
  guess,
  samples: [],
  words: [],
  low: 0,
  high: 1,
  ...more,
});

const seen = (columns: object[], time: object): Seen =>
  ({
    separator: ";",
    decimal: ",",
    comment: "",
    first: 2,
    rows: 100,
    rowBytes: 20,
    warnings: [],
    columns,
    time,
  }) as unknown as Seen;

const plain = seen(
  [
    column(1, "t", "numbers", "time", { unit: "s" }),
    column(2, "p", "numbers", "pressure", { unit: "bar" }),
    column(3, "T", "numbers", "temperature", { unit: "\u00b0C" }),
  ],
  { form: "number", column: 1, unit: "s", interval_s: 0.5 },
);
const want = {
  unit: "bar",
  mode: "gauge",
  contact: false,
  to: "mean" as const,
  range: { low: "0", high: "10", unit: "bar" },
};

function open(form: Form, from: Seen, what = want): string {
  const made = readingOf(form, from, what);
  if (!("open" in made)) throw new Error(JSON.stringify(made));
  return made.open;
}

test("nothing is read from a record before gauge or absolute is chosen, and nothing of the other mode", () => {
  const form = formOf(plain);
  assert.equal(open(form, plain), w.needs.mode);
  assert.equal(open({ ...form, mode: "absolute" }, plain), w.needs.otherMode("absolute", "gauge"));
  const made = readingOf({ ...form, mode: "gauge" }, plain, want);
  assert.deepEqual(made, {
    reading: {
      separator: ";",
      decimal: ",",
      comment: "",
      first_line: 2,
      time: { form: "number", column: 1, unit: "s" },
      p: { column: 2, unit: "bar", mode: "gauge" },
      temperature: { column: 3, unit: "degC" },
      unit: "bar",
      gap_s: 2.5,
      range: { low: "0", high: "10", unit: "bar" },
    },
  });
});

test("an unknown unit, a column given twice, a missing column: the form asks about each", () => {
  const form: Form = { ...formOf(plain), mode: "gauge" };
  assert.equal(open({ ...form, units: ["s", "", "degC"] }, plain), w.needs.unit(w.column(2, "p")));
  assert.equal(open({ ...form, roles: ["time", "pressure", "pressure"] }, plain), w.needs.twice("pressure"));
  assert.equal(open({ ...form, roles: ["time", "", "temperature"] }, plain), w.needs.pressure);
  assert.equal(open({ ...form, roles: ["", "pressure", ""], interval: "" }, plain), w.needs.time);
  assert.equal(open({ ...form, roles: ["index", "pressure", ""], interval: "0" }, plain), w.needs.interval);
  assert.equal(open({ ...form, first: "0" }, plain), w.needs.first);
  assert.equal(open(form, plain, { ...want, contact: true }), w.needs.contact);
});

test("the form of the time follows from its column", () => {
  const of = (kind: string, roles: string[], time: object = {}) => {
    const s = seen(
      [column(1, "", kind, "time"), column(2, "", "days", "date"), column(3, "", "numbers", "pressure")],
      time,
    );
    return timeForm({ ...formOf(s), roles: roles as Form["roles"] }, s.columns, s);
  };
  assert.equal(of("numbers", ["time", "", "pressure"]), "number");
  assert.equal(of("numbers", ["time", "", "pressure"], { form: "epoch" }), "epoch");
  assert.equal(of("dates", ["time", "", "pressure"]), "date");
  assert.equal(of("clocks", ["time", "", "pressure"]), "clock");
  assert.equal(of("clocks", ["time", "date", "pressure"]), "date");
  assert.equal(of("clocks", ["", "", "pressure"]), "index");
});

test("day and month that cannot be told apart, and what the contact's words mean, are asked for", () => {
  const s = seen(
    [
      column(1, "when", "dates", "time"),
      column(2, "p", "numbers", "pressure", { unit: "bar" }),
      column(3, "k", "words", "contact", { words: ["open", "closed"] }),
    ],
    {
      form: "date",
      order: "",
    },
  );
  const form: Form = { ...formOf(s), mode: "gauge" };
  assert.equal(open(form, s), w.needs.order);
  const ordered: Form = { ...form, order: "dmy" };
  assert.equal(open(ordered, s), w.needs.state("open"));
  assert.equal(open({ ...ordered, states: { open: "rest", closed: "rest" } }, s), w.needs.states);
  const made = readingOf({ ...ordered, states: { open: "rest", closed: "actuated" } }, s, { ...want, contact: true });
  if (!("reading" in made)) throw new Error(made.open);
  assert.deepEqual(made.reading["contact"], { column: 3, actuated: ["closed"], rest: ["open"] });
});

test("a record replaces the steps that only typing needs, and no others", () => {
  const steps = [
    "ready",
    "k1.trace",
    "c1.start",
    "c1.k1.set.ramp",
    "c1.k1.set",
    "c1.k2.set",
    "c2.k1.reset",
    "end.vent",
  ].map((id) => ({ id, of: "applied" }) as Step);
  const none = { temperature: false, barometer: false };
  const at = (id: string, list = steps) => list.find((x) => x.id === id) as Step;
  assert.deepEqual(standsFor(at("k1.trace"), steps, none), ["c1.k1.set.ramp", "c1.k1.set", "c2.k1.reset"]);
  const one = steps.filter((x) => x.id !== "c1.k2.set");
  assert.deepEqual(standsFor(at("k1.trace"), one, none), ["c1.start", "c1.k1.set.ramp", "c1.k1.set", "c2.k1.reset"]);
  const leak = ["p1.t0", "p1", "p1.t1", "p1.b1", "p1.vent", "p2.t1"].map((id) => ({ id, of: "indicated" }) as Step);
  assert.deepEqual(standsFor(at("p1", leak), leak, { temperature: true, barometer: false }), ["p1.t1"]);
  const disc = ["d1.start", "d1", "d1.burst", "d1.vent"].map((id) => ({ id, of: "applied" }) as Step);
  assert.deepEqual(standsFor(at("d1", disc), disc, none), ["d1.burst"]);
});

test("a thinned record keeps at most the samples wanted", () => {
  fc.assert(
    fc.property(
      fc.integer({ min: 1, max: 5_000_000 }),
      fc.constantFrom("mean" as const, "extremes" as const),
      (rows, to) => {
        const block = blockFor(rows, to);
        const kept = block === 1 ? rows : Math.ceil(rows / block) * (to === "mean" ? 1 : 6);
        assert.ok(kept <= mostSamples, `${rows} rows by ${block} give ${kept}`);
        assert.ok(block === 1 || rows > mostSamples);
      },
    ),
  );
  assert.equal(rowsOf(new Blob(["x".repeat(100)]), plain), 100);
});

test("a drawing keeps the least and the greatest of what it shows, in order", () => {
  fc.assert(
    fc.property(
      fc.array(fc.double({ min: -1e3, max: 1e3, noNaN: true }), { minLength: 1, maxLength: 3000 }),
      fc.integer({ min: 10, max: 400 }),
      (p, limit) => {
        const t = p.map((_, i) => i);
        const drawn = fewer(t, p, limit);
        assert.ok(drawn.length <= Math.max(limit + 2, p.length <= limit ? p.length : 0));
        assert.equal(Math.max(...drawn.map((q) => q.p)), Math.max(...p));
        assert.equal(Math.min(...drawn.map((q) => q.p)), Math.min(...p));
        for (let i = 1; i < drawn.length; i++) assert.ok((drawn[i]?.t ?? 0) > (drawn[i - 1]?.t ?? 0));
      },
    ),
  );
});

const machine = new Machine(await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url))));
const ask: Ask = async (doc, bytes) => {
  const reply = JSON.parse(machine.call("bytes/trace", JSON.stringify(doc), bytes));
  assert.equal(reply.error, undefined, JSON.stringify(reply.error));
  return reply;
};

test("a record in UTF-16 is read as the same record in UTF-8, with a mark of either order", async () => {
  const text = `time;p;note\r\n${Array.from({ length: 40_000 }, (_, i) => `${i};${1 + (i % 9) / 8};caf\u00e9 \u{1d11e}`).join("\r\n")}\r\n`;
  const utf8 = new TextEncoder().encode(text);
  for (const big of [false, true]) {
    const bytes = new DataView(new ArrayBuffer(2 * text.length + 2));
    bytes.setUint16(0, 0xfeff, !big);
    for (let i = 0; i < text.length; i++) bytes.setUint16(2 * i + 2, text.charCodeAt(i), !big);
    const file = new Blob([bytes.buffer]);
    await assert.rejects(look(file, ask)); // the calculation itself takes no such file
    assert.ok((await (await inUTF8(file)).text()) === text, big ? "high byte first" : "low byte first");
  }
  const plainly = new Blob([utf8]);
  assert.equal(await inUTF8(plainly), plainly, "UTF-8 is left as it is");
  assert.equal((await inUTF8(new Blob([]))).size, 0);
});

test("a record of more than one piece is examined, confirmed and fully read, with the lines of its faults", async () => {
  const rows = 120_000;
  const lines = ["# m\u00e4de by a test", "Zeit;Druck;Temp.", "s;bar;\u00b0C"];
  for (let i = 0; i < rows; i++)
    lines.push(
      `${(i / 10).toFixed(1).replace(".", ",")};${i === 70_000 ? "OVER" : (5 + (i % 7) / 8).toFixed(3).replace(".", ",")};${i % 2 === 0 && i > 100_000 ? "" : "20,5"}`,
    );
  const text = lines.join("\r\n");
  const file = new Blob([text]);
  assert.ok(file.size > 2 << 20);
  const s = await look(file, ask);
  assert.deepEqual(
    [s.separator, s.decimal, s.first, s.columns.map((c) => c.guess)],
    [";", ",", 4, ["time", "pressure", "temperature"]],
  );
  assert.ok(Math.abs(rowsOf(file, s) / rows - 1) < 0.2, `${rowsOf(file, s)} rows`);
  const made = readingOf({ ...formOf(s), mode: "gauge" }, s, want);
  if (!("reading" in made)) throw new Error(made.open);
  let far = 0;
  const reading = { ...made.reading, thin: { to: "extremes", block: blockFor(rows, "extremes") } };
  const all = await read(file, reading, (share) => (far = share), undefined, ask);
  assert.equal(far, 1);
  assert.deepEqual(
    [all.state["rows"], all.state["missing_temperature"], all.state["used"]],
    [rows, 9_999, rows - 9_999 - 1],
  );
  assert.deepEqual(
    all.faults.map((f) => [f.line, f.code, f.cell]),
    [[70_004, "not_a_number", "OVER"]],
  );
  assert.ok(all.samples.t.length <= mostSamples && all.samples.t.length > 1_000, `${all.samples.t.length} samples`);
  assert.equal(Math.max(...all.samples.p), 5.75);
  assert.deepEqual(all, await read(file, reading, undefined, undefined, ask));
});
