import assert from "node:assert/strict";
import { test } from "node:test";
import { courseOf, kinOf, pastOf } from "../src/screens/instrument/outlook-data";
import { budgetsOf, expandedOf, showExact, showShare, showSmall, showTo } from "../src/records/budget";
import { gravityOf, readGravity } from "../src/records/gravity";
import type { Json, RecordState } from "../src/wire/records";
import { calculate } from "./module";

// A finding of calculation evaluate, shortened: 0 to 10 bar, standard 1.5 m above with water
// between, two points of the standard's certificate.
const finding: { [name: string]: Json } = {
  readings: [
    {
      step: "a",
      point: "5",
      applied: 5.14474291577,
      indicated: 5.05,
      typed: { applied: "5 bar", indicated: "5.05 bar" },
    },
    {
      step: "b",
      point: "5",
      applied: 5.14474291577,
      indicated: 5.1,
      typed: { applied: "5 bar", indicated: "5.10 bar" },
    },
    { step: "c", point: "10", applied: 10, indicated: 10 },
  ],
  points: [
    {
      point: 5,
      typed: 5,
      u: 0.0155,
      k: 2,
      expanded: 0.031,
      ratio: 3.2,
      risk: 0.01,
      budget: [
        { term: "std", value: 0.0105, contribution: 0.00525, share: 0.115 },
        { term: "res", value: 0.05, contribution: 0.0144, share: 0.866, divisor: 3.4641, shape: "rectangular" },
      ],
    },
    { point: 10, u: 0, k: 2, expanded: 0 },
  ],
  gauge: {
    head_correction_pa: 14649.2915770335,
    terms: [{ term: "std", shape: "normal", divisor: 2, from: "standard.ranges[0]" }],
  },
};

test("a budget's lines are complete and the largest share comes first", () => {
  const [p, ...more] = budgetsOf(finding);
  assert.equal(more.length, 0, "a point without an uncertainty has no budget");
  assert.deepEqual(
    p?.lines.map((l) => [l.term, l.shape, l.divisor, l.sensitivity, l.from]),
    [
      ["res", "rectangular", 3.4641, 1, ""],
      ["std", "normal", 2, 1, "standard.ranges[0]"],
    ],
  );
  assert.deepEqual([...expandedOf(finding)], [[5, 0.031]]);
  assert.deepEqual(budgetsOf({}), []);
});

test("numbers are written with their significant digits", () => {
  assert.equal(showSmall(0.03101), "0.031");
  assert.equal(showSmall(3.84), "3.8");
  assert.equal(showSmall(4), "4.0");
  assert.equal(showSmall(123.4), "120");
  assert.equal(showSmall(0), "0");
  assert.equal(showTo(9.996, 3), "10.0");
  assert.equal(showExact(998.2034), "998.2034");
  assert.equal(showExact(0.146474086837), "0.146474");
  assert.equal(showShare(0.5), "50 %");
  assert.equal(showShare(0.0228), "2.3 %");
  assert.equal(showShare(1e-9), "< 0.1 %");
  assert.equal(showShare(0.99999), "> 99.9 %");
  assert.equal(showShare(1), "100 %");
});

test("sizes are rounded as the module rounds uncertainties", () => {
  const sizes = [0.0105, 0.0995, 0.00996, 0.96, 0.996, 1.05, 3.84, 12, 99.4, 123.4, 995, 0.000123];
  const { results } = calculate("figures", { results: sizes.map((expanded) => ({ value: 1, expanded })) });
  assert.deepEqual(
    sizes.map(showSmall),
    results.map((r) => r.expanded),
  );
});

function visit(started: string, points: Json, more: { [name: string]: Json } = {}): RecordState {
  const fields: { [name: string]: Json } = {
    instrument: "i",
    started,
    summary: { as_found: { verdict: "pass", worst_fraction: 0.5, points }, ...more },
    ...more,
  };
  return {
    id: started,
    kind: "visit",
    site: "",
    parent: "i",
    fields: Object.fromEntries(
      Object.entries(fields).map(([n, value]) => [
        n,
        { heads: [{ change: n, value, author: "", device: "", wall: "", stamp: "" }], replaced: [] },
      ]),
    ),
  };
}

