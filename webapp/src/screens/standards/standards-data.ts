import { asNumber, asObject, asText, type Json, list, many, type RecordState, text } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { readDecimal } from "../../words/words";

export type Doc = { [name: string]: Json };

/** Terms of a range's specification, in the order they are shown. */
export const terms = ["of_reading_percent", "of_span_percent", "absolute", "stability_ppm", "k", "drift_per_year", "resolution", "max_rate"];

/** A range as it is being typed. */
export type RangeForm = { low: string; high: string; unit: string; mode: string; terms: { [name: string]: string }; points: Json[] };

/** A point of a certificate as it is being typed. */
export type PointForm = { applied: string; error: string; expanded: string; k: string };

/** A certificate of a standard as it is on record. */
export type Certificate = { id: string; number: string; calibrated: string; due: string; by: string; range: Doc; points: Doc[]; author: string; wall: string };

/** What was typed that cannot stay: the field in words and why. */
export type Wrong = { field: string; error: string };

/** formOf opens a range of a record for typing. */
export function formOf(range: Doc): RangeForm {
  return {
    low: asText(range["low"]),
    high: asText(range["high"]),
    unit: asText(range["unit"]),
    mode: asText(range["mode"]) || "gauge",
    terms: Object.fromEntries(terms.map((t) => [t, asText(range[t])])),
    points: Array.isArray(range["points"]) ? range["points"] : [],
  };
}

/** labelOf names a field of a range in words. */
export function labelOf(field: string): string {
  if (field === "low" || field === "high" || field === "unit") return w[field];
  return w.spec[field] ?? field;
}

/** readRange reads a typed range, with a comma or a point; the first field that does not fit is named. */
export function readRange(form: RangeForm): { range: Doc } | Wrong {
  const range: Doc = {};
  for (const name of ["low", "high"] as const) {
    const read = readDecimal(form[name]);
    if (read === undefined) return { field: name, error: w.number(w[name]) };
    range[name] = read;
  }
  if (form.unit.trim() === "") return { field: "unit", error: w.needed(w.unit) };
  range["unit"] = form.unit.trim();
  range["mode"] = form.mode;
  for (const term of terms) {
    const typed = (form.terms[term] ?? "").trim();
    if (typed === "") continue;
    const read = readDecimal(typed);
    if (read === undefined || Number(read) < 0) return { field: term, error: w.number(labelOf(term)) };
    range[term] = read;
  }
  if (form.points.length > 0) range["points"] = form.points;
  return { range };
}

/** readPoints reads the typed points of a certificate; wholly empty lines fall away. */
export function readPoints(forms: PointForm[]): { points: Doc[] } | Wrong {
  const points: Doc[] = [];
  let last = Number.NEGATIVE_INFINITY;
  for (const [i, form] of forms.entries()) {
    if ([form.applied, form.error, form.expanded].every((t) => t.trim() === "")) continue;
    const n = i + 1;
    const point: Doc = {};
    for (const name of ["applied", "error", "expanded", "k"] as const) {
      const read = readDecimal(name === "k" && form.k.trim() === "" ? "2" : form[name]);
      if (read === undefined) return { field: `${name} ${i}`, error: w.pointPart(w[name], n) };
      if ((name === "expanded" || name === "k") && !(Number(read) > 0)) return { field: `${name} ${i}`, error: w.above(w[name], n) };
      point[name] = read;
    }
    if (Number(point["applied"]) <= last) return { field: `applied ${i}`, error: w.pointsRise(n) };
    last = Number(point["applied"]);
    points.push(point);
  }
  return points.length === 0 ? { field: "applied 0", error: w.fewPoints } : { points };
}

/** pointForms opens a certificate's points for typing. */
export function pointForms(points: Json[]): PointForm[] {
  return points.map((p) => {
    const o = asObject(p);
    return { applied: asText(o["applied"]), error: asText(o["error"]), expanded: asText(o["expanded"]), k: asText(o["k"]) || "2" };
  });
}

/** sameRange tells whether two ranges are the same piece of a standard, whatever is stated of them. */
export function sameRange(a: Doc, b: Doc): boolean {
  return (
    asText(a["unit"]) === asText(b["unit"]) &&
    (asText(a["mode"]) || "gauge") === (asText(b["mode"]) || "gauge") &&
    asNumber(a["low"]) === asNumber(b["low"]) &&
    asNumber(a["high"]) === asNumber(b["high"])
  );
}

const spanOf = (c: Certificate) => (asNumber(c.range["high"]) ?? 0) - (asNumber(c.range["low"]) ?? 0);

