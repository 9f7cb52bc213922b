import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { type KindForm, kindForms } from "../src/words/kind-forms";
import {
  clock,
  counting,
  type Doc,
  documentOf,
  type Field,
  names,
  opened,
  placed,
  secondsOf,
  shifted,
  type Typed,
} from "../src/forms/form";
import { refusalOf } from "../src/forms/trial";

type Schema = { [name: string]: unknown };

const schema = JSON.parse(readFileSync("calc/schema/calculations/expand.json", "utf8"))["$defs"] as {
  [name: string]: Schema;
};

/** paths lists the properties of a schema by their paths, [] for the place in a list. */
function paths(s: Schema, at = ""): string[] {
  const either = (s["oneOf"] ?? s["anyOf"]) as Schema[] | undefined;
  if (either) return either.flatMap((x) => paths(x, at));
  const items = s["items"] as Schema | undefined;
  if (items?.["properties"]) return paths(items, `${at.replace(/\.$/, "")}[].`);
  return Object.entries((s["properties"] ?? {}) as { [name: string]: Schema }).flatMap(([name, x]) => [
    at + name,
    ...paths(x, `${at}${name}.`),
  ]);
}

const part = (s: Schema | undefined, name: string): Schema =>
  (s?.["properties"] as { [name: string]: Schema } | undefined)?.[name] ?? {};

function formOf(kind: string): KindForm {
  const form = kindForms[kind];
  if (!form) throw new Error(`no form of the kind ${kind}`);
  return form;
}

/** methodOf finds the schema of a kind's method. */
function methodOf(kind: string): Schema {
  if (schema[kind]) return part(schema[kind], "method");
  const all = part(schema["air"], "method")["oneOf"] as Schema[];
  return all.find((m) => part(m, "kind")["const"] === kind) ?? {};
}

test("the forms know every field that the calculation takes, and no other", () => {
  const kinds = Object.keys(kindForms);
  assert.deepEqual(kinds.sort(), [
    "airspeed",
    "altimeter",
    "burst",
    "leak",
    "pitot-static-leak",
    "reporting-altitude",
    "switch",
    "vertical-speed",
  ]);
  for (const kind of kinds) {
    const wanted = paths(methodOf(kind)).filter((p) => p !== "kind");
    assert.ok(wanted.length > 4, kind);
    assert.deepEqual(
      [...new Set(names(kindForms[kind]?.method ?? []))].sort(),
      [...new Set(wanted)].sort(),
      `method of ${kind}`,
    );
    const parts = paths(part(part(schema[kind] ?? schema["air"], "instrument"), "particulars"));
    assert.ok(parts.length > 1, kind);
    assert.deepEqual(
      [...new Set(names(kindForms[kind]?.particulars ?? []))].sort(),
      [...new Set(parts)].sort(),
      `particulars of ${kind}`,
    );
  }
});

test("choices offer exactly the words that the calculation takes", () => {
  const words = (s: Schema, path: string[]): string[] => {
    const either = (s["oneOf"] ?? s["anyOf"]) as Schema[] | undefined;
    if (either) return either.flatMap((x) => words(x, path));
    if (s["type"] === "array") return words(s["items"] as Schema, path);
    const [first, ...rest] = path;
    return first === undefined ? ((s["enum"] as string[] | undefined) ?? []) : words(part(s, first), rest);
  };
  let seen = 0;
  const look = (fields: readonly Field[], s: Schema, at: string[]) => {
    for (const f of fields) {
      if (f.as === "group" || f.as === "list") look(f.fields, s, [...at, f.name]);
      if (f.as !== "choice" && f.as !== "checks") continue;
      seen++;
      const offered = f.options.map(([w]) => w).filter((w) => w !== "");
      assert.deepEqual(
        offered.sort(),
        words(s, [...at, f.name])
          .filter((w) => w !== "")
          .sort(),
        [...at, f.name].join("."),
      );
    }
  };
  for (const [kind, form] of Object.entries(kindForms)) {
    const method = methodOf(kind);
    look(form.method, method, []);
    look(form.particulars, part(part(schema[kind] ?? schema["air"], "instrument"), "particulars"), []);
  }
  assert.ok(seen > 15);
});

