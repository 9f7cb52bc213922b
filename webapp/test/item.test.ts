import assert from "node:assert/strict";
import { cautionWords } from "../src/words/cautions";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { CalcError } from "../src/calc/calc";
import { type Doc, documentOf, names, opened, ticked, type Typed } from "../src/forms/form";
import { alike } from "../src/wire/alike";
import {
  asked,
  beyond,
  changesOf,
  factsAsked,
  refusedFact,
  settled,
  taken,
  untrue,
  usualItem,
} from "../src/forms/item";
import { calculate } from "./module";
import { itemForm } from "../src/words/item-form";
import type { Json, RecordState } from "../src/wire/records";

type Schema = { [name: string]: unknown };
const part = (s: Schema | undefined, name: string): Schema =>
  (s?.["properties"] as { [name: string]: Schema } | undefined)?.[name] ?? {};

test("the facts of an instrument have every field that the calculation takes of a gauge", () => {
  const gauge = part(
    JSON.parse(readFileSync("calc/schema/calculations/expand.json", "utf8"))["$defs"]["gauge"] as Schema,
    "instrument",
  );
  const known = names(itemForm);
  const wanted = Object.keys((gauge["properties"] ?? {}) as Schema).flatMap((name) => {
    if (["low", "high", "unit", "mode"].includes(name)) return [`range.${name}`];
    const s = part(gauge, name);
    const forms = (s["oneOf"] as Schema[] | undefined) ?? [s];
    const inner = forms.flatMap((f) => Object.keys((f["properties"] ?? {}) as Schema)).map((n) => `${name}.${n}`);
    return [name, ...inner];
  });
  assert.ok(wanted.length > 15);
  for (const w of new Set(wanted)) assert.ok(known.includes(w), w);
});

const record = (fields: Doc): RecordState => ({
  id: "i",
  kind: "instrument",
  site: "",
  parent: "",
  fields: Object.fromEntries(
    Object.entries(fields).map(([name, value]) => [
      name,
      { heads: [{ change: "c", value, author: "", device: "", wall: "", stamp: "" }], replaced: [] },
    ]),
  ),
});

test("untouched facts write no change; a removed fact is written as nothing", () => {
  const had: Doc = {
    tag: "PI-1",
    kind: "gauge",
    range: { low: "0", high: "10", unit: "bar", mode: "gauge" },
    resolution: "0.05",
    limit: { rule: "en837", class: "1.6" },
    output: { low: "4", high: "20", unit: "mA" },
    place: "skid 3",
    status: "in service",
  };
  const t = opened(itemForm, had);
  const same = documentOf(itemForm, t);
  assert.deepEqual("doc" in same ? changesOf(record(had), same.doc) : same, []);
  const sorted: Doc = {
    ...had,
    range: { high: "10", low: "0", mode: "gauge", unit: "bar" },
    limit: { class: "1.6", rule: "en837" },
    output: { high: "20", low: "4", unit: "mA" },
  };
  const stored = documentOf(itemForm, opened(itemForm, sorted));
  assert.deepEqual(
    "doc" in stored ? changesOf(record(sorted), stored.doc) : stored,
    [],
    "members in the order that the server writes",
  );
  (t.values["output"] as Typed).on = false;
  t.values["place"] = "";
  (t.values["range"] as Typed).values["high"] = "16,0";
  const now = documentOf(itemForm, t);
  assert.deepEqual("doc" in now ? changesOf(record(had), now.doc) : now, [
    { field: "range", value: { low: "0", high: "16.0", unit: "bar", mode: "gauge" } },
    { field: "output", value: null },
    { field: "place", value: "" },
  ]);
  const fresh = documentOf(itemForm, opened(itemForm, usualItem));
  assert.equal("path" in fresh ? fresh.path : "", "tag", "a new instrument lacks its tag first");
  const tagged = documentOf(itemForm, opened(itemForm, { ...usualItem, tag: "A" }));
  assert.equal("path" in tagged ? tagged.path : "", "range.high", "and then its range");
});

test("values are equal whatever the order of their members, and not if one differs", () => {
  assert.ok(alike({ a: [1, { b: "x", c: null }], d: true }, { d: true, a: [1, { c: null, b: "x" }] }));
  const different: [Json, Json][] = [
    [{ a: 1 }, { a: 1, b: 1 }],
    [
      { a: 1, b: 1 },
      { a: 1, c: 1 },
    ],
    [{ a: "1" }, { a: 1 }],
    [
      [1, 2],
      [2, 1],
    ],
    [[1], [1, 2]],
    [[], {}],
    [null, {}],
  ];
  for (const [a, b] of different) assert.ok(!alike(a, b) && !alike(b, a), JSON.stringify([a, b]));
});

