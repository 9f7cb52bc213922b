import { readField } from "../wire/read";
import { call } from "../calc/calc";
import type { ChooseInput, ChooseOutput } from "../wire/calculations.gen";
import { asObject, asText, type Json, list, object, type RecordState, text, value } from "../wire/records";
import { airBeside } from "./air";
import { instrumentOf, keptOf } from "./item";
import { definitionOf } from "./sheet";

type Doc = { [name: string]: Json };

/** What speaks against using a standard's range here, as the calculation says it. */
export type Objection = ChooseOutput["list"][number]["objections"][number];

/** One range of a standard, and what speaks against it. */
export type Candidate = {
  standard: RecordState;
  index: number;
  original: Doc;
  /** The range in the instrument's unit; as it was where it measures something else. */
  range: Doc;
  /** The ratio of the limit to the standard's uncertainty at the point where that is worst. */
  worst: { ratio: number; point: string } | undefined;
  objections: Objection[];
  /** No reason makes it a standard for this visit. */
  barred: boolean;
  /** A barometer must stand beside it. */
  barometer: boolean;
};

/** What is wanted of a standard: the ratio of the limit to its expanded uncertainty. */
export type Demand = { needed: number };

/** What was found: the ranges, and whether a meter reads a signal here. */
export type Found = { demand: Demand | undefined; meter: boolean; list: Candidate[] };

/** What is chosen beside the standard: what reads a signal, or what measures the air. */
export type Beside = "meter" | "barometer";

/** chooseFor writes what is asked about the ranges of standards for a visit on a day. */
async function chooseFor(
  visit: RecordState,
  standards: RecordState[],
  today: string,
  as?: Beside,
): Promise<ChooseInput> {
  const codes = object(visit, "cautions")["codes"];
  return {
    method: definitionOf(visit),
    instrument: await instrumentOf(visit),
    own: text(visit, "instrument"),
    today,
    ...(as ? { [as]: true } : {}),
    ...(as === "barometer" ? airBeside({ [as]: true }, value(visit, "surroundings")) : {}),
    medium: readField("visit", visit, "item").medium,
    cautions: Array.isArray(codes) ? codes.map(asText) : [],
    standards: standards.map((s) => ({
      id: s.id,
      name: text(s, "name"),
      status: text(s, "status"),
      due: text(s, "due"),
      calibrated: text(s, "calibrated"),
      medium: text(s, "medium"),
      cleaned_for_oxygen: text(s, "cleaned_for_oxygen"),
      ranges: list(s, "ranges").map(asObject),
    })),
  };
}

/**
 * candidatesFor lists every range of every standard, the best first, in one call; for a meter those
 * that read the kind of signal, for a barometer those that measure absolute pressure.
 */
export async function candidatesFor(
  visit: RecordState,
  standards: RecordState[],
  today: string,
  as?: Beside,
): Promise<Found> {
  const said = await call("choose", await chooseFor(visit, standards, today, as));
  const byId = new Map(standards.map((s) => [s.id, s]));
  return {
    demand: said.needed_ratio === undefined ? undefined : { needed: said.needed_ratio },
    meter: said.meter === true,
    list: said.list.flatMap(({ standard: id, index, range, worst, objections, barred = false, barometer = false }) => {
      const standard = byId.get(id);
      const original = asObject(list(standard, "ranges")[index]);
      return standard ? [{ standard, index, original, range, worst, objections, barred, barometer }] : [];
    }),
  };
}

/**
 * usedOf is what a visit keeps of a standard that was chosen: its range in the unit that is judged
 * in, a copy of its record, and the reason where anything speaks against it.
 */
export async function usedOf(c: Candidate, reason: string): Promise<Doc> {
  const { snapshot } = await keptOf(c.original, c.standard);
  return { id: c.standard.id, range: c.range, snapshot, ...(c.objections.length > 0 ? { reason } : {}) };
}
