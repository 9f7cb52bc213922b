import { call } from "../../calc/calc";
import { blob, StoreError } from "../../store/store";
import { asNumber, asObject, asText, type Json, object, type RecordState, value } from "../../wire/records";
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
export async function tracesOf(entries: Datum[]): Promise<Doc[]> {
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

/** expand asks for the plan of a run of the visit's method on its instrument; a programme is held against the chosen standard too, and a repeat of what may be found once only is refused. */
export async function expand(visit: RecordState, label: string, standard = asObject(object(visit, "standard")["range"])): Promise<Doc> {
  const method = definitionOf(visit);
  const held = method["kind"] === "programme" && standard["unit"];
  return asObject(await call("expand", { method, instrument: instrumentOf(visit), label, ...(held ? { standard } : {}) }));
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
