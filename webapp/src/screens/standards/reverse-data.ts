import { asNumber, asObject, asText, type Json } from "../../wire/records";
import { yearsBetween } from "../visit/candidates";
import { standardDocument } from "../visit/standard-document";
import { type Doc, sameRange } from "./standards-data";

/** One run that rests on a standard, as the office's API gives it. */
export type Use = {
  visit: string;
  run: string;
  label: string;
  tag: string;
  description: string;
  started: string;
  status: string;
  verdict: string;
  standard: Json;
  sheet: Json;
};
export type UsesReply = { uses: Use[]; after: string; damaged: number };

/** What room reverse is asked at once: runs that knew the same of the standard. */
export type Piece = { unit: string; before: Doc; after: Doc; affected: { id: string; sheet: Json }[] };

/** What became of a run. */
export type Outcome = {
  use: Use;
  before: { verdict: string; worst: number | undefined };
  after: { verdict: string; worst: number | undefined };
  changed: boolean;
  readings: number;
  /** Readings in all, those taken where the standard was out, and those beyond the points of what is known now. */
  taken: { all: number; out: number; beyond: number };
  fault: string;
};

/** knownOf gives what a visit kept of the range it used, in the standard's own unit. */
export function knownOf(use: Use): Doc {
  const kept = asObject(use.standard);
  const original = asObject(asObject(kept["snapshot"])["range"]);
  return asText(original["unit"]) === "" ? asObject(kept["range"]) : original;
}

/** usedWith tells whether a run used a range of the standard. */
export function usedWith(use: Use, range: Doc): boolean {
  return sameRange(knownOf(use), range);
}

/** withPoints gives a range with other points of a certificate. */
export function withPoints(range: Doc, points: Json[] | undefined): Doc {
  if (points === undefined) return range;
  const { points: _, ...rest } = range;
  return points.length === 0 ? rest : { ...rest, points };
}

/** piecesOf puts runs together that knew the same of the standard; before is a certificate's points, or what each visit knew when undefined. */
export function piecesOf(uses: Use[], before: Json[] | undefined, after: Json[], most: number): Piece[] {
  const groups = new Map<string, Piece[]>();
  for (const use of uses) {
    const known = { ...knownOf(use) };
    const years =
      known["drift_per_year"] === undefined ? undefined : yearsBetween(asText(asObject(asObject(use.standard)["snapshot"])["calibrated"]), use.started);
    if (years !== undefined) known["years_since"] = years;
    const was = standardDocument(withPoints(known, before));
    const is = standardDocument(withPoints(known, after));
    if (!was || !is) continue;
    const key = JSON.stringify([known["unit"], was]);
    const list = groups.get(key) ?? [];
    let piece = list.at(-1);
    if (!piece || piece.affected.length >= most) {
      piece = { unit: asText(known["unit"]), before: was, after: is, affected: [] };
      list.push(piece);
      groups.set(key, list);
    }
    piece.affected.push({ id: use.run, sheet: use.sheet });
  }
  return [...groups.values()].flat();
}

/** outcomesOf reads the reply of room reverse about a piece. */
export function outcomesOf(reply: Doc, byRun: Map<string, Use>): Outcome[] {
  const sheets = Array.isArray(reply["sheets"]) ? reply["sheets"].map(asObject) : [];
  const side = (v: Json | undefined) => ({ verdict: asText(asObject(v)["verdict"]), worst: asNumber(asObject(v)["worst_fraction"]) });
  return sheets.flatMap((s) => {
    const use = byRun.get(asText(s["id"]));
    if (!use) return [];
    const error = asObject(s["error"]);
    const taken = asObject(s["taken"]);
    return [
      {
        use,
        before: side(s["before"]),
        after: side(s["after"]),
        changed: s["changed"] === true,
        readings: Array.isArray(s["readings"]) ? s["readings"].length : 0,
        taken: { all: asNumber(taken["readings"]) ?? 0, out: asNumber(taken["out"]) ?? 0, beyond: asNumber(taken["beyond"]) ?? 0 },
        fault: s["error"] === undefined ? "" : `${asText(error["field"])}: ${asText(error["message"])}`,
      },
    ];
  });
}

/** sorted puts what changes first, then single readings, then what was taken where the standard was out, then the rest, each by its day. */
export function sorted(all: Outcome[]): Outcome[] {
  const rank = (o: Outcome) => (o.changed ? 0 : o.fault !== "" ? 1 : o.readings > 0 ? 2 : o.taken.out > 0 ? 3 : 4);
  return [...all].sort((a, b) => rank(a) - rank(b) || (a.use.started < b.use.started ? 1 : -1));
}

/** csvOf writes the outcomes as a table for other programs, decimals with a point. */
export function csvOf(all: Outcome[]): string {
  const cell = (s: string) => (/[",\n]/.test(s) ? `"${s.replaceAll('"', '""')}"` : /^[=+@-]/.test(s) ? `'${s}` : s);
  const number = (x: number | undefined) => (x === undefined ? "" : String(x));
  const rows = all.map((o) => [
    o.use.tag,
    o.use.started,
    o.use.label,
    o.use.status,
    o.before.verdict,
    o.after.verdict,
    number(o.before.worst),
    number(o.after.worst),
    String(o.readings),
    String(o.taken.all),
    String(o.taken.out),
    String(o.taken.beyond),
    o.fault,
    o.use.visit,
  ]);
  const head = [
    "tag",
    "started",
    "run",
    "status",
    "verdict before",
    "verdict after",
    "worst fraction before",
    "worst fraction after",
    "readings changed",
    "readings",
    "readings where it was out",
    "readings beyond the points",
    "fault",
    "visit",
  ];
  return `${[head, ...rows].map((r) => r.map(cell).join(",")).join("\r\n")}\r\n`;
}
