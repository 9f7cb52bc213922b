import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { shapes } from "../../wire/records.gen";
import { read, readValue } from "../../wire/read";
import { asObject, asText, type Json, list, many, type RecordState, text } from "../../wire/records";
import type { CertifyInput, CertifyOutput } from "../../wire/calculations.gen";
import { standardsWords as w } from "../../words/standards";
import { readDecimal, sentence } from "../../words/words";
import { keptOf } from "../../records/item";

export type Doc = { [name: string]: Json };

/** Terms of a range's specification, in the order they are shown. */
export const terms = [
  "of_reading_percent",
  "of_span_percent",
  "absolute",
  "stability_ppm",
  "k",
  "drift_per_year",
  "resolution",
  "max_rate",
];

/** A range while it is typed. */
export type RangeForm = {
  low: string;
  high: string;
  unit: string;
  mode: string;
  terms: { [name: string]: string };
  points: Json[];
};

/** A point of a certificate while it is typed. */
export type PointForm = { applied: string; error: string; expanded: string; k: string };

/** A certificate of a standard as it is on record. */
export type Certificate = {
  id: string;
  number: string;
  calibrated: string;
  due: string;
  by: string;
  range: Doc;
  points: PointForm[];
  author: string;
  wall: string;
};

/** A typed value that cannot be saved: the field in words and the reason. */
export type Wrong = { field: string; error: string };

/** formOf opens a range of a record for typing. */
export function formOf(range: Doc): RangeForm {
  const { low, high, unit, mode, points } = readValue("range", range);
  return {
    low,
    high,
    unit,
    mode: mode || "gauge",
    terms: Object.fromEntries(terms.map((t) => [t, asText(range[t])])),
    points,
  };
}

/** labelOf names a field of a range in words. */
export function labelOf(field: string): string {
  if (field === "low" || field === "high" || field === "unit") return w[field];
  return w.spec[field] ?? field;
}

/**
 * readRange reads a typed range, with a comma or a point. It names the first field that is no
 * number. The calculation standard says which numbers fit: checkRange.
 */
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
    if (read === undefined) return { field: term, error: w.number(labelOf(term)) };
    range[term] = read;
  }
  if (form.points.length > 0) range["points"] = form.points;
  return { range };
}

/**
 * readPoints reads the typed points of a certificate, with the line of each. It skips empty lines.
 * The module says which numbers fit: cellOf finds the cell that it refuses.
 */
export function readPoints(forms: PointForm[]): { points: Doc[]; lines: number[] } | Wrong {
  const points: Doc[] = [];
  const lines: number[] = [];
  for (const [i, form] of forms.entries()) {
    if ([form.applied, form.error, form.expanded].every((t) => t.trim() === "")) continue;
    const n = i + 1;
    const point: PointForm = { ...form };
    for (const name of ["applied", "error", "expanded", "k"] as const) {
      const read = readDecimal(name === "k" && form.k.trim() === "" ? "2" : form[name]);
      if (read === undefined) return { field: `${name} ${i}`, error: w.pointPart(w[name], n) };
      point[name] = read;
    }
    points.push(point);
    lines.push(i);
  }
  return points.length === 0 ? { field: "applied 0", error: w.fewPoints } : { points, lines };
}

/**
 * cellOf finds the cell of a point that a calculation refuses; undefined if it refuses something
 * else.
 */
export function cellOf(field: string, message: string, lines: number[]): Wrong | undefined {
  const [, at, name] = /points\[(\d+)\]\.(applied|error|expanded|k)$/.exec(field) ?? [];
  const line = lines[Number(at)];
  if (name === undefined || line === undefined) return undefined;
  return { field: `${name} ${line}`, error: w.pointRefused(w[name as "applied"], line + 1, message) };
}

/** pointForms opens a certificate's points for typing. */
export function pointForms(points: Json[]): PointForm[] {
  return points.map((p) => {
    const point = readValue("point", p);
    return { ...point, k: point.k || "2" };
  });
}