test("a refusal is shown at the fact that it is about; one about something else does not count against the facts", async () => {
  assert.deepEqual(refusedFact("instrument.high", "must lie above low"), {
    path: "range.high",
    error: "Range, High end: must lie above low",
  });
  assert.deepEqual(refusedFact("instrument.limit.class", "no such class"), {
    path: "limit.class",
    error: "Limit, Class: no such class",
  });
  assert.equal(refusedFact("instrument.particulars.contacts", "this field is missing"), undefined);
  assert.equal(refusedFact("method.rate", "this field is missing"), undefined);
  const facts: Doc = { tag: "A", kind: "gauge", range: { low: "0", high: "10", unit: "bar", mode: "gauge" } };
  const asked: string[] = [];
  const ask = (refuse: string) => (calculation: string, doc: unknown) => {
    if (calculation === "item" || calculation === "facts") return Promise.resolve(calculate(calculation, doc));
    asked.push(`${calculation} ${JSON.stringify((doc as { instrument: Json }).instrument)}`);
    return refuse === "" ? Promise.resolve({}) : Promise.reject(new CalcError("range", refuse, "no"));
  };
  assert.equal((await untrue(facts, undefined, ask("") as never))?.path, "limit", "a gauge without a limit");
  const limited: Doc = { ...facts, limit: { rule: "en837", class: "1" }, resolution: "" };
  assert.equal(await untrue(limited, undefined, ask("") as never), undefined);
  assert.equal((await untrue(limited, undefined, ask("instrument.unit") as never))?.path, "range.unit");
  assert.equal(
    await untrue({ ...facts, kind: "leak" }, undefined, ask("method.phases[0].pressure") as never),
    undefined,
  );
  assert.equal(
    asked[0],
    'expand {"low":"0","high":"10","unit":"bar","mode":"gauge","limit":{"rule":"en837","class":"1"}}',
  );
  await untrue(limited, { volume_m3: "1" }, ask("") as never);
  assert.ok(asked.at(-1)?.includes('"particulars":{"volume_m3":"1"}'));
});

test("the form asks for what the chosen kind and rule use, and keeps filled-in fields visible", () => {
  const t = opened(itemForm, usualItem);
  const said = () => calculate("facts", factsAsked(t));
  const shown = () => names(asked(itemForm, said().unused));
  const limit = t.values["limit"] as Typed;
  assert.ok(shown().includes("output") && shown().includes("limit.rule"));
  assert.ok(
    !shown().includes("limit.class") && !shown().includes("limit.of_span_percent"),
    "nothing before a rule is chosen",
  );
  limit.values["rule"] = "en837";
  assert.ok(shown().includes("limit.class") && !shown().includes("limit.grade"));
  limit.values["class"] = "1.6";
  limit.values["rule"] = "terms";
  assert.ok(
    shown().includes("limit.class") && shown().includes("limit.absolute"),
    "a class under stated limits is seen, as it is refused",
  );
  t.values["kind"] = "switch";
  assert.ok(!shown().includes("limit") && !shown().includes("output") && shown().includes("range.mode"));
  t.values["kind"] = "altimeter";
  assert.ok(!shown().includes("range.mode"));
  t.values["tag"] = "AL-1";
  const range = t.values["range"] as Typed;
  range.values["high"] = "20000";
  range.values["unit"] = "ft";
  const read = documentOf(asked(itemForm, said().unused), t);
  const facts = "doc" in read ? read.doc : {};
  assert.equal(facts["limit"], undefined, "what was typed for another kind is not kept");
  assert.deepEqual(settled(facts, "", said().mode)["range"], { low: "0", high: "20000", unit: "ft", mode: "absolute" });
  assert.deepEqual(
    settled(facts, "altimeter", said().mode),
    facts,
    "one that was an altimeter before keeps its range as it is",
  );
});

test("a fact beyond a bound is reported at its field, by its name", () => {
  const said = (facts: Doc) => beyond(calculate("facts", { fields: facts }).wrong);
  assert.equal(said({ tag: "A", note: "n".repeat(2000) }), undefined);
  assert.deepEqual(said({ tag: "A", note: "n".repeat(2001) }), {
    path: "note",
    error: "Note: no more than 2000 characters.",
  });
  assert.equal(said({ tag: "A", interval_months: 0 })?.path, "interval_months");
});