test("past visits become a history: rising and falling on the mean, an adjustment with what it left", () => {
  const points: Json = [
    { point: "5", direction: "up", error: 0.02, limit: 0.1 },
    { point: "5", direction: "down", error: 0.04, limit: 0.1 },
    { point: "5.0", direction: "up", error: 0.03, limit: 0.08 },
    { point: "10", direction: "up", error: null, limit: null },
  ];
  const all = [
    visit("2025-03-01T08:00:00Z", points, {
      adjusted: { done: true, note: "" },
      as_left: { points: [{ point: "5", error: 0 }] },
    }),
    visit("2024-03-01T08:00:00Z", points, {
      adjusted: { done: false, note: "" },
      as_left: { points: [{ point: "5", error: 0 }] },
    }),
    visit("2023-03-01T08:00:00Z", []),
  ];
  const { history, found_fraction } = calculate("past", pastOf(all));
  assert.deepEqual(
    history.map((h) => [h.date, h.adjusted, h.left]),
    [
      ["2024-03-01", undefined, undefined],
      ["2025-03-01", true, [{ point: "5", error: 0 }]],
    ],
  );
  const found = history[0]?.errors[0];
  assert.ok(Math.abs((found?.error ?? 0) - 0.03) < 1e-15);
  assert.equal(found?.limit, 0.08);
  assert.equal(courseOf(history, 5).spots.length, 2);
  assert.equal(found_fraction, 0.5);
});

const parts = ({ passed, of, enough }: { passed: number; of: number; enough: boolean }) => [passed, of, enough];

test("only instruments of the same limit and interval are counted together", () => {
  const instrument = (id: string, cls: string): RecordState => ({
    ...visit(id, []),
    id,
    kind: "instrument",
    fields: { limit: field({ class: cls }), interval_months: field(12) },
  });
  const field = (value: Json) => ({
    heads: [{ change: "", value, author: "", device: "", wall: "", stamp: "" }],
    replaced: [],
  });
  const mine = instrument("i", "1");
  const visits = [
    visit("2024-01-01", []),
    visit("2025-01-01", []),
    { ...visit("2025-02-01", []), fields: { ...visit("x", []).fields, instrument: field("other") } },
  ];
  const counted = (...kin: RecordState[]) => calculate("kin", kinOf(mine, [mine, ...kin], visits));
  assert.deepEqual(parts(counted(instrument("other", "1.6"))), [2, 2, false]);
  assert.deepEqual(parts(counted(instrument("other", "1"))), [3, 3, false]);
});

test("a site states its gravity as a value, or by its position", () => {
  const site = (fields: { [name: string]: Json }): RecordState => ({
    id: "s",
    kind: "site",
    site: "",
    parent: "",
    fields: Object.fromEntries(
      Object.entries(fields).map(([n, value]) => [
        n,
        { heads: [{ change: n, value, author: "", device: "", wall: "", stamp: "" }], replaced: [] },
      ]),
    ),
  });
  assert.deepEqual(gravityOf(site({ gravity_m_s2: "9.8113", latitude_deg: "50" })), { gravity_m_s2: "9.8113" });
  assert.deepEqual(gravityOf(site({ latitude_deg: "50.3", height_m: "120" })), {
    latitude_deg: "50.3",
    height_m: "120",
  });
  assert.deepEqual(gravityOf(site({ gravity_m_s2: "", height_m: "120" })), {});
  assert.deepEqual(gravityOf(undefined), {});
  assert.deepEqual(readGravity({ gravity_m_s2: "9,81", latitude_deg: "" }), {
    values: { gravity_m_s2: "9.81", latitude_deg: "", height_m: "" },
  });
  for (const [typed, field] of [
    [{ gravity_m_s2: "98.1" }, "gravity_m_s2"],
    [{ latitude_deg: "north" }, "latitude_deg"],
    [{ height_m: "20000" }, "height_m"],
  ] as [{ [f: string]: string }, string][]) {
    const read = readGravity(typed);
    assert.equal("field" in read ? read.field : "", field);
  }
});
