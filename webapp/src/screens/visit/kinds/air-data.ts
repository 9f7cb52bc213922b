import { asNumber, asObject, asText, type Json, object, type RecordState, value } from "../../../wire/records";
import { doneAt, effective } from "../run";
import { definitionOf } from "../sheet";

export type Doc = { [name: string]: Json };

/** What stands at the instruments, or shall stand: ft, kt, Pa; impact is pitot less static. */
export type Condition = { feet: number; knots: number; static: number; impact: number };

/** Where a run is: the condition reached last, and the one it is on the way to. */
export type Where = { reached: Condition; heading: Condition | undefined; home: Condition; homeFeet: number; way: "home" | "on" };

export type Bounds = {
  climb: number;
  knotRate: number;
  highest: number | undefined;
  lowest: number | undefined;
  knots: number | undefined;
  weakest: number | undefined;
};

/** The units in which pressures are shown. */
export const pressureUnits = ["Pa", "hPa", "inHg", "own"] as const;
export type PressureUnit = (typeof pressureUnits)[number];

const pascals = { Pa: 1, hPa: 100, inHg: 3386.388640341 } as const;
const places = { Pa: 1, hPa: 2, inHg: 4 } as const;

/** pressure writes a pressure in one of the units of pressure. */
export function pressure(pa: number, unit: Exclude<PressureUnit, "own">): string {
  return `${(pa / pascals[unit]).toFixed(places[unit])}\u00a0${unit}`;
}

function rawSteps(run: RecordState): Doc[] {
  const steps = asObject(value(run, "plan"))["steps"];
  return Array.isArray(steps) ? steps.map(asObject) : [];
}

function conditionOf(step: Doc): Condition | undefined {
  const feet = asNumber(step["altitude_ft"]);
  const knots = asNumber(step["cas_kt"]);
  const pa = asNumber(step["static_pa"]);
  const impact = asNumber(step["impact_pa"]);
  return feet === undefined || knots === undefined || pa === undefined || impact === undefined ? undefined : { feet, knots, static: pa, impact };
}

/** fieldOf gives the pressure measured at the field, the latest that was typed; undefined before that. */
export function fieldOf(run: RecordState): number | undefined {
  const typed = effective(run).findLast((e) => e.of === "answer" && (e.step === "field" || e.step === "after.field"));
  const hPa = typed && Number(typed.value);
  return hPa !== undefined && hPa > 400 && hPa < 1100 ? hPa * 100 : undefined;
}

/** whereIs tells where a run stands. A target at the planned field is the measured field as soon as that is known. */
export function whereIs(run: RecordState, at: number): Where | undefined {
  const steps = rawSteps(run);
  const end = steps.findLast((s) => s["do"] === "set");
  const planned = end && conditionOf(end);
  if (!planned) return undefined;
  const measured = fieldOf(run);
  const home: Condition = { feet: planned.feet, knots: 0, static: measured ?? planned.static, impact: 0 };
  const real = (c: Condition): Condition => (Math.abs(c.feet - planned.feet) < 1e-6 ? { ...c, static: home.static } : c);
  let reached = home;
  for (const s of steps) {
    const c = s["do"] === "set" && doneAt(run, asText(s["id"])) !== undefined ? conditionOf(s) : undefined;
    if (c) reached = real(c);
  }
  const screen = steps[at]?.["screen"];
  const next = steps.find((s) => s["screen"] === screen && s["do"] === "set" && doneAt(run, asText(s["id"])) === undefined);
  const heading = next && conditionOf(next);
  const way = next !== undefined && heading !== undefined && Math.abs(heading.feet - planned.feet) < 1e-6 && heading.knots === 0 ? "home" : "on";
  return { reached, heading: heading && real(heading), home, homeFeet: planned.feet, way };
}