test("cautions, note and other names are the record's own fields: saved as typed, left as they were, not written if empty", () => {
  const t = opened(itemForm, { ...usualItem, tag: "A", range: { low: "0", high: "1", unit: "bar" } });
  const written = () => {
    const read = documentOf(itemForm, t);
    return "doc" in read ? read.doc : read;
  };
  for (const name of ["cautions", "note", "aliases"]) assert.ok(!(name in written()), name);
  t.values["cautions"] = ticked(
    Object.entries(cautionWords.codes),
    ticked(Object.entries(cautionWords.codes), [], "hot", true),
    "vent",
    true,
  );
  t.values["note"] = " Behind the panel.\nTwo screws. ";
  t.values["aliases"] = " P-31 \n\nold, seven\nP-31\n";
  const { cautions, note, aliases } = written() as Doc;
  assert.deepEqual(
    [cautions, note, aliases],
    [["vent", "hot"], "Behind the panel.\nTwo screws.", ["P-31", "old, seven"]],
  );

  const had: Doc = {
    tag: "A",
    kind: "leak",
    range: { low: "0", high: "1", unit: "bar" },
    cautions: ["no_such", "vent"],
    note: "one \n",
    aliases: ["a, b", "c"],
    medium: "",
  };
  const again = opened(itemForm, had);
  const same = documentOf(itemForm, again);
  assert.deepEqual("doc" in same ? changesOf(record(had), same.doc) : same, []);
  assert.deepEqual(
    changesOf(record({ ...had, cautions: [], aliases: [] }), { ...had, cautions: [], aliases: [] }),
    [],
    "an empty list stays one",
  );
  const empty: Doc = { tag: "A", kind: "leak", range: { low: "0", high: "1", unit: "bar" }, cautions: [], aliases: [] };
  const none = documentOf(itemForm, opened(itemForm, empty));
  assert.deepEqual("doc" in none ? changesOf(record(empty), none.doc) : none, []);
  assert.deepEqual(
    ticked(Object.entries(cautionWords.codes), ["no_such", "vent"], "lock_out", true),
    ["lock_out", "vent", "no_such"],
    "a code without words stays",
  );
  again.values["cautions"] = [];
  again.values["note"] = "";
  again.values["aliases"] = "";
  const bare = documentOf(itemForm, again);
  assert.deepEqual("doc" in bare ? changesOf(record(had), bare.doc) : bare, [
    { field: "aliases", value: null },
    { field: "note", value: "" },
    { field: "cautions", value: null },
  ]);
});

test("a new tag or alias that another instrument already has is refused", async () => {
  const plant = [
    { id: "i", names: ["PI-1", "P-1"] },
    { id: "j", names: ["PI-2", "P-2"] },
  ];
  const asked: string[] = [];
  const find = (name: string) => {
    asked.push(name);
    const small = name.toLowerCase();
    return Promise.resolve(
      plant
        .filter((g) => g.names.some((n) => n.toLowerCase() === small))
        .map((g) => ({ id: g.id, tag: g.names[0] ?? "" })),
    );
  };
  const known = record({ tag: "PI-1", aliases: ["P-1"] });
  assert.equal((await taken(undefined, { tag: "PI-2" }, find))?.path, "tag");
  assert.equal((await taken(known, { tag: "PI-2" }, find))?.path, "tag");
  assert.equal(await taken(undefined, { tag: "PI-3", aliases: ["P-3"] }, find), undefined);
  const other = await taken(known, { tag: "PI-1", aliases: ["P-1", "free", "p-2"] }, find);
  assert.deepEqual(other, {
    path: "aliases",
    error: "Other names: p-2 is a name of PI-2 already, as its tag or among its other names.",
  });
  assert.equal((await taken(known, { tag: "PI-1", aliases: ["PI-2"] }, find))?.path, "aliases");
  assert.equal(await taken(known, { tag: "PI-1", aliases: ["PI-1"] }, find), undefined, "one's own name");
  asked.length = 0;
  assert.equal(await taken(known, { tag: "PI-1", aliases: ["P-1"] }, find), undefined);
  assert.deepEqual(asked, [], "what stood there before is not asked for");
});
