import assert from "node:assert/strict";
import { test } from "node:test";
import {
  changed,
  definitionOf,
  type Doc,
  emptyFacts,
  factsOf,
  fileOf,
  keptOf,
  listAt,
  moved,
  readFile,
  rulesOf,
  unitOf,
  withCopy,
  withMore,
  without,
  withStep,
} from "../src/records/programme";
import { needsOf } from "../src/views/plan-preview";
import { courseOf, recordOf } from "../src/views/steps";
import { screenDone, screensOf, stepsOf } from "../src/records/run";
import type { Json, RecordState } from "../src/wire/records";
import { calculate, known } from "./module";

const steps: Doc[] = [
  { do: "unit", unit: "bar", mode: "gauge" },
  { do: "set", target: "1" },
  { do: "if", when: "a > 1", steps: [{ do: "vent" }, { do: "note", text: "x" }], else: [{ do: "stop", text: "y" }] },
  { do: "vent" },
];

test("steps are moved, duplicated, deleted and added in place, also within blocks", () => {
  const names = (list: Doc[]) => list.map((s) => s["do"]).join(" ");
  assert.equal(names(moved(steps, [1], 1)), "unit if set vent");
  assert.equal(names(moved(steps, [1], -1)), "unit set if vent", "nothing goes before the unit");
  assert.equal(names(moved(steps, [3], 1)), "unit set if vent", "nor beyond the end");
  assert.equal(names(listAt(moved(steps, [2, 0, 1], -1), [2, 0, 0])), "note vent");
  assert.equal(names(listAt(withCopy(steps, [2, 0, 0]), [2, 0, 0])), "vent vent note");
  assert.equal(names(without(steps, [1])), "unit if vent");
  assert.equal("else" in (without(steps, [2, 1, 0])[2] ?? {}), false, "an empty other part is none");
  assert.equal(names(withMore(steps, [-1], { do: "hold" })), "hold unit set if vent");
  assert.equal(names(listAt(withMore(steps, [2, 1, 0], { do: "hold" }), [2, 1, 0])), "stop hold");
  assert.deepEqual(withStep(steps, [1], { do: "set", target: "2" })[1], { do: "set", target: "2" });
  assert.equal(JSON.stringify(changed(steps, [2, 0, 0], (l) => l)), JSON.stringify(steps));
  assert.equal(names(steps), "unit set if vent", "the steps given stay as they were");
});

test("a programme goes into a file and comes back, and foreign files do not", () => {
  const draft = {
    name: "A",
    text: "unit bar gauge\nvent\n",
    rules: [{ name: "p1", low: "1,5", high: "", unit: "", when: "", text: "" }],
  };
  const read = readFile(fileOf(draft));
  assert.deepEqual(read, {
    name: "A",
    definition: { kind: "programme", text: draft.text, rules: [{ name: "p1", low: "1.5" }] },
  });
  assert.equal(rulesOf(definitionOf(draft))[0]?.low, "1.5");
  for (const bad of [
    "",
    "{",
    "[]",
    "null",
    '{"gaugewright":"programme"}',
    '{"gaugewright":"programme","definition":{"kind":"gauge","text":"vent"}}',
    '{"definition":{"kind":"programme","text":"vent"}}',
  ])
    assert.equal(readFile(bad), undefined, bad);
});

test("unit and limits are read as typed", () => {
  assert.deepEqual(unitOf("# x\n\n unit kPa absolute # y\nset 5"), { unit: "kPa", mode: "absolute" });
  assert.deepEqual(unitOf("set 5"), { unit: "", mode: "" });
  assert.deepEqual(factsOf({ ...emptyFacts, high: "10", standardHigh: "5", maxRate: "0,5" }), {
    instrument: { low: "0", high: "10", max_rate: "0.5" },
    standard: { low: "0", high: "5", max_rate: "0.5" },
  });
  assert.deepEqual(factsOf({ ...emptyFacts, low: "0", standardHigh: "x" }), {});
  const instrument = {
    low: "0",
    high: "10",
    unit: "bar",
    mode: "gauge",
    particulars: { max_rate: "1", weakest: { high: "8", part: "hose" }, relief: "7" },
  };
  const { low, high, unit, mode, particulars } = instrument;
  const facts = calculate("item", { fields: { range: { low, high, unit, mode }, particulars } }).bears;
  const chosen = { name: "PI", facts };
  const own = { unit: "bar", mode: "gauge" };
  assert.deepEqual(factsOf({ ...emptyFacts, high: "3", instrument: chosen }), {
    instrument: { low: "0", high: "10", ...own, max_rate: "1" },
    weakest: { pressure: "8", part: "hose", ...own },
    relief: { pressure: "7", ...own },
  });
  assert.deepEqual(factsOf({ ...emptyFacts, instrument: chosen, weakest: "5", relief: "4" })["weakest"], {
    pressure: "5",
    part: "the weakest part",
  });
});

