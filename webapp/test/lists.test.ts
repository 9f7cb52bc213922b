// How lists and signs show instruments, cautions and values.
import assert from "node:assert/strict";
import { test } from "node:test";
import { isFailed } from "../src/parts/mark";
import { plainly } from "../src/records/units";
import { isOverdue, type Json, type RecordState, signOf } from "../src/wire/records";
import { cautionWords } from "../src/words/cautions";
import { words } from "../src/words/words";

function instrument(fields: { [name: string]: Json }): RecordState {
  const head = (value: Json) => ({ change: "", value, author: "", device: "", wall: "", stamp: "" });
  const kept = Object.entries(fields).map(([name, v]) => [name, { heads: [head(v)], replaced: [] }]);
  return { id: "i", kind: "instrument", site: "", parent: "", fields: Object.fromEntries(kept) };
}

test("lists show what is overdue, what failed and an instrument's sign by the same rules", () => {
  assert.ok(isOverdue("2026-03-01", "2026-03-02"));
  assert.ok(!isOverdue("2026-03-02T10:00:00.000Z", "2026-03-02"), "not on the day itself");
  assert.ok(!isOverdue("", "2026-03-02") && !isOverdue("2026-03-01", "2026-03-02", false));
  assert.deepEqual(["fail", "conditional-fail", "pass", "conditional-pass", "", undefined].filter(isFailed).length, 2);
  assert.equal(signOf(instrument({ kind: "gauge", output: { unit: "mA" } })), "transmitter");
  assert.equal(signOf(instrument({ kind: "leak" })), "leak");
});

test("the round has a sign for each caution about something that can hurt by itself", () => {
  const acts = ["lock_out", "stand_aside", "vent", "vacuum"]; // actions, not conditions
  const signed = Object.keys(cautionWords.codes).filter((c) => !acts.includes(c));
  assert.deepEqual(signed.sort(), Object.keys(words.round.hazards).sort());
});

test("a value shown in another unit has six digits and no exponent", () => {
  for (const [x, want] of [
    [4.998724359, "4.99872"],
    [1.23456789e-7, "0.000000123457"],
    [72, "72"],
  ] as [number, string][])
    assert.equal(plainly(x, 6), want);
});
