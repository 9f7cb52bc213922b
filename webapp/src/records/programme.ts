import { shapes } from "../wire/records.gen";
import { read, readValue } from "../wire/read";
import { call } from "../calc/calc";
import type { PlanOutput } from "../wire/calculations.gen";
import {
  asNumber,
  asObject,
  asText,
  heads,
  type Json,
  list,
  many,
  object,
  type RecordState,
  text,
  value,
} from "../wire/records";
import { programmeWords as w } from "../words/programme";
import { readDecimal } from "../words/words";

export type Doc = { [name: string]: Json };
export type Finding = { level: string; code: string; line: number; message: string };
export type Rule = { name: string; low: string; high: string; unit: string; when: string; text: string };
/** A programme as it is being written. */
export type Draft = { name: string; text: string; rules: Rule[] };
/** A chosen instrument or standard: its name, and its input for the calculation plan. */
export type Chosen = { name: string; facts: Doc };
/** What a programme is checked against while it is written: typed in its own unit, or chosen. */
export type Facts = {
  low: string;
  high: string;
  standardHigh: string;
  maxRate: string;
  weakest: string;
  weakestPart: string;
  relief: string;
  instrument: Chosen | undefined;
  standard: Chosen | undefined;
};
/** The limits that it was checked against, in the programme's unit; NaN if unknown. */
export type Limits = { low: number; high: number; standardHigh: number; rate: number };
export type Checked = {
  /** The text that was checked, as typed; for a list of steps, their text. */
  of: string;
  text: string;
  steps: Doc[];
  findings: Finding[];
  seconds: number;
  partial: boolean;
  limits: Limits;
};

export const simplest = "unit bar gauge\nset 0.5\nhold 5 s\nvent\n";
export const emptyFacts: Facts = {
  low: "",
  high: "",
  standardHigh: "",
  maxRate: "",
  weakest: "",
  weakestPart: "",
  relief: "",
  instrument: undefined,
  standard: undefined,
};
export const emptyRule: Rule = { name: "", low: "", high: "", unit: "", when: "", text: "" };

/** The most characters of a programme's file. */
export const mostBytes = 1_500_000;

const docs = (v: Json | undefined): Doc[] => (Array.isArray(v) ? v.map(asObject) : []);

/** rulesOf reads the rules of a method document for typing. */
export function rulesOf(definition: Doc): Rule[] {
  const { rules } = definition;
  return readValue("rules", rules);
}

/** definitionOf writes the method document of a programme. */
export function definitionOf(d: Draft): Doc {
  const rules = d.rules
    .filter((r) => r.name.trim() !== "")
    .map((r) => {
      const one: Doc = { name: r.name.trim() };
      if (r.when.trim() !== "") {
        return { ...one, when: r.when.trim(), ...(r.text.trim() === "" ? {} : { text: r.text.trim() }) };
      }
      for (const bound of ["low", "high"] as const)
        if (r[bound].trim() !== "") one[bound] = readDecimal(r[bound]) ?? r[bound].trim();
      return r.unit.trim() === "" ? one : { ...one, unit: r.unit.trim() };
    });
  return { kind: "programme", text: d.text, ...(rules.length === 0 ? {} : { rules }) };
}