/** boundsOf gives the rates of the plan and what everything on the lines bears. */
export function boundsOf(visit: RecordState, run: RecordState, at: number): Bounds {
  const parts = asObject(object(visit, "item")["particulars"]);
  const method = definitionOf(visit);
  const steps = rawSteps(run);
  const screen = steps[at]?.["screen"];
  const here = steps.find((s) => s["screen"] === screen && s["do"] === "set" && s["unit"] === "ft");
  const end = steps.findLast((s) => s["do"] === "set" && s["unit"] === "ft");
  const perMinute = (s: Doc | undefined) => (asNumber(s?.["rate"]) ?? 50) * 60;
  const knotRate = asNumber(method["max_rate_kt_min"]) ?? Math.min(60, asNumber(parts["max_rate_kt_min"]) ?? 60);
  return {
    climb: perMinute(here ?? end),
    knotRate,
    highest: asNumber(parts["highest_ft"]),
    lowest: asNumber(parts["lowest_ft"]),
    knots: asNumber(parts["max_cas_kt"]),
    weakest: asNumber(asObject(parts["weakest"])["impact_pa"]),
  };
}

/** intervalFor makes about ten set points of a move, in seconds that can be followed by eye. */
export function intervalFor(from: Condition, to: Condition, b: Bounds): number {
  const seconds = Math.max((Math.abs(to.feet - from.feet) / b.climb) * 60, (Math.abs(to.knots - from.knots) / b.knotRate) * 60);
  return [5, 10, 15, 20, 30, 60, 120, 300].find((s) => seconds / s <= 10) ?? 600;
}

/** moveDoc is what room profile is asked for; home ends at the measured pressure of the field. */
export function moveDoc(from: Condition, to: Condition | { field: number; feet: number }, b: Bounds): Doc {
  const target: Condition = "field" in to ? { feet: to.feet, knots: 0, static: to.field, impact: 0 } : to;
  const limits: Doc = {};
  // what already stands may lie at a limit to the last digit
  if (b.highest !== undefined) limits["max_altitude_ft"] = Math.max(b.highest, target.feet);
  if (b.lowest !== undefined) limits["min_altitude_ft"] = Math.min(b.lowest, target.feet);
  if (b.knots !== undefined) limits["max_cas_kt"] = Math.max(b.knots, target.knots);
  return {
    from: { static_pa: from.static, cas_kt: from.knots },
    ...("field" in to ? { field_pa: to.field } : { to: { altitude_ft: to.feet, cas_kt: to.knots } }),
    max_climb_ft_min: b.climb,
    max_cas_rate_kt_min: b.knotRate,
    limits,
    interval_s: intervalFor(from, target, b),
  };
}

export type ProfilePoint = { t: number; feet: number; knots: number; static: number; total: number; staticRate: number };
export type Profile = { points: ProfilePoint[]; seconds: number; route: string; beyond: string[] };

/** profileOf reads a plan of room profile. */
export function profileOf(reply: Json): Profile {
  const o = asObject(reply);
  const number = (d: Doc, name: string) => asNumber(d[name]) ?? 0;
  const rows = (name: string) => (Array.isArray(o[name]) ? o[name].map(asObject) : []);
  return {
    points: rows("points").map((p) => ({
      t: number(p, "t_s"),
      feet: number(p, "altitude_ft"),
      knots: number(p, "cas_kt"),
      static: number(p, "static_pa"),
      total: number(p, "total_pa"),
      staticRate: number(p, "static_rate_pa_s"),
    })),
    seconds: number(o, "duration_s"),
    route: asText(o["route"]),
    beyond: rows("violations").map((v) => asText(v["code"])),
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

/** airPoints reads the points of a finding's own object. */
export function airPoints(finding: Doc, kind: string): AirPoint[] {
  const points = asObject(finding[kind])["points"];
  if (!Array.isArray(points)) return [];
  return points.map(asObject).map((p) => {
    const unit = asText(p["unit"]);
    const indicated = asNumber(p["indicated"]) ?? 0;
    const error = asNumber(p["error"]) ?? 0;
    const x = unit === "ft" ? (asNumber(p["altitude_ft"]) ?? 0) : unit === "kt" ? (asNumber(p["cas_kt"]) ?? 0) : indicated - error;
    return {
      test: asText(p["test"]),
      step: asText(p["step"]),
      direction: asText(p["direction"]),
      unit,
      x,
      indicated,
      error,
      limit: asNumber(p["limit_high"]),
      verdict: asText(p["verdict"]),
    };
  });
}
