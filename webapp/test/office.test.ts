import assert from "node:assert/strict";
import { test } from "node:test";
import { fieldName, lines, moveDay, placeOf, showValue, typedOf } from "../src/records/office";
import type { Json, RecordState } from "../src/wire/records";

function run(captures: { [id: string]: { [name: string]: Json } }): RecordState {
  const state: RecordState = { id: "r", kind: "run", site: "", parent: "v", fields: {} };
  for (const [id, value] of Object.entries(captures))
    state.fields[`capture.${id}`] = {
      heads: [{ change: id, value, author: `by ${id}`, device: "d", wall: "", stamp: id }],
      replaced: [],
    };
  return state;
}

test("what was corrected stays in the list, with the reason of its correction", () => {
  const typed = typedOf(
    run({
      a: { step: "s", of: "indicated", value: "2.50", unit: "bar", at: "t" },
      b: { step: "s", of: "indicated", value: "2.60", unit: "bar", at: "t", supersedes: "a", reason: "mistyped" },
      c: { step: "s2", of: "indicated", value: "5.0", unit: "bar", at: "t" },
    }),
  );
  assert.deepEqual(
    typed.map((c) => [c.id, c.value, c.by, c.replacedBy, c.corrects, c.reason]),
    [
      ["a", "2.50", "by a", "b", "", "mistyped"],
      ["b", "2.60", "by b", "", "a", "mistyped"],
      ["c", "5.0", "by c", "", "", ""],
    ],
  );
});

test("the day before and after, across months and summer time", () => {
  for (const [from, by, want] of [
    ["2026-03-01", -1, "2026-02-28"],
    ["2024-02-28", 1, "2024-02-29"],
    ["2026-12-31", 1, "2027-01-01"],
    ["2026-03-29", 1, "2026-03-30"],
  ] as [string, number, string][])
    assert.equal(moveDay(from, by), want);
});

test("a path of the office leads to one screen or none", () => {
  for (const [path, want] of [
    ["/office", { kind: "day", date: undefined }],
    ["/office/day/2026-03-04", { kind: "day", date: "2026-03-04" }],
    ["/office/day/2026-13-04", { kind: "missing" }],
    ["/office/day/soon", { kind: "missing" }],
    ["/office/visit/abc", { kind: "visit", id: "abc" }],
    ["/office/visit", { kind: "missing" }],
    ["/office/history/abc/def", { kind: "missing" }],
    ["/office/register", { kind: "register" }],
    ["/office/register/x", { kind: "missing" }],
    ["/office/elsewhere", { kind: "missing" }],
  ] as [string, object][])
    assert.deepEqual(placeOf(path), want, path);
});

test("a value is written in one line that is not too long", () => {
  assert.equal(
    showValue({ low: "0", range: { unit: "bar" }, list: ["a", "b"] }),
    "low end 0, range (unit bar), list a, b",
  );
  assert.equal(showValue(null), "–");
  assert.equal(showValue("2.50"), "2.50");
  assert.equal(showValue("x".repeat(200), 20).length, 20);
});

test("empty lines of an address are dropped", () => {
  assert.deepEqual(lines(" 1 Dock Road \n\n Harbour\n"), ["1 Dock Road", "Harbour"]);
});

test("a field is named in words, without its random part", () => {
  assert.equal(fieldName("run", "capture.r0bhf8rca3"), "a reading");
  assert.equal(fieldName("run", "done.s1.up.2"), "a step done s1.up.2");
  assert.equal(fieldName("instrument", "interval_months"), "the interval");
});
