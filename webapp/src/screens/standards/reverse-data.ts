import type { Part } from "../../records/finding";
import type { ReverseOutput } from "../../wire/calculations.gen";
import { call } from "../../calc/calc";
import type { Json } from "../../wire/records";
import type { Doc } from "./standards-data";
import { sentence } from "../../words/words";

/** One run that used a standard, as the office's API gives it. */
export type Use = {
  visit: string;
  run: string;
  label: string;
  tag: string;
  description: string;
  started: string;
  status: string;
  verdict: string;
  /** The role in which it was used. */
  as: "standard" | "meter" | "barometer";
  standard: Json;
  /** From the standard's calibration to the visit, "" if unknown. */
  years_since: string;
  sheet: Json;
  /** Why it cannot be calculated, "" if it can. */
  unread: string;
};

/** keyOf names a use: a run may use one device twice, in two roles. */
export const keyOf = (use: Pick<Use, "run" | "as">) => `${use.run} ${use.as}`;

export type UsesReply = { uses: Use[]; after: string };

/** One input of the calculation reverse: runs with the same knowledge of the standard. */
export type Piece = { unit: string; before: Doc; after: Doc; affected: { id: string; as: Use["as"]; sheet: Json }[] };

/** A run before or after: the worst point as a share of its limit, and in whole per cent. */
type Side = { verdict: string; worst: number | undefined; ofLimit: string };

/** The outcome for a run. */
export type Outcome = {
  use: Use;
  before: Side;
  after: Side;
  changed: boolean;
  readings: number;
  /**
   * Number of all readings, of those taken where the standard was out, and of those outside the
   * points known now.
   */
  taken: { all: number; out: number; beyond: number };
  fault: string;
};

/**
 * piecesOf asks which runs used a range, and groups those with the same knowledge of it. before is
 * a certificate's points; if undefined, what each visit knew.
 */
export async function piecesOf(
  uses: Use[],
  range: Doc,
  before: Json[] | undefined,
  after: Json[],
  most: number,
  ask: typeof call = call,
): Promise<{ ofRange: Use[]; pieces: Piece[] }> {
  const said = await ask("uses", {
    uses: uses.map(({ standard, years_since, unread }) => ({ standard, years_since, unread: unread !== "" })),
    range,
    ...(before ? { before } : {}),
    after,
    most,
  });
  const named = (places: number[]) => places.flatMap((i) => uses[i] ?? []);
  return {
    ofRange: named(said.of_range),
    pieces: said.pieces.map(({ uses: places, ...piece }) => ({
      ...piece,
      affected: named(places).map((use) => ({ id: keyOf(use), as: use.as, sheet: use.sheet })),
    })),
  };
}

/** notCalculated gives the outcome of a run that cannot be calculated. */
export function notCalculated(use: Use, fault: string): Outcome {
  const open = { verdict: "", worst: undefined, ofLimit: "" };
  return {
    use,
    before: { ...open, verdict: use.verdict },
    after: open,
    changed: false,
    readings: 0,
    taken: { all: 0, out: 0, beyond: 0 },
    fault,
  };
}

/** outcomesOf reads the reply of the calculation reverse for a piece. */
export function outcomesOf({ sheets = [] }: Part<ReverseOutput>, byKey: Map<string, Use>): Outcome[] {
  const side = (
    s: { verdict?: string | undefined; worst_fraction?: number | undefined; of_limit?: string | undefined } | undefined,
  ): Side => ({
    verdict: s?.verdict ?? "",
    worst: s?.worst_fraction,
    ofLimit: s?.of_limit ?? "",
  });
  return sheets.flatMap(({ id = "", before, after, changed = false, readings = [], taken, error }) => {
    const use = byKey.get(id);
    if (!use) return [];
    return [
      {
        use,
        before: side(before),
        after: side(after),
        changed,
        readings: readings.length,
        taken: { all: taken?.readings ?? 0, out: taken?.out ?? 0, beyond: taken?.beyond ?? 0 },
        fault: sentence(error?.message ?? ""),
      },
    ];
  });
}

/**
 * sorted puts changed verdicts first, then single readings, then what was taken where the standard
 * was out, then the rest, each by its day.
 */
export function sorted(all: Outcome[]): Outcome[] {
  const rank = (o: Outcome) => (o.changed ? 0 : o.fault !== "" ? 1 : o.readings > 0 ? 2 : o.taken.out > 0 ? 3 : 4);
  return [...all].sort((a, b) => rank(a) - rank(b) || (a.use.started < b.use.started ? 1 : -1));
}

/** csvOf writes the outcomes as a table for other programs, decimals with a point. */
export function csvOf(all: Outcome[]): string {
  // A spreadsheet takes a text with such a beginning for a formula, also within quotation marks and
  // after spaces.
  const plain = (s: string) =>
    /^ *[=+@\t\r\n|%\uff1d\uff0b\uff0d\uff20-]/.test(s) && !/^-?[\d.]+(e-?\d+)?$/.test(s) ? `'${s}` : s;
  const cell = (s: string) => (/[",\r\n]/.test(s) ? `"${plain(s).replaceAll('"', '""')}"` : plain(s));
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