/** certificatesOf lists the certificates on a standard's record. */
export function certificatesOf(standard: RecordState): Certificate[] {
  return many(standard, "certificate").map(([id, v]) => {
    const head = standard.fields[`certificate.${id}`]?.heads[0];
    const { number, calibrated, due, by, points } = read(shapes.standard.certificate, v);
    const { range } = asObject(v);
    return {
      id,
      number,
      calibrated,
      due,
      by,
      range: asObject(range),
      points,
      author: head?.author ?? "",
      wall: head?.wall ?? "",
    };
  });
}

/**
 * A certificate in its order, with the index of its range and whether its points cover all of the
 * range.
 */
export type Placed = Certificate & { of: number; whole: boolean };

/**
 * placed asks for the order of a standard's certificates, the newest first, and for the range of
 * each.
 */
export async function placed(standard: RecordState, range?: Doc): Promise<{ all: Placed[]; of: number }> {
  const kept = certificatesOf(standard);
  const said = await call("certificates", {
    ranges: list(standard, "ranges").map(asObject),
    certificates: kept.map(({ id, calibrated, wall, range, points }) => ({ id, calibrated, wall, range, points })),
    ...(range ? { range } : {}),
  });
  return {
    all: said.certificates.flatMap(({ id, of, whole }) => {
      const c = kept.find((one) => one.id === id);
      return c ? [{ ...c, of, whole }] : [];
    }),
    of: said.of ?? -1,
  };
}

/** usePlaced asks for the order of a standard's certificates whenever its record changes. */
export function usePlaced(standard: RecordState, range?: Doc): { all: Placed[]; of: number } | undefined {
  const [known, set] = useState<{ all: Placed[]; of: number } | undefined>();
  useEffect(() => {
    let here = true;
    placed(standard, range).then((p) => here && set(p), console.error);
    return () => {
      here = false;
    };
  }, [standard, JSON.stringify(range)]);
  return known;
}

/** asWritten reads the decisive parts of a certificate, its points digit by digit as they are. */
function asWritten(certificate: Doc) {
  const { number, calibrated, due } = read(shapes.standard.certificate, certificate);
  const { range, points } = certificate;
  return { number, calibrated, due, range: asObject(range), points: Array.isArray(points) ? points.map(asObject) : [] };
}

/**
 * certifyOf writes the input about a certificate that is to be saved. The person who wrote it, its
 * accreditation and its file decide nothing.
 */
export const certifyOf = (standard: RecordState, certificate: Doc): CertifyInput => ({
  calibrated: text(standard, "calibrated"),
  ranges: list(standard, "ranges").map(asObject),
  certificates: certificatesOf(standard).map(({ calibrated, range }) => ({ calibrated, range })),
  certificate: {
    ...asWritten(certificate),
  },
});

/**
 * withCertificate gives the fields to write when a certificate is saved: the certificate itself,
 * and the changes that the calculation names.
 */
export function withCertificate(
  id: string,
  certificate: Doc,
  { ranges, certificate_no, calibrated, due }: CertifyOutput,
): { field: string; value: Json }[] {
  const changed: [string, Json | undefined][] = Object.entries({ ranges, certificate_no, calibrated, due });
  return [
    { field: `certificate.${id}`, value: certificate },
    ...changed.flatMap(([field, value]) => (value === undefined ? [] : [{ field, value }])),
  ];
}

/**
 * doubtsOf asks what is odd about a certificate of a range, in sentences. For a range without a
 * specification only the dates are checked.
 */
export async function doubtsOf(range: Doc, calibrated: string, due: string, today: string): Promise<string[]> {
  const { drift_per_year: _, years_since: __, ...standard } = (await keptOf(range)).standard ?? {};
  const { doubts } = await call("certificate", { ...standard, calibrated, due, today });
  return doubts.map((d) => sentence(d.message));
}
