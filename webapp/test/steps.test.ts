import assert from "node:assert/strict";
import { test } from "node:test";
import { allowed, shown } from "../src/records/figures";
import { due } from "../src/screens/visit/many";
import { locked } from "../src/screens/visit/begin";
import { asksOf, resumeAt as resumeKnown, screensOf, stageOf as stageKnown, stepsOf } from "../src/records/run";
import type { Json, RecordState } from "../src/wire/records";
import { effectiveOf as effective, known, ruled } from "./module";

const resumeAt = (run: RecordState, on: typeof screens) => resumeKnown(known(run), on);
function stageOf(visit: RecordState, runs: RecordState[]) {
  ruled(visit, runs);
  return stageKnown(visit, runs);
}

let clock = 0;
function made(kind: string, fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id: `r${clock}`, kind, site: "s", parent: "v", fields: {} };
  for (const [name, value] of Object.entries(fields)) write(state, name, value);
  return state;
}
function write(state: RecordState, name: string, value: Json): void {
  const stamp = String(++clock).padStart(12, "0");
  state.fields[name] = {
    heads: [{ change: `c${clock}`, value, author: "u", device: "d", wall: "", stamp }],
    replaced: [],
  };
}

const plan: Json = {
  steps: [
    { id: "ask", do: "ask", screen: 1, as: "yes", text: "Is the shield in place?" },
    { id: "settle", do: "settle", screen: 2, within: "0.2", unit: "bar", seconds: 10, at_most_s: 120 },
    { id: "p", do: "read", screen: 3, of: "pressure", unit: "bar", many: true, every_s: 60, seconds: 600 },
    { id: "t", do: "read", screen: 4, of: "temperature", unit: "degC", optional: true },
    { id: "v", do: "vent", screen: 5 },
  ],
};
const screens = screensOf(stepsOf(plan));

test("questions, settling and lists of values come in the plan's order", () => {
  const run = made("run", { label: "as found", plan });
  const at = () => resumeAt(run, screens);
  assert.equal(at(), 0);
  write(run, "capture.a", { step: "ask", of: "answer", value: "yes", unit: "", at: "2026-01-01T08:00:00Z" });
  assert.equal(at(), 1);
  write(run, "capture.b", { step: "settle", of: "settle", value: "3.1", unit: "bar", at: "2026-01-01T08:01:00Z" });
  assert.equal(at(), 1, "a value does not end a settling");
  write(run, "done.settle", { at: "2026-01-01T08:02:00Z" });
  assert.equal(at(), 2);
  write(run, "capture.c", { step: "p", of: "pressure", value: "3.0", unit: "bar", at: "2026-01-01T08:03:00Z" });
  write(run, "capture.d", { step: "p", of: "pressure", value: "2.9", unit: "bar", at: "2026-01-01T08:04:00Z" });
  assert.equal(at(), 2, "nor do two end a list");
  assert.equal(effective(run).filter((e) => e.step === "p").length, 2, "both stand");
  write(run, "done.p", { at: "2026-01-01T08:13:00Z" });
  assert.equal(at(), 3);
  write(run, "done.t", { at: "2026-01-01T08:13:10Z" });
  assert.equal(at(), 4, "an optional value that was passed over is not missing");
  assert.deepEqual(
    asksOf(screens[2] ?? [], true).length + asksOf(screens[1] ?? [], true).length,
    0,
    "what takes many values is no single question",
  );
});

test("work on an instrument that cannot be adjusted ends after its run", () => {
  const visit = made("visit", {
    cautions: {},
    identity: {},
    condition: {},
    standard: {},
    surroundings: {},
    method: { definition: { kind: "leak" } },
  });
  const run = made("run", { label: "as found", closed: { at: "" } });
  assert.equal(stageOf(visit, [run]).kind, "finish");
  const gauge = made("visit", {
    cautions: {},
    identity: {},
    condition: {},
    standard: {},
    surroundings: {},
    method: { definition: { kind: "gauge" } },
  });
  assert.equal(stageOf(gauge, [run]).kind, "adjusted");
});

test("the next value is due by the wall clock", () => {
  const first = Date.parse("2026-01-01T08:00:00Z");
  assert.equal(due(first, 1, 60, first), 60);
  assert.equal(due(first, 1, 60, first + 59_001), 1);
  assert.equal(due(first, 1, 60, first + 61_000), 0, "overdue is now");
  assert.equal(due(first, 3, 60, first + 121_000), 59);
});

test("results are written with six figures, and their limits on the sides they have", () => {
  assert.equal(shown(0.1234567), "0.123457");
  assert.equal(shown(-12.5), "\u221212.5");
  assert.equal(shown(1.5e-7), "1.5\u00a0\u00d7\u00a010\u207b\u2077");
  assert.equal(shown(0), "0");
  assert.equal(allowed(undefined, 2), "\u2264 2");
  assert.equal(allowed(1, undefined), "\u2265 1");
  assert.equal(allowed(-3, 3), "\u00b1 3");
  assert.equal(allowed(undefined, undefined), "");
});

test("what may be found once only, as calculation expand says of a safety function's plan, is not offered again", () => {
  assert.equal(locked(made("run", { label: "as found", plan: { steps: [], as_found_once: true } })), true);
  assert.equal(locked(made("run", { label: "as found", plan })), false);
});
