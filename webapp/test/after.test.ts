import assert from "node:assert/strict";
import { test } from "node:test";
import { bypassesOf } from "../src/records/after";
import { type Stage, stageOf } from "../src/records/run";
import { labelOf } from "../src/views/after-facts";
import type { Json, RecordState } from "../src/wire/records";
import { ruled } from "./module";

let clock = 0;
function made(kind: string, fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id: `r${clock}`, kind, site: "", parent: "", fields: {} };
  for (const [name, value] of Object.entries(fields)) {
    const stamp = String(++clock).padStart(9, "0");
    state.fields[name] = {
      heads: [{ change: `c${clock}`, value, author: "u", device: "d", wall: "", stamp }],
      replaced: [],
    };
  }
  return state;
}

/** stage gives the stage of a visit by the module's rules. */
function stage(visit: RecordState, runs: RecordState[]): Stage {
  ruled(visit, runs);
  return stageOf(visit, runs);
}

const begun = { cautions: {}, identity: {}, condition: {}, standard: {}, surroundings: {} };

test("bypasses are asked for once, before the first step of a plan that has them", () => {
  const run = made("run", { label: "as found", plan: { steps: [], bypasses: true } });
  assert.equal(stage(made("visit", begun), [run]).kind, "bypasses");
  assert.equal(stage(made("visit", { ...begun, bypasses: { none: true } }), [run]).kind, "run");
  assert.equal(stage(made("visit", begun), [made("run", { label: "as found", plan: { steps: [] } })]).kind, "run");
});

test("a visit after a failure begins with what was done since, and as left", () => {
  const since = { ...begun, since: { visit: "v" } };
  assert.equal(stage(made("visit", since), []).kind, "since");
  assert.deepEqual(stage(made("visit", { ...since, adjusted: { done: true, note: "spring" } }), []), {
    kind: "begin",
    label: "as left",
  });
});

test("an instrument that cannot be tested ends the visit at once, before any caution is ticked", () => {
  assert.equal(stage(made("visit", {}), []).kind, "cautions");
  assert.equal(
    stage(made("visit", { not_tested: { why: "today", cause: "access", reason: "no ladder" } }), []).kind,
    "finish",
  );
  assert.equal(
    stage(made("visit", { not_tested: { why: "today", cause: "access", reason: "no ladder" }, signature: {} }), [])
      .kind,
    "done",
  );
});

test("bypasses are listed by name, those without one not at all", () => {
  const v = made("visit", {
    "bypass.b": { name: "key 3", state: "set" },
    "bypass.a": { name: "inhibit 7", state: "left", reason: "x" },
    "bypass.c": {},
  });
  assert.deepEqual(
    bypassesOf(v).map((b) => [b.name, b.state, b.reason]),
    [
      ["inhibit 7", "left", "x"],
      ["key 3", "set", ""],
    ],
  );
});

test("a label shows typed text as text, not as markup", () => {
  const svg = labelOf({ head: "OUT", sub: "", tag: "<PI&1>", rest: ['a "b"'] }, undefined);
  assert.ok(svg.includes("&lt;PI&amp;1&gt;") && svg.includes("a &quot;b&quot;") && !svg.includes("<PI"));
});
