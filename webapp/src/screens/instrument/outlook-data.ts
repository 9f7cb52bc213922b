import { asNumber, asObject, asText, type Json, object, type RecordState, text } from "../../wire/records";

type Doc = { [name: string]: Json };

/** One as-found error at a point, as rising and falling readings have it on the mean. */
export type Found = { point: string; error: number; limit: number | undefined };

/** meanErrors joins the readings of a run by their point. */
export function meanErrors(points: Json | undefined): Found[] {
  const all = new Map<number, { point: string; sum: number; n: number; limit: number | undefined }>();
  for (const p of Array.isArray(points) ? points.map(asObject) : []) {
    const error = asNumber(p["error"]);
    const at = asNumber(p["point"]);
    if (error === undefined || at === undefined) continue;
    const limit = asNumber(p["limit"]);
    const known = all.get(at) ?? { point: asText(p["point"]), sum: 0, n: 0, limit: undefined };
    known.sum += error;
    known.n++;
    if (limit !== undefined && limit > 0) known.limit = Math.min(limit, known.limit ?? Number.POSITIVE_INFINITY);
    all.set(at, known);
  }
  return [...all.values()].map((k) => ({ point: k.point, error: k.sum / k.n, limit: k.limit }));
}

const written = (f: Found): Doc => ({ point: f.point, error: f.error, ...(f.limit === undefined ? {} : { limit: f.limit }) });

/** historyOf writes an instrument's finished visits as room drift takes them; a day with two visits keeps the later one. */
export function historyOf(visits: RecordState[]): Doc[] {
  const byDay = new Map<string, Doc>();
  for (const v of [...visits].sort((a, b) => (text(a, "started") < text(b, "started") ? -1 : 1))) {
    const summary = object(v, "summary");
    const errors = meanErrors(asObject(summary["as_found"])["points"]);
    const date = text(v, "started").slice(0, 10);
    if (errors.length === 0 || date === "") continue;
    const adjusted = object(v, "adjusted")["done"] === true;
    const left = adjusted ? meanErrors(asObject(summary["as_left"])["points"]) : [];
    byDay.set(date, { date, errors: errors.map(written), ...(adjusted ? { adjusted } : {}), ...(left.length > 0 ? { left: left.map(written) } : {}) });
  }
  return [...byDay.values()];
}

/** The course of one point for the chart: day, error and whether it was adjusted then. */
export type Spot = { at: number; error: number };

/** courseOf gives what was found at a point over the years. */
export function courseOf(history: Doc[], point: number): { spots: Spot[]; limit: number | undefined } {
  let limit: number | undefined;
  const spots = history.flatMap((h) => {
    const e = (Array.isArray(h["errors"]) ? h["errors"].map(asObject) : []).find((x) => asNumber(x["point"]) === point);
    const error = asNumber(e?.["error"]);
    limit = asNumber(e?.["limit"]) ?? limit;
    return error === undefined ? [] : [{ at: Date.parse(asText(h["date"])), error }];
  });
  return { spots, limit };
}

/** lastFraction gives the latest as-found error as a share of its limit. */
export function lastFraction(visits: RecordState[]): number | undefined {
  const sorted = [...visits].sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1));
  for (const v of sorted) {
    const f = asNumber(asObject(object(v, "summary")["as_found"])["worst_fraction"]);
    if (f !== undefined) return f;
  }
  return undefined;
}

/** countKin counts the as-found results of instruments with the same limit and interval, and those that passed. */
export function countKin(instrument: RecordState, instruments: RecordState[], visits: RecordState[]): { passed: number; of: number } {
  const key = (i: RecordState) => JSON.stringify([i.fields["limit"]?.heads[0]?.value ?? null, i.fields["interval_months"]?.heads[0]?.value ?? null]);
  const mine = key(instrument);
  const kin = new Set(instruments.filter((i) => key(i) === mine).map((i) => i.id));
  let passed = 0;
  let of = 0;
  for (const v of visits) {
    if (!kin.has(text(v, "instrument"))) continue;
    const verdict = asText(asObject(object(v, "summary")["as_found"])["verdict"]);
    if (verdict !== "pass" && verdict !== "fail") continue;
    of++;
    if (verdict === "pass") passed++;
  }
  return { passed, of };
}
