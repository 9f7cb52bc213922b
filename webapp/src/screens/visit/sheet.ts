import { call } from "../../calc/calc";
import { blob, StoreError } from "../../store/store";
import { asNumber, asObject, asText, type Json, list, object, type RecordState, text, value } from "../../wire/records";
import type { Entry } from "./run";
import { standardDocument } from "./standard-document";

export type Reading = { step: string; direction: string; point: string; applied: number; error: number; low: number; high: number; verdict: string };

type Doc = { [name: string]: Json };

/** instrumentOf gives the instrument as the calculation wants it, from the copy that the visit keeps. */
export function instrumentOf(visit: RecordState): Doc {
  const item = object(visit, "item");
  const range = asObject(item["range"]);
  const doc: Doc = {};
  for (const name of ["low", "high", "unit", "mode"]) if (range[name] !== undefined) doc[name] = range[name];
  for (const name of ["resolution", "limit", "output", "temperature_coefficient_percent_per_k", "reference_temperature_c", "particulars"])
    if (item[name] !== undefined) doc[name] = item[name];
  return doc;
}

/** definitionOf gives the method document that the visit keeps. */
export function definitionOf(visit: RecordState): Doc {
  return asObject(object(visit, "method")["definition"]);
}

/** standardOf gives the chosen standard's range for the calculation. */
function standardOf(visit: RecordState): Doc | undefined {
  return standardDocument(asObject(object(visit, "standard")["range"]));
}

/** What the evaluation takes of a capture. */
export type Datum = Pick<Entry, "step" | "of" | "value" | "unit" | "reading" | "file"> & { at?: string };

/** sheetOf puts together what the evaluation is asked about a run. */
export function sheetOf(visit: RecordState, entries: Datum[], complete: boolean, traces: Doc[] = []): Doc {
  const standard = standardOf(visit);
  const head = value(visit, "head");
  return {
    method: definitionOf(visit),
    instrument: instrumentOf(visit),
    ...(standard ? { standard } : {}),
    ...(value(visit, "surroundings") === undefined ? {} : { surroundings: object(visit, "surroundings") }),
    ...(head === undefined ? {} : { head }),
    captures: entries.filter((e) => e.of !== "trace").map((e) => ({ step: e.step, of: e.of, value: e.value, unit: e.unit, ...(e.at ? { at: e.at } : {}) })),
    ...(traces.length > 0 ? { traces } : {}),
    complete,
  };
}

/** tracesOf reads the loggers' records that stand among the captures. Refuses: StoreError where one is not on this device. */
async function tracesOf(entries: Datum[]): Promise<Doc[]> {
  const mine = entries.filter((e) => e.of === "trace");
  if (mine.length === 0) return [];
  const { recall, sheetTrace } = await import("../trace/record");
  const list: Doc[] = [];
  for (const e of mine) {
    const reading = asObject(e.reading);
    const it = await recall(e.value, reading, asText(asObject(e.file)["packed"]) === "gzip", blob);
    if (!it) throw new StoreError("away", "a logger's record of this visit is not on this device");
    list.push(sheetTrace(e.step, reading, it));
  }
  return list;
}

/** evaluate asks for the finding of a run. */
export async function evaluate(visit: RecordState, entries: Datum[], complete: boolean): Promise<Doc> {
  return asObject(await call("evaluate", sheetOf(visit, entries, complete, await tracesOf(entries))));
}

/** expand asks for the plan of the visit's method on its instrument. */
export async function expand(visit: RecordState): Promise<Doc> {
  return asObject(await call("expand", { method: definitionOf(visit), instrument: instrumentOf(visit) }));
}

/** readingsOf reads the readings of a finding that have an error and limits. */
export function readingsOf(finding: Doc): Reading[] {
  const all = finding["readings"];
  if (!Array.isArray(all)) return [];
  return all.flatMap((v) => {
    const r = asObject(v);
    const error = asNumber(r["error"]);
    const low = asNumber(r["limit_low"]);
    const high = asNumber(r["limit_high"]);
    if (error === undefined || low === undefined || high === undefined) return [];
    const applied = asNumber(r["applied"]) ?? 0;
    return [
      { step: asText(r["step"]), direction: asText(r["direction"]), point: asText(r["point"]), applied, error, low, high, verdict: asText(r["verdict"]) },
    ];
  });
}

/** What speaks against using a standard's range here. */
export type Objection =
  | { kind: "out of date"; due: string }
  | { kind: "no date" }
  | { kind: "low" }
  | { kind: "high" }
  | { kind: "mode"; mode: string }
  | { kind: "unit"; unit: string }
  | { kind: "status"; status: string };

export type Candidate = { standard: RecordState; index: number; original: Doc; range: Doc; objections: Objection[] };

/** objectionsTo compares a range, already in the instrument's unit, with what the instrument needs on a day. */
export function objectionsTo(standard: RecordState, range: Doc, need: Doc, today: string): Objection[] {
  const found: Objection[] = [];
  const due = text(standard, "due").slice(0, 10);
  const status = text(standard, "status");
  if (due === "") found.push({ kind: "no date" });
  else if (due < today) found.push({ kind: "out of date", due });
  if (status !== "" && status !== "in service") found.push({ kind: "status", status });
  if (range["unit"] !== need["unit"]) found.push({ kind: "unit", unit: asText(range["unit"]) });
  else {
    if ((asNumber(range["low"]) ?? Number.POSITIVE_INFINITY) > (asNumber(need["low"]) ?? 0)) found.push({ kind: "low" });
    if ((asNumber(range["high"]) ?? Number.NEGATIVE_INFINITY) < (asNumber(need["high"]) ?? 0)) found.push({ kind: "high" });
  }
  const mode = asText(range["mode"]);
  if (mode !== "" && mode !== asText(need["mode"])) found.push({ kind: "mode", mode });
  return found;
}

async function inUnit(range: Doc, unit: string): Promise<Doc> {
  if (asText(range["unit"]) === unit) return range;
  const moved: Doc = { ...range, unit };
  try {
    for (const name of ["low", "high", "absolute"]) {
      if (range[name] === undefined) continue;
      const said = asObject(await call("units", { quantity: `${asText(range[name])} ${asText(range["unit"])}`, to: unit }));
      moved[name] = asText(said["value"]);
    }
    return moved;
  } catch (e) {
    console.error(e);
    return range; // shown with the objection that its unit could not be compared
  }
}

/** candidatesFor lists every range of every standard, those without an objection first. */
export async function candidatesFor(visit: RecordState, standards: RecordState[], today: string): Promise<Candidate[]> {
  const need = instrumentOf(visit);
  const all: Candidate[] = [];
  for (const standard of standards) {
    for (const [index, r] of list(standard, "ranges").entries()) {
      const original = asObject(r);
      const range = await inUnit(original, asText(need["unit"]));
      all.push({ standard, index, original, range, objections: objectionsTo(standard, range, need, today) });
    }
  }
  return all.sort((a, b) => a.objections.length - b.objections.length || text(a.standard, "name").localeCompare(text(b.standard, "name")));
}
