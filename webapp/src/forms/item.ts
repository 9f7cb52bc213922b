import { call, CalcError } from "../calc/calc";
import { type Entry, entryOf } from "../store/shelf";
import { alike } from "../wire/alike";
import type { FactsInput, FactsOutput } from "../wire/calculations.gen";
import { asNumber, asObject, asText, type Json, list, type RecordState, text, value } from "../wire/records";
import { kindsWords as w } from "../words/kinds";
import { itemForm } from "../words/item-form";
import { kindForms } from "../words/kind-forms";
import type { Gauge } from "../records/office";
import { type Doc, type Field, placed, type Typed, type Wrong } from "./form";

/** The initial values of a new instrument. */
export const usualItem: Doc = { kind: "gauge", range: { low: "0", mode: "gauge" }, status: "in service" };

/** factsAsked writes the input of the calculation facts from what has been typed so far. */
export function factsAsked(typed: Typed): FactsInput {
  const { kind, limit } = typed.values;
  const parts = typeof limit === "object" && !Array.isArray(limit) ? Object.entries(limit.values) : [];
  const plain = parts.flatMap(([name, v]) => (typeof v === "string" || typeof v === "boolean" ? [[name, v]] : []));
  return { fields: { kind: typeof kind === "string" ? kind : "", limit: Object.fromEntries(plain) } };
}

/** asked leaves out the fields that the chosen kind of instrument and rule of limit do not use. */
export function asked(fields: readonly Field[], unused: readonly string[]): readonly Field[] {
  return fields
    .filter((f) => !unused.includes(f.name))
    .map((f) =>
      f.as === "group" ? { ...f, fields: f.fields.filter((x) => !unused.includes(`${f.name}.${x.name}`)) } : f,
    );
}

/**
 * settled gives the range of an instrument that has a new kind the pressure mode of that kind, if
 * there is one.
 */
export function settled(facts: Doc, had: string, mode: string | undefined): Doc {
  return mode === undefined || asText(facts["kind"]) === had
    ? facts
    : { ...facts, range: { ...asObject(facts["range"]), mode } };
}

/** beyond names the fact that exceeds a bound of the record. */
export function beyond(wrong: FactsOutput["wrong"]): Wrong | undefined {
  if (!wrong) return undefined;
  const { field: path, code, most } = wrong;
  const label = itemForm.find((f) => f.name === path)?.label ?? path;
  return { path, error: code === "months" ? w.months(most) : w.long(label, most) };
}

const rangeFields = ["low", "high", "unit", "mode"];

/** refusedFact finds the fact that a refusal is about; undefined if it is about something else. */
export function refusedFact(field: string, message: string): Wrong | undefined {
  const [, path = ""] = /^instrument\.(.+)$/.exec(field) ?? [];
  if (path === "" || path.startsWith("particulars")) return undefined;
  const at = placed(itemForm, rangeFields.includes(path) ? `range.${path}` : path);
  return { path: at.path, error: `${at.label}: ${message}` };
}

/**
 * untrue asks the calculation for impossible facts of an instrument; undefined if it finds none.
 */
export async function untrue(
  facts: Doc,
  particulars: Json | undefined,
  ask: typeof call = call,
): Promise<Wrong | undefined> {
  const odd = beyond((await ask("facts", { fields: facts })).wrong);
  if (odd) return odd;
  const kind = asText(facts["kind"]);
  if (kind === "gauge" && facts["limit"] === undefined) return { path: "limit", error: w.needsLimit };
  const form = kindForms[kind];
  const method: Doc = form ? form.usual : { kind: "gauge", points: { count: 3 } };
  const parts = particulars ?? form?.parts(asText(asObject(facts["range"])["high"]));
  const fields = { ...facts, ...(parts === undefined ? {} : { particulars: parts }) };
  try {
    const { instrument } = await ask("item", { fields });
    await ask("expand", { method, instrument });
    if (!form) await ask("evaluate", { method, instrument, captures: [], complete: false });
    return undefined;
  } catch (e) {
    if (!(e instanceof CalcError)) throw e;
    return refusedFact(e.field, e.message);
  }
}

/**
 * taken finds the new tag or alias of an instrument that another instrument already has. find gives
 * all instruments with a name.
 */
export async function taken(
  record: RecordState | undefined,
  facts: Doc,
  find: (name: string) => Promise<{ id: string; tag: string }[]>,
): Promise<Wrong | undefined> {
  const others = async (name: string) => (await find(name)).filter((g) => g.id !== record?.id);
  const tag = asText(facts["tag"]);
  if (tag !== text(record, "tag") && (await others(tag)).some((g) => g.tag === tag))
    return { path: "tag", error: w.tagTaken(tag) };
  const had = list(record, "aliases");
  const now = facts["aliases"];
  for (const alias of Array.isArray(now) ? now.map(asText) : []) {
    if (had.includes(alias)) continue;
    const [other] = await others(alias);
    if (other) return { path: "aliases", error: w.aliasTaken(alias, other.tag) };
  }
  return undefined;
}

/**
 * changesOf lists the differences between the recorded facts and those typed. A removed fact is
 * written as nothing.
 */
export function changesOf(record: RecordState | undefined, facts: Doc): { field: string; value: Json }[] {
  return itemForm.flatMap(({ name }) => {
    const had = record?.fields[name]?.heads[0]?.value;
    const now = facts[name];
    const nothing = had === undefined || had === null || had === "" || alike(had, []);
    if (now === undefined) return nothing ? [] : [{ field: name, value: typeof had === "string" ? "" : null }];
    return alike(had, now) ? [] : [{ field: name, value: now }];
  });
}

/** An instrument as the register lists it, with the words that a search finds it by. */
export type Made = Gauge & Pick<Entry, "words">;

/**
 * madeOf gives the row of an instrument that was just added, before the office's own list has it.
 */
export function madeOf(record: RecordState): Made {
  const range = asObject(value(record, "range"));
  return {
    ...entryOf(record),
    kind: value(record, "output") ? "transmitter" : text(record, "kind"),
    manufacturer: text(record, "manufacturer"),
    model: text(record, "model"),
    range,
    method: "",
    orders: [],
    interval_months: asNumber(value(record, "interval_months")) ?? 0,
    tested: "",
    verdict: "",
    due: text(record, "due"),
    status: text(record, "status"),
    label: text(record, "label"),
    contested: null,
    damaged: false,
  };
}
