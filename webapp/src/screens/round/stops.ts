import { asObject, asText, list, type RecordState, sentBack, text, value } from "../../wire/records";

export type Stop = { instrument: string; state: "open" | "going" | "done"; visit: string | undefined };

/** localDay gives the calendar date where the device is. */
export function localDay(now: Date): string {
  const two = (n: number) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** stopsOf tells how far each stop of a round is, from the visits that belong to it. */
export function stopsOf(round: RecordState, visits: RecordState[]): Stop[] {
  return list(round, "stops").map((s) => {
    const instrument = asText(asObject(s)["instrument"]);
    const here = visits
      .filter((v) => text(v, "instrument") === instrument && text(v, "round") === round.id)
      .sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1))[0];
    if (!here) return { instrument, state: "open", visit: undefined };
    return { instrument, state: value(here, "signature") === undefined || sentBack(here).length > 0 ? "going" : "done", visit: here.id };
  });
}
