import { call } from "../../calc/calc";
import { asNumber, asObject, asText, type Json, object, type RecordState, value } from "../../wire/records";
import type { WayInput, WayOutput } from "../../wire/calculations.gen";
import { findingOf } from "../../records/finding";
import { doneAt, effective, stepsOf } from "../../records/run";
import { definitionOf } from "../../records/sheet";
import { factorsOf } from "../../records/units";
import { sentence } from "../../words/words";

export type Doc = { [name: string]: Json };

/** Where a run is, according to the calculation way. */
export type Way = WayOutput & Required<Pick<WayOutput, "reached" | "home">>;
export type Condition = Way["reached"];
export type Alone = NonNullable<Way["alone"]>;

/** The units in which pressures are shown. */
export const pressureUnits = ["Pa", "hPa", "inHg", "own"] as const;
export type PressureUnit = (typeof pressureUnits)[number];

/** The value of each unit in Pa, from the module's table; known after the first call of way. */
let pascals: ReadonlyMap<string, number> = new Map();
/** Decimals shown of each unit: about 1 Pa. */
const places = { Pa: 1, hPa: 2, inHg: 4 } as const;

/** learnPascals sets the value of each unit in Pa. */
export function learnPascals(factors: ReadonlyMap<string, number>): void {
  pascals = factors;
}

/** pressure writes a pressure in one of the units of pressure. */
export function pressure(pa: number, unit: Exclude<PressureUnit, "own">): string {
  return `${(pa / (pascals.get(unit) ?? Number.NaN)).toFixed(places[unit])}\u00a0${unit}`;
}

/**
 * wayFor writes the input on where a run is: its plan, what of it is done, and the latest pressure
 * measured at the field.
 */
export function wayFor(visit: RecordState, run: RecordState, at: number): WayInput {
  const steps = stepsOf(value(run, "plan"));
  const field = effective(run).findLast((e) => e.of === "answer" && (e.step === "field" || e.step === "after.field"));
  const { max_rate_kt_min: rate } = definitionOf(visit);
  const { particulars } = object(visit, "item");
  return {
    steps: steps.map((s) => s.plan),
    done: steps.map((s) => s.id).filter((id) => doneAt(run, id) !== undefined),
    at,
    ...(field && asNumber(field.value) !== undefined ? { field_hpa: field.value } : {}),
    particulars: asObject(particulars),
    ...(asNumber(rate) === undefined ? {} : { max_rate_kt_min: asText(rate) }),
  };
}

/** wayOf asks where a run is; undefined if its plan never returns to the field pressure. */
export async function wayOf(doc: WayInput): Promise<Way | undefined> {
  const [factors, { reached, home, ...said }] = await Promise.all([factorsOf("pressure"), call("way", doc)]);
  learnPascals(factors);
  return reached && home ? { ...said, reached, home } : undefined;
}

export type ProfilePoint = {
  t: number;
  feet: number;
  knots: number;
  static: number;
  total: number;
  staticRate: number;
};
export type Profile = { points: ProfilePoint[]; seconds: number; route: string; beyond: string[] };

/** moveOf reads a planned move, or the reason why there is none. */
export function moveOf(move: WayOutput["move"]): Profile | string | undefined {
  if (!move) return undefined;
  const { points = [], duration_s: seconds = 0, route = "", violations = [], refused } = move;
  if (refused !== undefined) return sentence(refused);
  return {
    points: points.map((p) => ({
      t: p.t_s,
      feet: p.altitude_ft,
      knots: p.cas_kt,
      static: p.static_pa,
      total: p.total_pa,
      staticRate: p.static_rate_pa_s,
    })),
    seconds,
    route,
    beyond: violations.map((v) => v.code),
  };
}

/** clock writes seconds as minutes and seconds. */
export function clock(seconds: number): string {
  const s = Math.round(seconds);
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
}

export type AirPoint = {
  test: string;
  step: string;
  direction: string;
  unit: string;
  x: number;
  indicated: number;
  error: number;
  limit: number | undefined;
  verdict: string;
};

/** airPoints reads the points of a finding's section for the kind. */
export function airPoints(finding: Doc, kind: string): AirPoint[] {
  const { points = [] } = findingOf(finding, "air")[kind as "airspeed"] ?? {};
  return points.map(
    ({
      test = "",
      step = "",
      direction = "",
      unit = "",
      indicated = 0,
      error = 0,
      altitude_ft = 0,
      cas_kt = 0,
      limit_high: limit,
      verdict = "",
    }) => {
      const x = unit === "ft" ? altitude_ft : unit === "kt" ? cas_kt : indicated - error;
      return { test, step, direction, unit, x, indicated, error, limit, verdict };
    },
  );
}
