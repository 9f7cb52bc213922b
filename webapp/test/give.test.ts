import assert from "node:assert/strict";
import { test } from "node:test";
import { CalcError, type call } from "../src/calc/calc";
import { fittingAsked, lookAt, named } from "../src/records/give";
import type { Json, RecordState } from "../src/wire/records";
import { calculate } from "./module";

function made(id: string, kind: string, fields: { [name: string]: Json }): RecordState {
  const state: RecordState = { id, kind, site: "s", parent: "", fields: {} };
  for (const [name, value] of Object.entries(fields))
    state.fields[name] = { heads: [{ change: "c", value, author: "", device: "", wall: "", stamp: "" }], replaced: [] };
  return state;
}

const method = (id: string, name: string, kind: string, more: { [name: string]: Json } = {}) =>
  made(id, "method", { name, definition: { kind }, ...more });

test("methods are offered by the kind of work, by name; drafts and withdrawn ones are not", () => {
  const all = [
    method("b", "Six points", "gauge"),
    method("a", "Five points", "gauge"),
    method("p", "Own programme", "programme"),
    method("l", "Leak", "leak"),
    method("w", "Old", "gauge", { status: "withdrawn" }),
    made("d", "method", { name: "Draft", "draft.x": { name: "Draft" } }),
  ];
  const names = (kinds: string[]) =>
    named(all, calculate("fitting", fittingAsked(all, kinds)).methods).map((m) => m.id);
  assert.deepEqual(names(["gauge"]), ["a", "p", "b"]);
  assert.deepEqual(names(["leak"]), ["l", "p"]);
  assert.deepEqual(names(["gauge", "leak"]), ["a", "l", "p", "b"]);
  assert.deepEqual(names([""]), ["a", "l", "p", "b"], "an instrument of no kind is offered all");
});

const ask = ((name: "fitting", doc: unknown) => Promise.resolve(calculate(name, doc))) as typeof call;

test("each instrument is checked: takes the method, has it, is refused with the reason, is absent, is of another kind", async () => {
  const instruments = [
    made("i1", "instrument", { tag: "PI-1", kind: "gauge", method: "old" }),
    made("i2", "instrument", { tag: "PI-2", kind: "gauge", method: "m" }),
    made("i3", "instrument", { tag: "PI-3", kind: "gauge", limit: "bad" }),
    made("i4", "instrument", { tag: "LK-4", kind: "leak" }),
    made("i5", "instrument", { tag: "PI-5" }),
  ];
  const told: number[] = [];
  const found = await lookAt(
    method("m", "Six points", "gauge"),
    ["i1", "i2", "i3", "i4", "i5", "gone00000"],
    async (id) => instruments.find((i) => i.id === id),
    (n) => told.push(n),
    async (_, it) => {
      if (it.fields["limit"]) throw new CalcError("missing", "instrument.limit.rule", "this field is missing");
    },
    ask,
  );
  assert.deepEqual(
    found.take.map((i) => i.id),
    ["i1", "i5"],
  );
  assert.equal(found.have, 1);
  assert.deepEqual(
    found.refused.map((r) => `${r.tag}: ${r.why}`),
    [
      "PI-3: instrument.limit.rule: this field is missing",
      "LK-4: it is of the kind leak, the method is for gauge",
      "gone00: it is not on this device",
    ],
  );
  assert.deepEqual(told, [0, 1, 2, 3, 4, 5]);
  await assert.rejects(
    lookAt(
      method("m", "Six points", "gauge"),
      ["i1"],
      async () => instruments[0],
      () => undefined,
      async () => {
        throw new Error("the worker is gone");
      },
      ask,
    ),
    /worker/,
  );
});