const same = (fields: readonly Field[], doc: Doc) => documentOf(fields, opened(fields, doc));
const sorted = (v: unknown): unknown =>
  Array.isArray(v)
    ? v.map(sorted)
    : v !== null && typeof v === "object"
      ? Object.fromEntries(
          Object.entries(v)
            .sort()
            .map(([k, x]) => [k, sorted(x)]),
        )
      : v;

const documents: [string, Doc, Doc][] = [
  [
    "leak",
    {
      kind: "leak",
      source: "works instruction 31",
      phases: [
        {
          name: "vacuum",
          pressure: "-60",
          stabilise_s: 120,
          measure_s: 180,
          every_s: 15,
          limit_pa_m3_s: 0.02,
          surprise: [1],
        },
        { name: "pressure", pressure: 400, fill_s: 30, stabilise_s: 90.5, measure_s: "180", mode: "gauge", runs: 2 },
      ],
      temperature: "none",
      later: { kept: true },
    },
    {
      volume_m3: "0.0046",
      u_volume_rel: 0.01,
      added_volume_m3: 0.0005,
      weakest: { high: "600", part: "the sight glass" },
    },
  ],
  [
    "switch",
    { kind: "switch", cycles: 3, approach: { low: "0.6", high: "1.7" }, debounce_samples: 4 },
    {
      contacts: [
        {
          name: "trip",
          acts: "falling",
          nominal: "1.5",
          tolerance: "0.06",
          dead_band: { low: "0.1", high: "0.5" },
          safe: "open",
          safety_function: true,
        },
        { acts: "rising", nominal: 9, safety_function: false, safe: "" },
      ],
    },
  ],
  [
    "burst",
    { kind: "burst", discs: 3, rate: "0.02" },
    { marked: "1", range_percent: { low: -8, high: 4 }, lot: "2207", lot_size: 40, coincident_temperature_c: 22 },
  ],
  [
    "altimeter",
    {
      kind: "altimeter",
      pitot: "none",
      tests: ["scale", "rvsm"],
      rvsm: { points_ft: [29000, "31000"], group: "later-full", limit_ft: 80 },
      highest_ft: 35000,
    },
    { subscale: "hPa", weakest: { impact_pa: 11500 } },
  ],
  [
    "airspeed",
    {
      kind: "airspeed",
      points: [{ kt: "40", tolerance_kt: 4 }, { kt: 80 }],
      rule: "greater",
      directions: "up-down",
      static: "open",
    },
    {},
  ],
  [
    "vertical-speed",
    { kind: "vertical-speed", points: [{ ft_min: "500", at_ft: 2000, tolerance_ft_min: "100" }], zero_ft_min: "50" },
    {},
  ],
  ["reporting-altitude", { kind: "reporting-altitude", points_ft: [0, 2000, "6000"], pitot: "tied" }, {}],
  [
    "pitot-static-leak",
    { kind: "pitot-static-leak", static: { start_ft: 1000, cabin_psi: "8.5" }, pitot: {}, minutes: 1 },
    {},
  ],
];

test("an untouched document is written back as it was, including what the form does not know", () => {
  for (const [kind, method, parts] of documents) {
    const form = formOf(kind);
    const back = same(form.method, method);
    assert.deepEqual(sorted("doc" in back ? back.doc : back), sorted(method), `method of ${kind}`);
    const what = same(form.particulars, parts);
    assert.deepEqual(sorted("doc" in what ? what.doc : what), sorted(parts), `particulars of ${kind}`);
  }
});