/** certificatesOf lists the certificates on a standard's record, the newest first. */
export function certificatesOf(standard: RecordState): Certificate[] {
  return many(standard, "certificate")
    .map(([id, v]) => {
      const o = asObject(v);
      const head = standard.fields[`certificate.${id}`]?.heads[0];
      return {
        id,
        number: asText(o["number"]),
        calibrated: asText(o["calibrated"]),
        due: asText(o["due"]),
        by: asText(o["by"]),
        range: asObject(o["range"]),
        points: Array.isArray(o["points"]) ? o["points"].map(asObject) : [],
        author: head?.author ?? "",
        wall: head?.wall ?? "",
      };
    })
    .sort((a, b) => (a.calibrated < b.calibrated ? 1 : a.calibrated > b.calibrated ? -1 : a.wall < b.wall ? 1 : a.wall > b.wall ? -1 : spanOf(a) - spanOf(b)));
}

/** withCertificate gives the fields to write when a certificate is kept: the certificate itself and, unless a newer one is in force, what it changes. */
export function withCertificate(standard: RecordState, id: string, certificate: Doc): { field: string; value: Json }[] {
  const set: { field: string; value: Json }[] = [{ field: `certificate.${id}`, value: certificate }];
  const range = asObject(certificate["range"]);
  const newer = certificatesOf(standard).some((c) => sameRange(c.range, range) && c.calibrated > asText(certificate["calibrated"]));
  if (newer) return set;
  const ranges = list(standard, "ranges").map((r) => (sameRange(asObject(r), range) ? { ...asObject(r), points: certificate["points"] ?? [] } : r));
  set.push({ field: "ranges", value: ranges });
  if (asText(certificate["calibrated"]) >= text(standard, "calibrated"))
    set.push(
      { field: "certificate_no", value: certificate["number"] ?? "" },
      { field: "calibrated", value: certificate["calibrated"] ?? "" },
      { field: "due", value: certificate["due"] ?? "" },
    );
  return set;
}

/** addedUp adds decimal texts without the dust of binary fractions. */
function addedUp(a: string, b: number): string {
  return String(Number((Number(a) + b).toPrecision(12)));
}

/** itemOf gives a standard's range as the instrument of a visit: what it states of itself is its limit. */
export function itemOf(standard: RecordState, range: Doc): Doc {
  const limit: Doc = { rule: "terms" };
  for (const t of ["of_reading_percent", "of_span_percent", "absolute"]) if (range[t] !== undefined) limit[t] = range[t];
  const ppm = asNumber(range["stability_ppm"]);
  if (ppm !== undefined && ppm > 0) limit["of_reading_percent"] = addedUp(asText(limit["of_reading_percent"]) || "0", ppm * 1e-4);
  const item: Doc = {
    instrument: standard.id,
    tag: text(standard, "serial") || text(standard, "name"),
    serial: text(standard, "serial"),
    description: text(standard, "name"),
    kind: "gauge",
    manufacturer: text(standard, "manufacturer"),
    model: text(standard, "model"),
    range: Object.fromEntries(["low", "high", "unit", "mode"].map((n) => [n, range[n] ?? ""])),
    limit,
  };
  if (range["resolution"] !== undefined) item["resolution"] = range["resolution"];
  return item;
}

/** pointsFrom gives the points of a finding as those of a certificate, each number with the digits that its uncertainty bears. */
export function pointsFrom(finding: Doc): PointForm[] {
  const all = Array.isArray(finding["points"]) ? finding["points"].map(asObject) : [];
  return all.flatMap((p) => {
    const applied = asNumber(p["applied"]);
    const error = asNumber(p["error"]);
    const expanded = asNumber(p["expanded"]);
    if (applied === undefined || error === undefined || expanded === undefined || !(expanded > 0)) return [];
    const places = Math.min(12, Math.max(0, 1 - Math.floor(Math.log10(expanded))));
    const k = asNumber(p["k"]) ?? 2;
    return [{ applied: plain(applied, places + 1), error: plain(error, places), expanded: expanded.toFixed(places), k: String(Number(k.toFixed(3))) }];
  });
}

function plain(x: number, places: number): string {
  const s = x.toFixed(places);
  return Number(s) === 0 ? s.replace("-", "") : s;
}

/** reaches tells whether points go over the whole of a range. */
export function reaches(points: Json[], range: Doc): boolean {
  const at = points.map((p) => asNumber(asObject(p)["applied"]) ?? Number.NaN);
  const low = asNumber(range["low"]) ?? Number.NEGATIVE_INFINITY;
  const high = asNumber(range["high"]) ?? Number.POSITIVE_INFINITY;
  return at.length > 0 && Math.min(...at) <= low && Math.max(...at) >= high;
}
