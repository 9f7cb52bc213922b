import { useEffect, useState } from "preact/hooks";
import { asText, type Json, list, object, type RecordState, text } from "../../wire/records";
import { roundWords as w } from "../../words/rounds";
import { showRange } from "../../records/facts";
import { identity } from "../../records/item";
import { type Candidate, candidatesFor, type Objection } from "../../records/candidates";
import type { Colleague } from "./plan-data";

/**
 * visitAs gives a visit as it would begin: the method on the instrument, and nothing measured yet.
 */
async function visitAs(method: RecordState, it: RecordState): Promise<RecordState> {
  const field = (value: Json) => ({
    heads: [{ change: "", value, author: "", device: "", wall: "", stamp: "" }],
    replaced: [],
  });
  return {
    ...it,
    kind: "visit",
    fields: {
      instrument: field(it.id),
      item: field(await identity(it)),
      method: field({ definition: object(method, "definition") }),
      cautions: field({ codes: [...list(method, "cautions"), ...list(it, "cautions")] }),
    },
  };
}

/**
 * within gives the standards that a person's phone has: those of no site, and of their sites. The
 * server decides that (server/office/scope.go). This only keeps the office from planning with a
 * standard that the phone will not find.
 */
export function within(standards: readonly RecordState[], person: Colleague | undefined): RecordState[] {
  return standards.filter(
    (s) => !person || person.sites.length === 0 || s.site === "" || person.sites.includes(s.site),
  );
}

/** unserved says of standards, the best first, why none is suitable; "" if one is. */
export function unserved(found: readonly Candidate[], said: (o: Objection, unit: string) => string): string {
  const best = found[0];
  if (!best) return w.warn.noStandard;
  if (best.objections.length === 0) return "";
  const unit = asText(best.range["unit"]);
  const which = [text(best.standard, "name"), text(best.standard, "serial"), showRange(best.original)]
    .filter(Boolean)
    .join(" ");
  return w.warn.unserved(which, best.objections.map((o) => said(o, unit)).join(", "));
}

/**
 * lookForOne asks, like the phone when choosing a standard, whether one is suitable for a method on
 * an instrument on a day. If not, it says why.
 */
export async function lookForOne(
  method: RecordState,
  it: RecordState,
  standards: RecordState[],
  day: string,
): Promise<string> {
  const visit = await visitAs(method, it);
  const { list } = await candidatesFor(visit, standards, day);
  const { said } = await import("../../views/objections");
  // A standard that needs a barometer is suitable if a barometer is.
  if (list[0]?.objections.length === 0 && list[0].barometer)
    return unserved((await candidatesFor(visit, standards, day, "barometer")).list, said);
  return unserved(list, said);
}

/**
 * useEach runs one task after the other and gives their results by key. It starts again if their
 * input changes.
 */
export function useEach<R>(wanted: ReadonlyMap<string, () => Promise<R>>, base: unknown): ReadonlyMap<string, R> {
  const [found, set] = useState<{ base: unknown; came: ReadonlyMap<string, R> }>({ base, came: new Map() });
  const came: ReadonlyMap<string, R> = found.base === base ? found.came : new Map();
  useEffect(() => {
    let here = true;
    void (async () => {
      for (const [key, work] of wanted) {
        if (!here) return;
        if (came.has(key)) continue;
        const one = await work();
        if (here) set((old) => ({ base, came: new Map([...(old.base === base ? old.came : []), [key, one]]) }));
      }
    })();
    return () => {
      here = false;
    };
  }, [[...wanted.keys()].sort().join("\n"), base]);
  return came;
}
