import { readField } from "../wire/read";
import type { RecordState } from "../wire/records";
import type { Entry, Step } from "./run";

/** notTested gives why a visit ended without a test, "" if it did not. */
export const notTested = (visit: RecordState): string => readField("visit", visit, "not_tested").reason;

/** unsafeIn gives the first safety question of a plan whose answer is not yes, and that answer. */
export function unsafeIn(steps: Step[], entries: Entry[]): { step: Step; entry: Entry } | undefined {
  for (const step of steps) {
    const entry = step.makeSafe === "" ? undefined : entries.findLast((e) => e.step === step.id && e.of === "answer");
    if (entry && entry.value !== "yes") return { step, entry };
  }
  return undefined;
}
