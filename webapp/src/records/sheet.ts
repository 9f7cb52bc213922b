import { call } from "../calc/calc";
import { blob, StoreError } from "../store/store";
import { readField, readValue } from "../wire/read";
import { asObject, type Json, object, type RecordState } from "../wire/records";
import { airBeside } from "./air";
import { findingOf } from "./finding";
import { instrumentOf } from "./item";
import { type Entry, rulesOf } from "./rules";

export type Reading = {
  step: string;
  direction: string;
  point: string;
  applied: number;
  error: number;
  low: number;
  high: number;
  verdict: string;
  /**
   * For a transmitter: the measured and the ideal value, and the error in per cent of the signal's
   * span and in pressure.
   */
  signal?: { measured: number; ideal: number; percent: number; pressure: number | undefined };
};

type Doc = { [name: string]: Json };

/** definitionOf gives the method document that the visit keeps. */
export function definitionOf(visit: RecordState): Doc {
  return asObject(object(visit, "method")["definition"]);
}

/** The parts of a capture that the evaluation takes. */
export type Datum = Pick<Entry, "step" | "of" | "value" | "unit" | "reading" | "file"> & { at?: string };

/** sheetOf adds what is typed and read to the part of a sheet that the rules gave for a visit. */
export function sheetOf(visit: RecordState, entries: Datum[], complete: boolean, traces: Doc[] = []): Doc {
  return {
    ...rulesOf(visit).sheet,
    captures: entries
      .filter((e) => e.of !== "trace")
      .map((e) => ({ step: e.step, of: e.of, value: e.value, unit: e.unit, ...(e.at ? { at: e.at } : {}) })),
    ...(traces.length > 0 ? { traces } : {}),
    complete,
  };
}

/**
 * tracesOf reads the loggers' records among the captures. Refuses: StoreError if one is not on this
 * device.
 */
export async function tracesOf(entries: Datum[]): Promise<Doc[]> {
  const mine = entries.filter((e) => e.of === "trace");
  if (mine.length === 0) return [];
  const { recall, sheetTrace } = await import("./trace");
  const list: Doc[] = [];
  for (const e of mine) {
    const reading = asObject(e.reading);
    const it = await recall(e.value, reading, readValue("file", e.file).packed === "gzip", blob);
    if (!it) throw new StoreError("away", "a logger's record of this visit is not on this device");
    list.push(sheetTrace(e.step, reading, it));
  }
  return list;
}

/** evaluate asks for the finding of a run. */
export async function evaluate(visit: RecordState, entries: Datum[], complete: boolean): Promise<Doc> {
  return asObject(await call("evaluate", sheetOf(visit, entries, complete, await tracesOf(entries))));
}

/** onManifold says of a visit of one of several gauges on a manifold where their lowest range ends. */
export function onManifold(visit: RecordState): { manifold?: { high: string; unit: string } } {
  const { high, unit } = readField("visit", visit, "manifold");
  return high === "" ? {} : { manifold: { high, unit } };
}

/**
 * expand asks for the plan of a run of the visit's method on its instrument. A programme is also
 * checked against the chosen standard, and a second as-found run is refused if only one is allowed.
 */
export async function expand(
  visit: RecordState,
  label: string,
  standard = asObject(object(visit, "standard")["range"]),
): Promise<Doc> {
  const method = definitionOf(visit);
  const held = readValue("definition", method).kind === "programme" && readValue("range", standard).unit !== "";
  return asObject(
    await call("expand", {
      method,
      instrument: await instrumentOf(visit),
      label,
      ...(held ? { standard } : {}),
      ...onManifold(visit),
      ...airBeside(object(visit, "barometer"), object(visit, "surroundings")),
    }),
  );
}

/** readingsOf reads the readings of a finding that have an error and limits. */
export const readingsOf = (finding: Doc): Reading[] =>
  (findingOf(finding, "gauge").readings ?? []).flatMap(
    ({
      step = "",
      direction = "",
      point = "",
      applied = 0,
      error,
      limit_low: low,
      limit_high: high,
      verdict = "",
      ...r
    }) => {
      if (error === undefined || low === undefined || high === undefined) return [];
      const signal =
        r.ideal === undefined
          ? {}
          : {
              signal: {
                measured: r.indicated ?? 0,
                ideal: r.ideal,
                percent: r.error_percent ?? 0,
                pressure: r.error_pressure,
              },
            };
      return [{ ...signal, step, direction, point: String(point), applied, error, low, high, verdict }];
    },
  );