test("every method and instrument of the demo plant and of the calculation's samples comes back as it was", () => {
  type Found = { kind: string; method?: Doc; particulars?: Doc };
  const all = JSON.parse(readFileSync("testdata/forms.json", "utf8")) as Found[];
  const seen: { [kind: string]: number } = {};
  for (const found of all) {
    const form = formOf(found.kind);
    for (const part of ["method", "particulars"] as const) {
      const doc = found[part];
      if (!doc) continue;
      const back = same(form[part], doc);
      assert.deepEqual(sorted("doc" in back ? back.doc : back), sorted(doc), `${part} of ${found.kind}`);
      seen[`${part} ${found.kind}`] = (seen[`${part} ${found.kind}`] ?? 0) + 1;
    }
  }
  for (const kind of Object.keys(kindForms))
    for (const part of ["method", "particulars"]) assert.ok((seen[`${part} ${kind}`] ?? 0) > 0, `${part} ${kind}`);
});

test("typed values become the document: decimals as typed, litres as cubic metres digit for digit, times in seconds", () => {
  const { particulars, method } = kindForms["leak"] ?? { particulars: [], method: [] };
  const t = opened(particulars, {});
  t.values["volume_m3"] = "12,5";
  t.values["u_volume_rel"] = "0.5";
  assert.deepEqual(documentOf(particulars, t), { doc: { volume_m3: "0.0125", u_volume_rel: "0.005" } });
  (t.values["weakest"] as Typed).values["part"] = "a glass";
  assert.equal(
    (documentOf(particulars, t) as { path: string }).path,
    "weakest.high",
    "a weakest part without its pressure",
  );
  const m = opened(method, { kind: "leak" });
  assert.equal((documentOf(method, m) as { path: string }).path, "phases", "no phase");
  const phase = opened(method[0]?.as === "list" ? method[0].fields : [], {});
  m.values["phases"] = [phase];
  assert.equal((documentOf(method, m) as { path: string }).path, "phases[0].pressure");
  Object.assign(phase.values, { pressure: "6", measure_s: "0:03:00", stabilise_s: "2:00", every_s: "15" });
  assert.deepEqual(documentOf(method, m), {
    doc: { kind: "leak", phases: [{ pressure: "6", stabilise_s: 120, measure_s: 180, every_s: 15 }] },
  });
  phase.values["measure_s"] = "3:61";
  assert.deepEqual(documentOf(method, m), {
    path: "phases[0].measure_s",
    error: "Measure for: write h:min:s, min:s or seconds.",
  });
  const leaks = kindForms["pitot-static-leak"]?.method ?? [];
  const p = opened(leaks, { kind: "pitot-static-leak", static: { start_ft: 1000 }, pitot: { start_kt: 150 } });
  (p.values["pitot"] as Typed).on = false;
  assert.deepEqual(
    documentOf(leaks, p),
    { doc: { kind: "pitot-static-leak", static: { start_ft: 1000 } } },
    "a test that is switched off is gone",
  );
});

