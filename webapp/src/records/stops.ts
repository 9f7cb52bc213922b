import { readField } from "../wire/read";
import { keyTo } from "../store/shelf";
import { byKey } from "../store/store";
import { backOf } from "./back";
import { type Json, type RecordState, text, value } from "../wire/records";

/** A planned stop. An empty method means the instrument's own method when the visit begins. */
export type Planned = { instrument: string; method: string };

export type Stop = { instrument: string; state: "open" | "going" | "done"; visit: string | undefined; verdict?: Json };

/** localDay gives the calendar date at the device's place. */
export function localDay(now: Date): string {
  const two = (n: number) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** plannedOf gives the stops of a round as they are planned. */
export function plannedOf(round: RecordState): Planned[] {
  return readField("round", round, "stops");
}

/** takenBack gives why a round was taken back; "" if it was not. */
export function takenBack(round: RecordState): string {
  return readField("round", round, "taken_back").reason;
}

/**
 * stopsOf gives the state of each stop of a round, from its visits, some of which the office has
 * sent back.
 */
export function stopsOf(round: RecordState, visits: RecordState[], back: ReadonlySet<string>): Stop[] {
  return plannedOf(round).map(({ instrument }) => {
    const here = visits
      .filter((v) => text(v, "instrument") === instrument && text(v, "round") === round.id)
      .sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1))[0];
    if (!here) return { instrument, state: "open", visit: undefined };
    const { as_found, as_left } = readField("visit", here, "summary");
    const verdict = (as_left ?? as_found)?.verdict || (value(here, "not_tested") ? "not tested" : "");
    return {
      instrument,
      state: value(here, "signature") === undefined || back.has(here.id) ? "going" : "done",
      visit: here.id,
      verdict,
    };
  });
}

/** stopsNow gives the present state of each stop of a round. */
export async function stopsNow(round: RecordState): Promise<Stop[]> {
  const visits = await byKey(keyTo.round(round.id));
  return stopsOf(round, visits, await backOf(visits));
}
