import type { ConformityInput } from "../../wire/calculations.gen";
import { readValue } from "../../wire/read";
import { asObject, type Json } from "../../wire/records";
import { methodsWords as w } from "../../words/methods";
import { readDecimal } from "../../words/words";

export type Doc = { [name: string]: Json };
export type By = keyof typeof w.pointsBy;
export type Rule = keyof typeof w.rules;

export type SeriesForm = { direction: "up" | "down"; remount: boolean; exercise: string; percents: string };

/** A gauge method as it is being typed. */
export type MethodForm = {
  by: By;
  count: string;
  values: string;
  percents: string;
  order: "plain" | "list";
  directions: "up" | "up-down";
  cycles: string;
  series: SeriesForm[];
  exercise: string;
  exercise_hold_s: string;
  rest_s: string;
  hold_s: string;
  hold_top_s: string;
  tap: boolean;
  way: "applied-set" | "pointer-set";
  rule: Rule;
  guard_factor: string;
  min_probability: string;
  coverage: string;
  needed_ratio: string;
  /** The other members of the document and its decision, kept as they are. */
  rest: Doc;
  decided: Doc;
};

export type Wrong = { field: string; error: string };

const texts = (list: string[] | undefined): string => list?.join(" ") ?? "";
const known = [
  "kind",
  "points",
  "directions",
  "cycles",
  "series",
  "exercise",
  "exercise_hold_s",
  "rest_s",
  "hold_s",
  "hold_top_s",
  "tap",
  "way",
  "decision",
];

function besides(doc: Doc, names: string[]): Doc {
  return Object.fromEntries(Object.entries(doc).filter(([n]) => !names.includes(n)));
}

/** formOf opens a method document for typing. */
export function formOf(definition: Doc): MethodForm {
  const { points, series, decision, ...d } = readValue("sequence", definition);
  const { rule, ...decided } = decision;
  const { decision: kept } = definition;
  return {
    by: points.values ? "values" : points.percents ? "percents" : "count",
    count: points.count || "6",
    values: texts(points.values),
    percents: texts(points.percents),
    order: series.length > 0 ? "list" : "plain",
    directions: d.directions === "up" ? "up" : "up-down",
    cycles: d.cycles || "1",
    series: series.map((s) => ({
      direction: s.direction === "down" ? "down" : "up",
      remount: s.remount === true,
      exercise: s.exercise,
      percents: texts(s.percents),
    })),
    exercise: d.exercise,
    exercise_hold_s: d.exercise_hold_s,
    rest_s: d.rest_s,
    hold_s: d.hold_s,
    hold_top_s: d.hold_top_s,
    tap: d.tap === true,
    way: d.way === "pointer-set" ? "pointer-set" : "applied-set",
    ...decided,
    rule: rule in w.rules ? (rule as Rule) : "simple",
    rest: besides(definition, known),
    decided: besides(asObject(kept), Object.keys(decision)),
  };
}

/** labelOf names a field of the form in words. */
export function labelOf(field: string): string {
  const all: { [name: string]: unknown } = w;
  const said = all[field];
  return typeof said === "string" ? said : field.replaceAll("_", " ");
}

class Bad extends Error {
  readonly field: string;
  constructor(field: string, message: string) {
    super(message);
    this.field = field;
  }
}

function whole(field: string, typed: string, otherwise: number, label = labelOf(field)): number {
  if (typed.trim() === "") return otherwise;
  if (!/^\d{1,6}$/.test(typed.trim())) throw new Bad(field, w.whole(label));
  return Number(typed.trim());
}

function decimal(field: string, typed: string): string | undefined {
  if (typed.trim() === "") return undefined;
  const read = readDecimal(typed);
  if (read === undefined) throw new Bad(field, w.number(labelOf(field)));
  return read;
}

