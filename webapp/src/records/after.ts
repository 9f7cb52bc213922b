import { shapes } from "../wire/records.gen";
import { read, readField } from "../wire/read";
import type { AfterInput } from "../wire/calculations.gen";
import { call } from "../calc/calc";
import { asText, type Json, many, object, type RecordState } from "../wire/records";
import { notTested } from "./halts";
import { speaking } from "./run";

type Doc = { [name: string]: Json };

/** What follows from a visit's results and from the answers about them. */
export type After = {
  failed: boolean;
  asked: boolean;
  open: boolean;
  safety: boolean;
  ways: string[];
  unsettled: number;
};

export type Bypass = { id: string; name: string; state: string; reason: string };

/** bypassesOf lists the bypasses that were set for a visit's test, by their names. */
export const bypassesOf = (visit: RecordState): Bypass[] =>
  many(visit, "bypass")
    .flatMap(([id, v]) => {
      const bypass = read(shapes.visit.bypass, v);
      return bypass.name === "" ? [] : [{ id, ...bypass }];
    })
    .sort((a, b) => a.name.localeCompare(b.name));

/**
 * afterOf asks what follows from a visit. said has the answers about a failure. Refuses: CalcError
 * if something is missing.
 */
export async function afterOf(
  visit: RecordState,
  runs: RecordState[],
  said: Doc = object(visit, "disposition"),
  date = "",
): Promise<After> {
  const { found, left } = notTested(visit) === "" ? speaking(visit, runs) : { found: undefined, left: undefined };
  const verdict = (run: RecordState | undefined) => readField("run", run, "finding").verdict;
  const safety = [found, left].some((r) => readField("run", r, "plan").as_found_once === true);
  const { way } = said;
  const doc: Doc = {
    kind: readField("visit", visit, "method").definition.kind,
    safety,
    ...(verdict(found) === "" ? {} : { found: verdict(found) }),
    ...(verdict(left) === "" ? {} : { left: verdict(left) }),
    ...(asText(way) === "" ? {} : { said }),
    bypasses: bypassesOf(visit).map(({ name, state, reason }) => ({ name, state, reason })),
    ...(date === "" ? {} : { date }),
  };
  const { failed, asked, open, ways, bypasses_unsettled: unsettled } = await call("after", doc as AfterInput);
  return { failed, asked, open, safety, ways, unsettled };
}

/** afterSummary is what every phone keeps of a failure; {} if nothing failed. */
export function afterSummary(visit: RecordState, a: After): Doc {
  const { way, until } = object(visit, "disposition");
  return a.failed
    ? {
        after: {
          open: a.open,
          safety: a.safety,
          way: asText(way),
          ...(asText(until) === "" ? {} : { until: asText(until) }),
        },
      }
    : {};
}
