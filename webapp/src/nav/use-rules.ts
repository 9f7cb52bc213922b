import { useEffect, useState } from "preact/hooks";
import { askRules, type Rules } from "../records/rules";
import type { RecordState } from "../wire/records";

/** A visit and its runs with the answer of the rules. */
export type Ruled = { visit: RecordState; runs: RecordState[]; rules: Rules };

/**
 * useRules asks the rules about a visit whenever it or one of its runs changes. The earlier answer
 * stays until the new one comes.
 */
export function useRules(
  visit: RecordState | null | undefined,
  runs: RecordState[] | undefined,
): Ruled | "fails" | undefined {
  const [known, set] = useState<Ruled | "fails" | undefined>();
  useEffect(() => {
    if (!visit || !runs) return;
    let here = true;
    askRules(visit, runs).then(
      (rules) => here && set({ visit, runs, rules }),
      (e: unknown) => {
        console.error(e);
        if (here) set("fails");
      },
    );
    return () => {
      here = false;
    };
  }, [visit, runs]);
  return known;
}