function decimals(field: string, typed: string, label = labelOf(field)): string[] {
  const parts = typed.split(/[\s;]+/).filter((p) => p !== "");
  return parts.map((p) => {
    const read = readDecimal(p);
    if (read === undefined) throw new Bad(field, w.number(label));
    return read;
  });
}

function pointsOf(form: MethodForm): Doc {
  if (form.by === "count") {
    if (form.count.trim() === "") throw new Bad("count", w.needed(w.count));
    return { count: whole("count", form.count, 0) };
  }
  const list = decimals(form.by, form[form.by]);
  if (list.length === 0) throw new Bad(form.by, w.needed(labelOf(form.by)));
  return { [form.by]: list };
}

function seriesOf(form: MethodForm): Json[] {
  if (form.series.length === 0) throw new Bad("series 0", w.needed(w.order));
  return form.series.map((s, i) => {
    const one: Doc = { direction: s.direction };
    if (s.remount) one["remount"] = true;
    const preloads = whole(`exercise ${i}`, s.exercise, 0, w.seriesExercise(i + 1));
    if (preloads > 0) one["exercise"] = preloads;
    const percents = decimals(`percents ${i}`, s.percents, w.seriesPercents(i + 1));
    if (percents.length > 0) one["percents"] = percents;
    return one;
  });
}

function decisionOf(form: MethodForm): Doc {
  const decision: Doc = { ...form.decided, rule: form.rule };
  const guarded = form.rule === "guarded" || form.rule === "guarded-four";
  for (const [name, holds] of [
    ["guard_factor", guarded],
    ["min_probability", form.rule === "probability"],
    ["coverage", true],
    ["needed_ratio", true],
  ] as const) {
    const read = holds ? decimal(name, form[name]) : undefined;
    if (read !== undefined) decision[name] = read;
  }
  return decision;
}

/**
 * definitionOf writes the method document of a form, or names the first field that cannot be read.
 */
export function definitionOf(form: MethodForm): { definition: Doc } | Wrong {
  try {
    const d: Doc = { kind: "gauge", points: pointsOf(form) };
    if (form.order === "list") d["series"] = seriesOf(form);
    else {
      d["directions"] = form.directions;
      d["cycles"] = whole("cycles", form.cycles, 1);
    }
    d["exercise"] = whole("exercise", form.exercise, 0);
    for (const name of ["exercise_hold_s", "rest_s", "hold_s", "hold_top_s"] as const) {
      const s = whole(name, form[name], 0);
      if (s > 0) d[name] = s;
    }
    d["tap"] = form.tap;
    d["way"] = form.way;
    d["decision"] = decisionOf(form);
    return { definition: { ...form.rest, ...d } };
  } catch (e) {
    if (e instanceof Bad) return { field: e.field, error: e.message };
    throw e;
  }
}

/** wrongOf finds the form's field of a calculation's refusal and its words. */
export function wrongOf(field: string, message: string): Wrong {
  const m = /^method\.(?:points\.|decision\.)?(?:series\[(\d+)\]\.)?(\w+)/.exec(field);
  const name = m?.[2] ?? "";
  if (m?.[1] !== undefined) {
    const i = Number(m[1]);
    const label =
      name === "percents" ? w.seriesPercents(i + 1) : name === "exercise" ? w.seriesExercise(i + 1) : w.series(i + 1);
    return { field: `${name} ${i}`, error: w.refused(label, message) };
  }
  return { field: name, error: w.refused(name === "" ? "" : labelOf(name), message) };
}

/**
 * askOf writes the input of the calculation conformity for errors from zero up to a multiple of a
 * limit of one.
 */
export function askOf(form: MethodForm, ratio: number, until: number): ConformityInput {
  const decision = decisionOf(form);
  const asked: Doc = { value: "0", until: String(until), low: "-1", high: "1", u: String(1 / (2 * ratio)), k: "2" };
  for (const name of ["rule", "guard_factor", "min_probability"])
    if (decision[name] !== undefined) asked[name] = decision[name];
  return asked as ConformityInput;
}
