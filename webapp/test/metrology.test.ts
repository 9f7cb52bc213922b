import assert from "node:assert/strict";
import { test } from "node:test";
import { budgetsOf, expandedOf, showNear, showShare, showSmall, showTo, sizesOf } from "../src/screens/visit/budget-data";
import { neededRatio, yearsBetween } from "../src/screens/visit/candidates";
import { standardDocument } from "../src/screens/visit/standard-document";
import type { Json } from "../src/wire/records";

// A finding of room evaluate, shortened: 0 to 10 bar, standard 1.5 m above with water between, two points of the standard's certificate.
const finding: { [name: string]: Json } = {
  readings: [
    { step: "a", point: "5", applied: 5.14474291577, indicated: 5.05, typed: { applied: "5 bar", indicated: "5.05 bar" } },
    { step: "b", point: "5", applied: 5.14474291577, indicated: 5.1, typed: { applied: "5 bar", indicated: "5.10 bar" } },
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
  gauge: { head_correction_pa: 14649.2915770335, terms: [{ term: "std", shape: "normal", divisor: 2, from: "standard.ranges[0]" }] },
};

test("a budget's lines are whole and the largest share comes first", () => {
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

test("a correction is split into its parts and stands once for each point", () => {
  const [m, ...more] = sizesOf(finding, 100_000);
  assert.equal(more.length, 0);
  assert.equal(m?.typed, "5 bar");
  assert.ok(Math.abs((m?.total ?? 0) - 0.14474291577) < 1e-12);
  assert.ok(Math.abs((m?.level ?? 0) - 0.146492915770335) < 1e-12);
  // 0.001 + 0.25 · 0.003 at 5 of 20 bar, taken off: worked by hand
  assert.ok(Math.abs((m?.certificate ?? 0) + 0.00175) < 1e-9);
});

test("numbers are written with the digits that count", () => {
  assert.equal(showSmall(0.03101), "0.031");
  assert.equal(showSmall(3.84), "3.8");
  assert.equal(showSmall(4), "4.0");
  assert.equal(showSmall(123.4), "120");
  assert.equal(showSmall(0), "0");
  assert.equal(showTo(9.996, 3), "10.0");
  assert.equal(showNear(-0.146474086837, 0.011), "\u22120.1465");
  assert.equal(showNear(0.05, 0.0105), "0.05", "no digit is made up");
  assert.equal(showNear(-0.00004, 0.011), "0.0000");
  assert.equal(showNear(0.146474086837, undefined), "0.146474");
  assert.equal(showShare(0.5), "50 %");
  assert.equal(showShare(0.0228), "2.3 %");
  assert.equal(showShare(1e-9), "< 0.1 %");
  assert.equal(showShare(0.99999), "> 99.9 %");
  assert.equal(showShare(1), "100 %");
});

test("a method may ask for its own ratio; four is usual", () => {
  assert.equal(neededRatio({}), 4);
  assert.equal(neededRatio({ decision: { rule: "simple", needed_ratio: "3" } }), 3);
  assert.equal(neededRatio({ decision: { needed_ratio: "0" } }), 4);
});

test("years since a calibration, none where time runs backwards", () => {
  assert.equal(yearsBetween("2025-01-01", "2026-01-01"), "0.999");
  assert.equal(yearsBetween("2026-01-01", "2025-01-01"), undefined);
  assert.equal(yearsBetween("", "2025-01-01"), undefined);
});

test("a standard goes into a calculation with its certificate and its drift, one without a specification not at all", () => {
  const points: Json = [{ applied: "0", error: "0.01", expanded: "0.004", k: "2" }];
  assert.deepEqual(standardDocument({ low: "0", high: "20", unit: "bar", absolute: "0.01", k: "2", points, drift_per_year: "0.001", years_since: "0.5" }), {
    ranges: [{ low: "0", high: "20", absolute: "0.01", k: "2" }],
    certificate: { points },
    drift_per_year: "0.001",
    years_since: "0.5",
  });
  assert.equal(standardDocument({ low: "0", high: "20", unit: "bar", k: "2", points }), undefined);
});
