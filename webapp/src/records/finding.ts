import type {
  EvaluateAirFinding,
  EvaluateBurstFinding,
  EvaluateGaugeFinding,
  EvaluateLeakFinding,
  EvaluateSwitchFinding,
  EvaluateProgrammeFinding,
} from "../wire/calculations.gen";
import type { Json } from "../wire/records";

/** Part is a document of which anything may be missing. */
export type Part<T> = T extends (infer I)[]
  ? Part<I>[]
  : T extends object
    ? { [K in keyof T]?: Part<T[K]> | undefined }
    : T;

type Findings = {
  gauge: EvaluateGaugeFinding;
  air: EvaluateAirFinding;
  leak: EvaluateLeakFinding;
  switch: EvaluateSwitchFinding;
  burst: EvaluateBurstFinding;
  programme: EvaluateProgrammeFinding;
};

export type FindingOf<K extends keyof Findings> = Part<Findings[K]>;
export type Result = Part<EvaluateLeakFinding["results"][number]> & { condition?: string };

/**
 * findingOf reads a finding of a kind of work. The calculation wrote it and the office has
 * recalculated it. A finding of an earlier version lacks newer members, so any member may be
 * missing.
 */
export const findingOf = <K extends keyof Findings>(finding: { [name: string]: Json }, _kind: K): FindingOf<K> =>
  finding as FindingOf<K>;

/** resultsOf reads the figures that every kind of work except the gauge's gives. */
export const resultsOf = (finding: { [name: string]: Json }): Result[] => findingOf(finding, "leak").results ?? [];
