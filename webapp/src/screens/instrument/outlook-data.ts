import { readField } from "../../wire/read";
import type { KinInput, PastInput, PastOutput } from "../../wire/calculations.gen";
import { asNumber, object, type RecordState, text, value } from "../../wire/records";

export type History = PastOutput["history"];

/** pastOf writes the input for an instrument's finished visits. */
export const pastOf = (visits: RecordState[]): PastInput => ({
  visits: visits.map((v) => ({
    id: v.id,
    signed: value(v, "signature") !== undefined,
    started: text(v, "started"),
    adjusted: readField("visit", v, "adjusted").done === true,
    draft: (asNumber(object(v, "method")["version"]) ?? 1) < 1,
    summary: object(v, "summary"),
  })),
});

/** The history of one point for the chart: day and error. */
export type Spot = { at: number; error: number };

/** courseOf gives the as-found errors at a point over the years. */
export function courseOf(history: History, point: number): { spots: Spot[]; limit: number | undefined } {
  let limit: number | undefined;
  const spots = history.flatMap(({ date, errors }) => {
    const e = errors.find((x) => Number(x.point) === point);
    limit = e?.limit ?? limit;
    return e === undefined ? [] : [{ at: Date.parse(date), error: e.error }];
  });
  return { spots, limit };
}

/** kinOf writes the input for the results of instruments like this one. */
export function kinOf(instrument: RecordState, instruments: RecordState[], visits: RecordState[]): KinInput {
  const kind = (i: RecordState) => ({
    limit: value(i, "limit") ?? null,
    interval_months: value(i, "interval_months") ?? null,
  });
  return {
    instrument: kind(instrument),
    instruments: instruments.map((i) => ({ id: i.id, ...kind(i) })),
    visits: visits.map((v) => ({
      instrument: text(v, "instrument"),
      verdict: readField("visit", v, "summary").as_found?.verdict ?? "",
    })),
  };
}