function record(kind: string, fields: { [name: string]: Json[] }): RecordState {
  const state: RecordState = { id: "r", kind, site: "", parent: "", fields: {} };
  let n = 0;
  for (const [name, all] of Object.entries(fields)) {
    const heads = all.map((value) => ({
      change: `c${++n}`,
      value,
      author: "u",
      device: "d",
      wall: "2026-01-01T00:00:00Z",
      stamp: String(n).padStart(12, "0"),
    }));
    state.fields[name] = { heads, replaced: [] };
  }
  return state;
}

test("a method is a published programme, a draft, or of another kind", () => {
  const definition = { kind: "programme", text: "vent" };
  assert.equal(keptOf(record("method", { name: ["G"], definition: [{ kind: "gauge" }] })), undefined);
  const published = keptOf(
    record("method", { name: ["P"], definition: [definition], version: [3], "draft.a": [null] }),
  );
  assert.equal(published?.version, 3);
  assert.deepEqual(published?.drafts, []);
  const drafted = keptOf(record("method", { "draft.a": [{ name: "D", definition, at: "x" }] }));
  assert.deepEqual([drafted?.version, drafted?.name, drafted?.drafts[0]?.user], [0, "D", "a"]);
});

test("the input about a run is all of its record and nothing else; a correction keeps the time of what it corrects", () => {
  const run = record("run", {
    "capture.a": [{ step: "l2.1", of: "indicated", value: "5", unit: "bar", at: "2026-01-01T00:00:00Z" }],
    "capture.b": [
      {
        step: "l2.1",
        of: "indicated",
        value: "5.1",
        unit: "bar",
        at: "2026-01-01T01:00:00Z",
        supersedes: "a",
        reason: "x",
      },
    ],
    "done.l1.1": [{ at: "2026-01-01T00:00:00Z" }],
    "done.l1.1.begun": [{ at: "2025-12-31T23:59:00Z" }],
  });
  assert.deepEqual(recordOf({ kind: "programme", text: "vent" }, { high: "", unit: "bar", mode: "" }, known(run)), {
    programme: "vent",
    unit: "bar",
    captures: [
      {
        step: "l2.1",
        of: "indicated",
        value: "5.1",
        unit: "bar",
        at: "2026-01-01T01:00:00Z",
        first_at: "2026-01-01T00:00:00Z",
      },
    ],
    done: [
      { step: "l1.1", at: "2026-01-01T00:00:00Z" },
      { step: "l1.1.begun", at: "2025-12-31T23:59:00Z" },
    ],
  });
});

test("a wait at the end of a screen must pass; a settling decided by its values is over", () => {
  const plan = {
    steps: [
      { id: "a", do: "set", screen: 1 },
      { id: "b", do: "hold", screen: 1, seconds: 5 },
      { id: "c", do: "settle", screen: 2, over: true },
    ],
  };
  const [first = [], second = []] = screensOf(stepsOf(plan));
  const set = record("run", { "done.a": [{ at: "2026-01-01T00:00:00Z" }] });
  assert.equal(screenDone(set, [], first), false);
  assert.equal(screenDone(record("run", { "done.a": [{ at: "x" }], "done.b": [{ at: "y" }] }), [], first), true);
  assert.equal(screenDone(set, [], second), true);
});

test("the reply of the calculation becomes a course with its reasons in words", () => {
  const c = courseOf({
    calc: "1",
    steps: [{ id: "l1.1", do: "vent", screen: 1, line: 1, done: true }],
    branches: [{ line: 1, step: "l1.1", reason: "a = 1 is not above 2", taken: "again" }],
    flags: [{ code: "short", step: "l1.1", message: "m" }],
    current: [],
    finished: false,
    ended: true,
  });
  assert.equal(c.steps.length, 1);
  assert.deepEqual([c.reasons, c.flags, c.ended], [["a = 1 is not above 2: once more"], ["m"], true]);
});

test("a plan tells what it needs", () => {
  const steps = stepsOf({
    steps: [
      { id: "a", do: "set", target: "-0.5", unit: "bar" },
      { id: "b", do: "set", target: "6", unit: "bar" },
      { id: "c", do: "ramp", target: "9", unit: "bar", until: "drop" },
      { id: "d", do: "read", of: "indicated", unit: "bar", many: true },
      { id: "e", do: "ask", as: "photo", text: "The label" },
      { id: "f", do: "read", of: "indicated", unit: "°C" },
    ],
  });
  assert.deepEqual(needsOf(steps, "gauge"), [
    "a pressure source for 9\u00a0bar",
    "a vacuum source for \u22120.5\u00a0bar",
    "a standard",
    "a thermometer",
    "a camera",
    "a logger, or time to type many values",
    "a burst shield",
  ]);
  assert.deepEqual(needsOf(stepsOf({ steps: [{ id: "v", do: "vent" }] }), "gauge"), []);
  assert.ok(!needsOf(steps, "absolute").some((n) => n.includes("vacuum")));
});