/** unitOf reads the unit and mode in a programme's first line. */
export function unitOf(text: string): { unit: string; mode: string } {
  for (const row of text.split(/[\n;]/)) {
    const line = row.replace(/#.*/, "").trim();
    if (line === "") continue;
    const m = /^unit\s+(\S+)(?:\s+(gauge|absolute))?$/.exec(line);
    return { unit: m?.[1] ?? "", mode: m?.[2] ?? "" };
  }
  return { unit: "", mode: "" };
}

/** factsOf writes the limits for the calculation plan, without those that are no numbers. */
export function factsOf(f: Facts): Doc {
  const rate = readDecimal(f.maxRate);
  const low = readDecimal(f.low) ?? "0";
  const high = readDecimal(f.high);
  const standard = readDecimal(f.standardHigh);
  const most = rate === undefined || Number(rate) <= 0 ? {} : { max_rate: rate };
  const range = (to: string | undefined): Doc | undefined =>
    to === undefined || Number(to) <= Number(low) ? undefined : { low, high: to, ...most };
  const instrument = range(high);
  const other = range(standard);
  const weakest = readDecimal(f.weakest);
  const relief = readDecimal(f.relief);
  return {
    ...(instrument ? { instrument } : {}),
    ...(other ? { standard: other } : {}),
    ...f.instrument?.facts,
    ...f.standard?.facts,
    ...(weakest === undefined
      ? {}
      : { weakest: { pressure: weakest, part: f.weakestPart.trim() || w.weakestPartUnnamed } }),
    ...(relief === undefined ? {} : { relief }),
  };
}

function limitsOf({ instrument, standard, max_rate }: NonNullable<PlanOutput["limits"]>): Limits {
  return {
    low: asNumber(instrument?.low) ?? Number.NaN,
    high: asNumber(instrument?.high) ?? Number.NaN,
    standardHigh: asNumber(standard?.high) ?? Number.NaN,
    rate: asNumber(max_rate) ?? Number.NaN,
  };
}

type Glance = Pick<Checked, "findings" | "seconds" | "partial" | "limits">;

function glanceOf(r: PlanOutput): Glance {
  return {
    findings: r.findings.filter((f) => f.code !== "no_limits"), // shown beside the boxes for the limits
    seconds: r.duration_s ?? 0,
    partial: r.duration_partial === true,
    limits: limitsOf(r.limits ?? {}),
  };
}

/**
 * glance asks the calculation plan for its findings on a text, without the parts that take long to
 * read.
 */
export const glance = async (programme: string, facts: Facts): Promise<Glance> =>
  glanceOf(await call("plan", { programme, only: "findings", ...factsOf(facts) }));

/**
 * check asks the calculation plan about a text or about steps. Refuses: CalcError for steps that no
 * text can express.
 */
export async function check(programme: string | Doc[], facts: Facts): Promise<Checked> {
  const r = await call("plan", { programme, ...factsOf(facts) });
  const { text = "", steps = [] } = r;
  return { of: typeof programme === "string" ? programme : text, text, steps, ...glanceOf(r) };
}

export type Path = number[];

/**
 * A place in nested steps: the index in the outer list, then 0 for its steps or 1 for its "else",
 * then the index there, and so on.
 */
export function listAt(steps: Doc[], path: Path): Doc[] {
  if (path.length < 2) return steps;
  const [i = 0, which = 0, ...rest] = path;
  return listAt(docs(steps[i]?.[which === 0 ? "steps" : "else"]), rest);
}

/** changed gives steps with the list at a place replaced. */
export function changed(steps: Doc[], path: Path, make: (list: Doc[]) => Doc[]): Doc[] {
  if (path.length < 2) return make(steps);
  const [i = 0, which = 0, ...rest] = path;
  const name = which === 0 ? "steps" : "else";
  return steps.map((s, n) => {
    if (n !== i) return s;
    const inner = changed(docs(s[name]), rest, make);
    if (name === "else" && inner.length === 0) {
      const { else: _gone, ...kept } = s;
      return kept;
    }
    return { ...s, [name]: inner };
  });
}

/** moved puts a step one place up or down within its list. */
export function moved(steps: Doc[], path: Path, by: -1 | 1): Doc[] {
  const at = path.at(-1) ?? 0;
  return changed(steps, path, (l) => {
    const to = at + by;
    const one = l[at];
    if (!one || to < 0 || to >= l.length || (by < 0 && l[to]?.["do"] === "unit")) return l;
    const rest = l.filter((_, n) => n !== at);
    return [...rest.slice(0, to), one, ...rest.slice(to)];
  });
}

/**
 * without deletes a step, withCopy duplicates it, withStep replaces it, withMore adds one after a
 * place (-1 for the beginning).
 */
export const without = (steps: Doc[], path: Path) => changed(steps, path, (l) => l.filter((_, n) => n !== path.at(-1)));
export const withCopy = (steps: Doc[], path: Path) =>
  changed(steps, path, (l) => l.flatMap((s, n) => (n === path.at(-1) ? [s, s] : [s])));
export const withStep = (steps: Doc[], path: Path, step: Doc) =>
  changed(steps, path, (l) => l.map((s, n) => (n === path.at(-1) ? step : s)));
export const withMore = (steps: Doc[], path: Path, step: Doc) =>
  changed(steps, path, (l) => [...l.slice(0, (path.at(-1) ?? -1) + 1), step, ...l.slice((path.at(-1) ?? -1) + 1)]);

/** freshStep is a step of a kind with initial values and an unused name. */
export function freshStep(kind: string, used: string): Doc {
  let n = 1;
  while (new RegExp(`\\bp${n}\\b`).test(used)) n++;
  const all: { [kind: string]: Doc } = {
    set: { target: "1" },
    hold: { seconds: "30" },
    read: { name: `p${n}`, from: "gauge" },
    settle: { within: "0.01", seconds: "10", at_most: "120" },
    vent: {},
    ask: { text: "?", as: "yes" },
    note: { text: "…" },
    ramp: { target: "1", rate: "0.01", until: "contact" },
    exercise: { count: 2, target: "1" },
    repeat: { count: 2, steps: [{ do: "hold", seconds: "10" }] },
    if: { when: n > 1 ? `p${n - 1} > 1` : "1 > 0", steps: [{ do: "note", text: "…" }] },
    stop: { text: "…" },
  };
  return { do: kind, ...(all[kind] ?? {}) };
}

export const fieldsOf: { [kind: string]: string[] } = {
  unit: ["unit", "mode"],
  set: ["target", "rate"],
  ramp: ["target", "rate", "until"],
  hold: ["seconds"],
  settle: ["within", "seconds", "at_most"],
  read: ["name", "from", "count"],
  ask: ["text", "as", "name"],
  exercise: ["count", "target"],
  vent: [],
  repeat: ["count", "when"],
  if: ["when"],
  note: ["text"],
  stop: ["text"],
};

export const choicesOf: { [field: string]: string[] } = {
  mode: ["gauge", "absolute"],
  until: ["contact", "drop"],
  from: ["gauge", "standard", "thermometer", "barometer"],
  as: ["yes", "number", "text", "photo"],
};

/** What a method record holds for these screens. */
export type Kept = {
  id: string;
  name: string;
  version: number;
  definition: Doc;
  by: string;
  at: string;
  drafts: { user: string; name: string; definition: Doc; at: string }[];
};

const isProgramme = (definition: Json | undefined) => readValue("definition", definition).kind === "programme";

/**
 * keptOf reads a method of kind programme: the published version, and everybody's drafts; undefined
 * for other kinds.
 */
export function keptOf(record: RecordState): Kept | undefined {
  const definition = object(record, "definition");
  const drafts = many(record, "draft").flatMap(([user, v]) => {
    const { name, at, definition } = read(shapes.method.draft, v);
    return isProgramme(definition) ? [{ user, name, definition: asObject(definition), at }] : [];
  });
  if (!isProgramme(definition) && !(value(record, "definition") === undefined && drafts.length > 0)) return undefined;
  const head = heads(record, "definition")[0];
  return {
    id: record.id,
    name: text(record, "name") || (drafts[0]?.name ?? ""),
    version: head ? (asNumber(value(record, "version")) ?? 1) : 0,
    definition,
    by: head?.author ?? "",
    at: head?.wall ?? "",
    drafts,
  };
}

/** cautionsOf gives the codes of the cautions that a method asks for. */
export const cautionsOf = (record: RecordState | undefined) => list(record, "cautions").map(asText);

/** textOf gives the text of a definition; for steps, the check writes it. */
export async function textOf(definition: Doc): Promise<string> {
  const { text, steps } = definition;
  return typeof text === "string" ? text : (await check(docs(steps), emptyFacts)).text;
}

/** fileOf is the shared form of a programme. */
export function fileOf(d: Draft): string {
  return `${JSON.stringify({ gaugewright: "programme", name: d.name, definition: definitionOf(d) }, null, 1)}\n`;
}

/**
 * readFile reads a shared programme; undefined if the text holds none. The calculation checks its
 * content, not this function.
 */
export function readFile(body: string): { name: string; definition: Doc } | undefined {
  let v: Json;
  try {
    v = JSON.parse(body);
  } catch {
    return undefined;
  }
  const { gaugewright: what, name, definition } = asObject(v);
  const own = asObject(definition);
  const { text, steps } = own;
  if (what !== "programme" || !isProgramme(own)) return undefined;
  if (typeof text !== "string" && !Array.isArray(steps)) return undefined;
  return { name: asText(name).slice(0, 200), definition: own };
}
