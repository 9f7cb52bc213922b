import { CalcError, call } from "../../calc/calc";
import { asNumber, asObject, asText, type Json, list, object, type RecordState, text } from "../../wire/records";
import { definitionOf, evaluate, expand, instrumentOf } from "./sheet";
import { standardDocument } from "./standard-document";

type Doc = { [name: string]: Json };

/** What speaks against using a standard's range here. */
export type Objection =
  | { kind: "out of date"; due: string }
  | { kind: "no date" }
  | { kind: "low" }
  | { kind: "high" }
  | { kind: "mode"; mode: string }
  | { kind: "unit"; unit: string }
  | { kind: "status"; status: string }
  | { kind: "no specification" }
  | { kind: "programme"; why: string }
  | { kind: "no statement"; point: string; why: string }
  | { kind: "ratio"; ratio: number; needed: number; point: string };

/** How a standard's uncertainty stands to the limit at the point where that is worst. */
export type Worst = { ratio: number; point: string };

export type Candidate = { standard: RecordState; index: number; original: Doc; range: Doc; worst: Worst | undefined; objections: Objection[] };

/** What a standard has to serve: pressures with the limit at each, in the instrument's unit, and the ratio that is wanted. */
export type Demand = { points: string[]; limits: number[]; needed: number };

/** Limit to expanded uncertainty where the method names none: common practice, no source. */
const usual = 4;

/** neededRatio gives the ratio that a method asks of a standard. */
export function neededRatio(definition: Doc): number {
  const said = asNumber(asObject(definition["decision"])["needed_ratio"]);
  return said !== undefined && said > 0 ? said : usual;
}

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

/** Fields of a range that are pressures, its certificate's points apart. */
const pressures = ["low", "high", "absolute", "drift_per_year", "max_rate"];

/** inUnit gives a range of a standard, with its certificate's points, in another unit; as it was when that cannot be done. */
export async function inUnit(range: Doc, unit: string): Promise<Doc> {
  const from = asText(range["unit"]);
  if (from === unit) return range;
  const turned = async (v: Json | undefined): Promise<Json> => asText(asObject(await call("units", { quantity: `${asText(v)} ${from}`, to: unit }))["value"]);
  const moved: Doc = { ...range, unit };
  try {
    for (const name of pressures) if (range[name] !== undefined) moved[name] = await turned(range[name]);
    if (Array.isArray(range["points"])) {
      const points: Json[] = [];
      for (const p of range["points"]) {
        const one = { ...asObject(p) };
        for (const name of ["applied", "error", "expanded"]) if (one[name] !== undefined) one[name] = await turned(one[name]);
        points.push(one);
      }
      moved["points"] = points;
    }
    return moved;
  } catch (e) {
    console.error(e);
    return range; // shown with the objection that its unit could not be compared
  }
}

/** yearsBetween gives the years from one date to another with three decimals; undefined when either is none or they run backwards. */
export function yearsBetween(from: string, to: string): string | undefined {
  const years = (Date.parse(to) - Date.parse(from)) / (365.25 * 86_400_000);
  return years >= 0 ? years.toFixed(3) : undefined;
}

/** demandOf asks for the limits that a visit's method judges by: those of readings without an error. */
export async function demandOf(visit: RecordState): Promise<Demand | undefined> {
  const item = instrumentOf(visit);
  const output = asObject(item["output"]);
  if (asText(output["law"]) !== "" && asText(output["law"]) !== "linear") return undefined; // a limit in the signal is no one pressure
  const plan = await expand(visit, "as found");
  const steps = (Array.isArray(plan["steps"]) ? plan["steps"] : []).map(asObject).filter((s) => asText(s["do"]) === "read" && asText(s["target"]) !== "");
  const span = (asNumber(item["high"]) ?? 0) - (asNumber(item["low"]) ?? 0);
  const signal = (asNumber(output["high"]) ?? 0) - (asNumber(output["low"]) ?? 0);
  const bare = object(visit, "item")["output"] === undefined;
  const ideal = (target: string) =>
    bare ? target : String((asNumber(output["low"]) ?? 0) + ((Number(target) - (asNumber(item["low"]) ?? 0)) / span) * signal);
  const captures = steps.map((s) => {
    const of = asText(s["of"]) || "indicated";
    const target = asText(s["target"]);
    return of === "applied" || bare
      ? { step: asText(s["id"]), of, value: target, unit: asText(s["unit"]) }
      : { step: asText(s["id"]), of, value: ideal(target), unit: asText(output["unit"]) };
  });
  const plain: RecordState = { ...visit, fields: { ...visit.fields } };
  for (const name of ["standard", "surroundings", "head"]) delete plain.fields[name];
  const finding = await evaluate(plain, captures, false);
  const least = new Map<string, number>();
  for (const r of Array.isArray(finding["readings"]) ? finding["readings"].map(asObject) : []) {
    const high = asNumber(r["limit_high"]);
    const low = asNumber(r["limit_low"]);
    if (high === undefined || low === undefined) continue; // not judged there
    const limit = Math.min(high, -low) * (bare ? 1 : span / signal);
    const point = asText(r["point"]);
    if (limit > 0) least.set(point, Math.min(limit, least.get(point) ?? Number.POSITIVE_INFINITY));
  }
  return least.size === 0 ? undefined : { points: [...least.keys()], limits: [...least.values()], needed: neededRatio(definitionOf(visit)) };
}

