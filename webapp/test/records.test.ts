import assert from "node:assert/strict";
import { test } from "node:test";
import fc from "fast-check";
import { askOf, definitionOf, formOf, wrongOf } from "../src/screens/methods/methods-data";
import { placeOf } from "../src/records/office";
import {
  csvOf,
  keyOf,
  notCalculated,
  outcomesOf,
  piecesOf,
  sorted,
  type Use,
} from "../src/screens/standards/reverse-data";
import {
  formOf as rangeForm,
  readPoints,
  readRange,
  cellOf,
  certifyOf,
  withCertificate,
} from "../src/screens/standards/standards-data";
import type { Json, RecordState } from "../src/wire/records";
import { calculate } from "./module";

function standard(fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id: "s", kind: "standard", site: "", parent: "", fields: {} };
  let n = 0;
  for (const [name, value] of Object.entries(fields))
    state.fields[name] = {
      heads: [{ change: `c${++n}`, value, author: "u", device: "d", wall: `2026-01-0${n}`, stamp: String(n) }],
      replaced: [],
    };
  return state;
}

const range = { low: "-1", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.05", k: "2" };
const point = (applied: string, error = "0", expanded = "0.004") => ({ applied, error, expanded, k: "2" });

test("a range is read with a comma or a point, and what does not fit is named", () => {
  const typed = rangeForm({ ...range, points: [point("0")] });
  assert.deepEqual(readRange(typed), { range: { ...range, points: [point("0")] } });
  assert.deepEqual(readRange({ ...typed, low: "\u22121,0" }), {
    range: { ...range, low: "-1.0", points: [point("0")] },
  });
  for (const [wrong, field] of [
    [{ low: "minus one" }, "low"],
    [{ high: "" }, "high"],
    [{ unit: " " }, "unit"],
    [{ terms: { ...typed.terms, absolute: "little" } }, "absolute"],
    [{ terms: { ...typed.terms, k: "two" } }, "k"],
  ] as const) {
    const read = readRange({ ...typed, ...wrong });
    assert.equal("field" in read ? read.field : "", field);
  }
});

test("points of a certificate must be whole; empty lines fall away", () => {
  const blank = { applied: "", error: "", expanded: "", k: "2" };
  assert.deepEqual(readPoints([point("0"), blank, { ...point("20", "0,002"), k: "" }]), {
    points: [point("0"), point("20", "0.002")],
    lines: [0, 2],
  });
  for (const [forms, field] of [
    [[blank], "applied 0"],
    [[point("0"), { ...point("1"), error: "" }], "error 1"],
    [[{ ...point("0"), k: "two" }], "k 0"],
  ] as const) {
    const read = readPoints([...forms]);
    assert.equal("field" in read ? read.field : "", field);
  }
});

test("a refusal about a point names its cell", () => {
  const { unit, mode: _, ...specified } = range;
  const field = (points: Json[]) => {
    try {
      calculate("standard", { unit, ranges: [specified], certificate: { points }, points: ["0"], limit: "1" });
    } catch (e) {
      const { field, message } = JSON.parse((e as Error).message);
      return cellOf(field, message, [0, 2])?.field;
    }
    return "";
  };
  assert.equal(field([point("0"), point("20")]), "");
  assert.equal(field([point("0"), point("0")]), "applied 2");
  assert.equal(field([point("0", "0", "0"), point("1")]), "expanded 0");
  assert.equal(field([point("0"), { ...point("1"), k: "-2" }]), "k 2");
  assert.equal(cellOf("unit", "is no unit", [0]), undefined);
});

test("a newer certificate comes into force, an older one is only stored", () => {
  const s = standard({
    ranges: [{ ...range, low: "0", high: "2" }, range],
    calibrated: "2026-02-01",
    "certificate.a": { number: "A", calibrated: "2026-02-01", due: "2027-02-01", range, points: [point("0")] },
  });
  const kept = (id: string, certificate: { [name: string]: Json }) =>
    withCertificate(id, certificate, calculate("certify", certifyOf(s, certificate)));
  const newer = kept("b", {
    number: "B",
    calibrated: "2026-03-01",
    due: "2027-03-01",
    by: "Hillside laboratory",
    accreditation: "L 1",
    file: "f1",
    range,
    points: [point("1")],
  });
  assert.deepEqual(
    newer.map((x) => x.field),
    ["certificate.b", "ranges", "certificate_no", "calibrated", "due"],
  );
  assert.deepEqual(newer[1]?.value, [
    { ...range, low: "0", high: "2" },
    { ...range, points: [point("1")] },
  ]);
  const older = kept("c", { number: "C", calibrated: "2025-03-01", due: "2026-03-01", range, points: [point("1")] });
  assert.deepEqual(
    older.map((x) => x.field),
    ["certificate.c"],
  );
});

const use = (run: string, known: Json, more: Partial<Use> = {}): Use => ({
  visit: `v${run}`,
  run,
  label: "as found",
  tag: "PI-1",
  description: "",
  started: "2026-01-01T08:00:00Z",
  status: "approved",
  verdict: "pass",
  standard: { id: "s", range: known, snapshot: { range: known, calibrated: "2025-06-01" } },
  years_since: "0.588",
  as: "standard" as const,
  sheet: { run },
  unread: "",
  ...more,
});

test("runs with the same knowledge of the standard are asked about together, in pieces", async () => {
  const other = { ...range, of_span_percent: "0.1" };
  const uses = [use("1", range), use("2", other), use("3", range), use("", range, { unread: "no", standard: null })];
  const ask = (name: "uses", doc: unknown) => Promise.resolve(calculate(name, doc));
  const { ofRange, pieces } = await piecesOf(uses, range, undefined, [point("0")], 2, ask as never);
  assert.deepEqual(ofRange, uses, "what is stated of it may differ; one that cannot be read may be of any");
  assert.deepEqual(
    pieces.map((p) => p.affected.map((a) => [a.id, a.sheet === uses[Number(a.id[0]) - 1]?.sheet])),
    [
      [
        ["1 standard", true],
        ["3 standard", true],
      ],
      [["2 standard", true]],
    ],
  );
  const twice = [use("1", range), use("1", range, { as: "barometer" })];
  const both = await piecesOf(twice, range, undefined, [point("0")], 2, ask as never);
  assert.deepEqual(
    both.pieces.flatMap((p) => p.affected.map((a) => [a.id, a.as])),
    twice.map((u) => [keyOf(u), u.as]),
    "a run that rests on one device as two things is judged for each",
  );
});

test("changed results come first, and a fault is reported", () => {
  const uses = new Map([use("1", range), use("2", range, { tag: "=1+1" }), use("3", range)].map((u) => [u.run, u]));
  const all = sorted(
    outcomesOf(
      {
        sheets: [
          {
            id: "1",
            before: { verdict: "pass", worst_fraction: 0.5, of_limit: "50" },
            after: { verdict: "pass", worst_fraction: 0.6, of_limit: "60" },
            changed: false,
            readings: [],
          },
          {
            id: "2",
            before: { verdict: "pass" },
            after: { verdict: "fail" },
            changed: true,
            readings: [{ step: "a" }],
          },
          { id: "3", error: { code: "range", field: "affected[2].sheet", message: "no" } },
          { id: "unknown", before: {}, after: {}, changed: true },
        ],
      },
      uses,
    ),
  );
  assert.deepEqual(
    all.map((o) => [o.use.run, o.changed, o.fault !== "", o.readings]),
    [
      ["2", true, false, 1],
      ["3", false, true, 0],
      ["1", false, false, 0],
    ],
  );
  assert.match(csvOf(all), /^tag,.*\r\n'=1\+1,.*,pass,fail,/);
});

test("what cannot be calculated is named without the program's own fields", () => {
  const fault = outcomesOf(
    { sheets: [{ id: "1", error: { field: "affected[0].sheet.captures", message: "is missing" } }] },
    new Map([["1", use("1", range)]]),
  );
  assert.equal(fault[0]?.fault, "is missing", "no names of the program's own fields");
});

test("no spreadsheet takes a text of a table for a formula", () => {
  const bad = [
    '=HYPERLINK("http://e/"&A1,"PI-1")',
    "@SUM(1,2)",
    "\t=1+1",
    "\r=1+1",
    "-1+1",
    "+1",
    "  =1+1",
    "|cmd",
    "%0A",
    "\uff1d1+1",
  ];
  const all = bad.map((tag, i) => notCalculated(use(String(i), range, { tag }), ""));
  const lines = csvOf(all).split("\r\n").slice(1, -1);
  assert.equal(lines.length, bad.length);
  for (const line of lines) assert.match(line, /^"?'/);
  const odd = notCalculated(use("9", range, { tag: "PI-1" }), 'no, "none"');
  assert.ok(
    csvOf([{ ...odd, before: { verdict: "pass", worst: -0.25, ofLimit: "25" } }]).includes(",-0.25,"),
    "a number stays a number",
  );
});

const ready: { [name: string]: Json } = {
  kind: "gauge",
  points: { percents: ["0", "50", "100"] },
  series: [
    { direction: "up" },
    { direction: "down" },
    { direction: "up", remount: true, exercise: 1, percents: ["0", "50"] },
  ],
  exercise: 3,
  hold_s: 30,
  tap: false,
  way: "applied-set",
  decision: { k: "2", rule: "guarded", guard_factor: "0.7", needed_ratio: "3" },
  reference_temperature_c: "20",
};

test("a method goes through the form unchanged, including what the form does not know", () => {
  assert.deepEqual(definitionOf(formOf(ready)), { definition: ready });
});

test("any count and waits go through the form", () => {
  const seconds = fc.integer({ min: 1, max: 3600 });
  fc.assert(
    fc.property(
      fc.integer({ min: 2, max: 50 }),
      fc.integer({ min: 1, max: 10 }),
      fc.boolean(),
      seconds,
      (count, cycles, tap, hold_s) => {
        const d: Json = {
          kind: "gauge",
          points: { count },
          directions: "up-down",
          cycles,
          exercise: 0,
          hold_s,
          tap,
          way: "pointer-set",
          decision: { rule: "simple" },
        };
        assert.deepEqual(definitionOf(formOf(d)), { definition: d });
      },
    ),
  );
});

test("an unreadable method is refused at its field", () => {
  for (const [change, field] of [
    [{ by: "count", count: "five" }, "count"],
    [{ by: "values", values: "" }, "values"],
    [{ percents: "0 fifty" }, "percents"],
    [{ exercise: "1.5" }, "exercise"],
    [{ guard_factor: "much" }, "guard_factor"],
    [{ series: [] }, "series 0"],
  ] as const) {
    const read = definitionOf({ ...formOf(ready), ...(change as object) });
    assert.equal("field" in read ? read.field : "", field);
  }
  assert.equal(wrongOf("method.points.count", "x").field, "count");
  assert.equal(wrongOf("method.decision.needed_ratio", "x").field, "needed_ratio");
  assert.deepEqual(wrongOf("method.series[2].percents", "no"), {
    field: "percents 2",
    error: "Only these per cents in M3: no",
  });
});

test("the rule is asked up to a multiple of the limit and replies in ranges", async () => {
  const asked = askOf(formOf(ready), 4, 1.6);
  assert.deepEqual(asked, {
    value: "0",
    until: "1.6",
    low: "-1",
    high: "1",
    u: "0.125",
    k: "2",
    rule: "guarded",
    guard_factor: "0.7",
  });
  const { stretches = [], course } = calculate("conformity", asked);
  const border = stretches[0]?.to ?? 0;
  assert.deepEqual(
    stretches.map((s) => s.verdict),
    ["pass", "fail"],
  );
  assert.ok(Math.abs(border - 0.825) < 1e-9, `1 - 0.7 * 0.25, not ${border}`); // calculated by hand
  assert.equal(course?.at(-1)?.value, 1.6);
});

test("the office's paths to standards and methods", () => {
  assert.deepEqual(placeOf("/office/standards"), { kind: "standards", id: undefined, part: undefined });
  assert.deepEqual(placeOf("/office/standard/x/reverse"), { kind: "standards", id: "x", part: "reverse" });
  assert.deepEqual(placeOf("/office/method/x"), { kind: "methods", id: "x" });
  for (const path of ["/office/standard", "/office/standard/x/else", "/office/method/x/reverse", "/office/methods/x"])
    assert.deepEqual(placeOf(path), { kind: "missing" }, path);
});
