import { readField } from "../wire/read";
import { call } from "../calc/calc";
import type { ChooseInput, ChooseOutput } from "../wire/calculations.gen";
import { asObject, asText, type Json, list, object, type RecordState, text, value } from "../wire/records";
import { airBeside } from "./air";
import { instrumentOf, keptOf } from "./item";
import { definitionOf } from "./sheet";
import { standardsAsked } from "./standards";

type Doc = { [name: string]: Json };

/** An objection of the calculation to using a standard's range here. */
export type Objection = ChooseOutput["list"][number]["objections"][number];

/** One range of a standard, with the objections to it. */
export type Candidate = {
  standard: RecordState;
  index: number;
  original: Doc;
  /** The range in the instrument's unit; in its own unit if it measures another quantity. */
  range: Doc;
  /** The ratio of the limit to the standard's uncertainty at the worst point. */
  worst: { ratio: number; point: string } | undefined;
  objections: Objection[];
  /** No reason can make it a standard for this visit. */
  barred: boolean;
  /** It needs a barometer beside it. */
  barometer: boolean;
};

/** The required ratio of the limit to a standard's expanded uncertainty. */
export type Demand = { needed: number };

/** The result: the ranges, and whether a meter reads a signal here. */
export type Found = { demand: Demand | undefined; meter: boolean; list: Candidate[] };

/** What is chosen besides the standard: what reads a signal, or what measures the air. */
export type Beside = "meter" | "barometer";

/** chooseFor asks about the ranges of standards for a visit on a day. */
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
    standards: standardsAsked(standards),
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
 * usedOf is what a visit keeps of a chosen standard: its range in the unit of the verdict, a copy
 * of its record, and the reason if there are objections.
 */
export async function usedOf(c: Candidate, reason: string): Promise<Doc> {
  const { snapshot } = await keptOf(c.original, c.standard);
  return { id: c.standard.id, range: c.range, snapshot, ...(c.objections.length > 0 ? { reason } : {}) };
}