test("a field without meaning beside another field's value is not shown, required or written, and returns with it", () => {
  const form: readonly Field[] = [
    {
      name: "way",
      label: "Way",
      as: "choice",
      usual: "",
      options: [
        ["", "none"],
        ["held", "held"],
        ["swept", "swept"],
      ],
    },
    { name: "at", label: "At", as: "number", needed: true, when: { field: "way", is: ["held", "swept"] } },
    { name: "u", label: "Its uncertainty", as: "number", when: { field: "at" } },
    {
      name: "tests",
      label: "Tests",
      as: "checks",
      options: [
        ["a", "A"],
        ["b", "B"],
      ],
    },
    { name: "limit", label: "Limit", as: "number", when: { field: "tests", is: ["", "a"] } },
    { name: "pin", label: "Pin", as: "flag" },
    { name: "force", label: "Force", as: "number", when: { field: "pin", is: ["yes"] } },
    {
      name: "line",
      label: "Line",
      as: "group",
      switch: "There is one",
      fields: [{ name: "length", label: "Length", as: "number" }],
    },
    { name: "bore", label: "Bore", as: "number", when: { field: "line", is: ["yes"] } },
    {
      name: "rows",
      label: "Rows",
      as: "list",
      item: (n) => `row ${n}`,
      fields: [
        { name: "on", label: "On", as: "flag" },
        { name: "far", label: "Far", as: "number", needed: true, when: { field: "on", is: ["yes"] } },
      ],
    },
  ];
  const t = opened(form, {});
  const shown = () => counting(form, t).map((f) => f.name);
  const written = () => documentOf(form, t);
  assert.deepEqual(shown(), ["way", "tests", "limit", "pin", "line", "rows"]);
  assert.deepEqual(written(), { doc: {} }, "what is hidden is not needed");
  t.values["way"] = "held";
  assert.deepEqual(written(), { path: "at", error: "At: this is needed." });
  t.values["at"] = "2,5";
  t.values["u"] = "0.1";
  assert.deepEqual(written(), { doc: { way: "held", at: "2.5", u: "0.1" } });
  t.values["way"] = "";
  assert.ok(!shown().includes("at") && !shown().includes("u"), "what rests on a hidden one is hidden too");
  assert.deepEqual(written(), { doc: {} }, "what is hidden is not written");
  t.values["way"] = "swept";
  assert.deepEqual(written(), { doc: { way: "swept", at: "2.5", u: "0.1" } }, "what was typed is there again");
  t.values["at"] = " ";
  assert.ok(!shown().includes("u"), "nothing stands where blanks stand");
  t.values["at"] = "2.5";
  t.values["limit"] = "3";
  t.values["tests"] = ["b"];
  assert.ok(!shown().includes("limit"));
  t.values["tests"] = ["b", "a"];
  assert.ok(shown().includes("limit"));
  t.values["pin"] = true;
  (t.values["line"] as Typed).on = true;
  assert.ok(shown().includes("force") && shown().includes("bore"));
  const row = opened(form.at(-1)?.as === "list" ? (form.at(-1) as { fields: readonly Field[] }).fields : [], {});
  t.values["rows"] = [row];
  assert.ok("doc" in written());
  row.values["on"] = true;
  assert.deepEqual(
    written(),
    { path: "rows[0].far", error: "Far: this is needed." },
    "each row by what stands in itself",
  );
  const had = opened(form, { way: "held", at: "1", u: "2", other: true });
  had.values["way"] = "";
  assert.deepEqual(documentOf(form, had), { doc: { other: true } }, "nor does it stay from before");
});

test("every condition names a field beside it, and values that this one can have", () => {
  let seen = 0;
  const can = (f: Field): string[] => {
    if (f.as === "choice") return f.options.map(([v]) => v);
    if (f.as === "checks") return ["", ...f.options.map(([v]) => v)];
    return f.as === "flag" || (f.as === "group" && f.switch !== undefined) ? ["", "yes"] : [];
  };
  const look = (fields: readonly Field[], at: string) => {
    for (const f of fields) {
      if (f.as === "group" || f.as === "list") look(f.fields, `${at}.${f.name}`);
      if (!f.when) continue;
      seen++;
      const other = fields.find((x) => x.name === f.when?.field);
      if (!other || other === f) throw new Error(`${at}.${f.name} rests on ${f.when.field}`);
      for (const v of f.when.is ?? []) assert.ok(can(other).includes(v), `${at}.${f.name} with ${v} of ${other.name}`);
      if (f.when.is) assert.notDeepEqual([...f.when.is].sort(), can(other).sort(), `${at}.${f.name} is shown always`);
    }
  };
  for (const [kind, form] of Object.entries(kindForms)) {
    look(form.method, kind);
    look(form.particulars, `${kind}'s instrument`);
  }
  assert.ok(seen > 15);
});