/** weigh asks how a range, in the instrument's unit, stands to what is demanded of it. */
export async function weigh(range: Doc, demand: Demand): Promise<{ worst: Worst | undefined; objections: Objection[] }> {
  const standard = standardDocument(range);
  if (!standard) return { worst: undefined, objections: [{ kind: "no specification" }] };
  const asked = { unit: range["unit"] ?? "", ...standard, points: demand.points, limits: demand.limits.map(String), needed_ratio: String(demand.needed) };
  let reply: Doc;
  try {
    reply = asObject(await call("standard", asked));
  } catch (e) {
    if (!(e instanceof CalcError)) throw e;
    return { worst: undefined, objections: [{ kind: "no statement", point: "", why: e.message }] };
  }
  const points = (Array.isArray(reply["points"]) ? reply["points"] : []).map(asObject);
  const silent = points.find((p) => p["ratio"] === undefined);
  let worst: Worst | undefined;
  for (const p of points) {
    const ratio = asNumber(p["ratio"]);
    if (ratio !== undefined && (worst === undefined || ratio < worst.ratio)) worst = { ratio, point: asText(p["point"]) };
  }
  if (silent) return { worst, objections: [{ kind: "no statement", point: asText(silent["point"]), why: asText(silent["reason"]) }] };
  if (worst && reply["enough"] !== true) return { worst, objections: [{ kind: "ratio", ratio: worst.ratio, needed: demand.needed, point: worst.point }] };
  return { worst, objections: [] };
}

/** refusedBy gives why a programme may not be run with a range, which no reason makes good; nothing for other methods. */
async function refusedBy(visit: RecordState, range: Doc): Promise<Objection[]> {
  if (definitionOf(visit)["kind"] === "programme")
    try {
      await expand(visit, "as found", range);
    } catch (e) {
      if (!(e instanceof CalcError)) throw e;
      return [{ kind: "programme", why: e.message }];
    }
  return [];
}

/** candidatesFor lists every range of every standard, those without an objection first, the better ones before the others; a standard is none for itself. */
export async function candidatesFor(visit: RecordState, standards: RecordState[], today: string): Promise<{ demand: Demand | undefined; list: Candidate[] }> {
  const need = instrumentOf(visit);
  const demand = await demandOf(visit).catch((e: unknown) => {
    console.error(e);
    return undefined;
  });
  const all: Candidate[] = [];
  for (const standard of standards) {
    if (standard.id === text(visit, "instrument")) continue;
    for (const [index, r] of list(standard, "ranges").entries()) {
      const original = asObject(r);
      const range = { ...(await inUnit(original, asText(need["unit"]))) };
      const years = yearsBetween(text(standard, "calibrated"), today);
      if (range["drift_per_year"] !== undefined && years !== undefined) range["years_since"] = years;
      const objections = objectionsTo(standard, range, need, today);
      const reaches = !objections.some((o) => o.kind === "low" || o.kind === "high" || o.kind === "unit");
      const weighed = demand && reaches ? await weigh(range, demand) : { worst: undefined, objections: [] };
      all.push({
        standard,
        index,
        original,
        range,
        worst: weighed.worst,
        objections: [...objections, ...weighed.objections, ...(await refusedBy(visit, range))],
      });
    }
  }
  all.sort(
    (a, b) =>
      a.objections.length - b.objections.length ||
      (b.worst?.ratio ?? 0) - (a.worst?.ratio ?? 0) ||
      text(a.standard, "name").localeCompare(text(b.standard, "name")),
  );
  return { demand, list: all };
}