test("the forms show what matters: typed points or a table, an altitude if static is held, the ticked tests, one limit or a rule", () => {
  const shown = (kind: string, doc: Doc) =>
    counting(formOf(kind).method, opened(formOf(kind).method, doc)).map((f) => f.name);
  const all = (kind: string) => formOf(kind).method.map((f) => f.name);
  const hidden = (kind: string, doc: Doc) => all(kind).filter((n) => !shown(kind, doc).includes(n));
  assert.deepEqual(hidden("airspeed", { table: "20-250" }), ["points", "rule", "at_ft"]);
  assert.deepEqual(hidden("airspeed", { static: "controlled" }), []);
  assert.deepEqual(hidden("altimeter", {}), []);
  assert.deepEqual(hidden("altimeter", { tests: ["scale"] }), [
    "hysteresis_ft",
    "after_effect_ft",
    "friction",
    "case_leak_ft",
    "barometric",
    "barometric_ft",
    "settle_s",
  ]);
  assert.ok(shown("altimeter", { tests: ["hysteresis"] }).includes("scale"), "hysteresis is read on the scale");
  assert.deepEqual(hidden("pitot-static-leak", { pitot: {} }), ["pitot_line"]);
  assert.deepEqual(hidden("pitot-static-leak", { static: { start_ft: 1000 } }), []);
  const phases = formOf("leak").method[0];
  const fields = phases?.as === "list" ? phases.fields : [];
  const phase = (doc: Doc) => counting(fields, opened(fields, doc)).map((f) => f.name);
  assert.ok(!phase({}).includes("nozzles") && phase({}).includes("limit_pa_s") && !phase({}).includes("agree_within"));
  assert.ok(phase({ limit_change: "0.3" }).includes("agree_within"));
  assert.deepEqual(
    phase({ rule: "tp-201.3", limit_change: "0.3" }).filter(
      (n) => n.startsWith("limit") || n === "agree_within" || n === "nozzles",
    ),
    ["nozzles"],
  );
});

test("every kind begins with a method that only lacks what nobody can know", () => {
  const lacks: { [kind: string]: string } = {
    leak: "phases[0].pressure",
    burst: "rate",
    "vertical-speed": "points[0].tolerance_ft_min",
  };
  for (const [kind, form] of Object.entries(kindForms)) {
    const read = same(form.method, form.usual);
    assert.equal("path" in read ? read.path : undefined, lacks[kind], kind);
  }
});

test("the decimal mark moves without losing a digit; times are read as people write them", () => {
  for (const [text, places, want] of [
    ["12.5", -3, "0.0125"],
    ["0.0125", 3, "12.5"],
    ["4", -3, "0.004"],
    ["1e-4", 3, "0.1"],
    ["-0.00460", 3, "-4.6"],
    ["123456789.123456789", -3, "123456.789123456789"],
    ["0", 3, "0"],
    ["x", 3, ""],
  ] as const)
    assert.equal(shifted(text, places), want, text);
  for (const [s, want] of [
    ["180", "0:03:00"],
    ["90.5", "0:01:30.5"],
    ["3661", "1:01:01"],
    ["", ""],
  ] as const)
    assert.equal(clock(s), want);
  for (const [typed, want] of [
    ["1:02:03", 3723],
    ["2:30", 150],
    ["45", 45],
    ["0:00:07,5", 7.5],
    ["1:60", undefined],
    ["a", undefined],
    ["1:2:3:4", undefined],
    ["-5", undefined],
  ] as const)
    assert.equal(secondsOf(typed), want, typed);
});

test("a refusal of the calculation is shown at its field, named in words", () => {
  const { method, particulars } = kindForms["leak"] ?? { method: [], particulars: [] };
  assert.deepEqual(refusalOf("method.phases[1].limit_pa_m3_s", "a leak rate needs the volume", method, particulars), {
    of: "method",
    path: "phases[1].limit_pa_m3_s",
    error: "phase 2, Limit: leak rate, for which the volume is needed: a leak rate needs the volume",
  });
  assert.deepEqual(refusalOf("instrument.particulars.weakest.high", "this field is missing", method, particulars), {
    of: "particulars",
    path: "weakest.high",
    error: "The weakest part of the system, Highest pressure: this field is missing",
  });
  assert.equal(refusalOf("instrument.high", "must lie above low", method, particulars).of, "instrument");
  assert.deepEqual(placed(method, "confidence"), { path: "confidence", label: "Confidence" });
  assert.deepEqual(placed(method, "no_such"), { path: "no_such", label: "no such" });
});
