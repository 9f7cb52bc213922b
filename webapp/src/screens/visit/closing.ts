import type { RecordState } from "../../wire/records";
import { value } from "../../wire/records";
import { forgetDrafts } from "./draft";
import { put } from "../../nav/keep";
import { effective } from "../../records/run";
import { evaluate } from "../../records/sheet";

/** closeRun evaluates a run and closes it. A run that ends early has a reason. */
export async function closeRun(
  visit: RecordState,
  run: RecordState,
  complete: boolean,
  stopped: string,
): Promise<void> {
  const finding = await evaluate(visit, effective(run), complete);
  await put(run, { finding, closed: { at: new Date().toISOString(), ...(stopped === "" ? {} : { stopped }) } });
  forgetDrafts(run.id);
}

/** endUntested ends a visit without a test. It first closes the open runs. */
export async function endUntested(
  visit: RecordState,
  runs: RecordState[],
  why: string,
  reason: string,
  cause = "",
): Promise<void> {
  for (const run of runs)
    if (run.kind === "run" && value(run, "closed") === undefined) await closeRun(visit, run, false, reason);
  await put(visit, { not_tested: { why, ...(cause === "" ? {} : { cause }), reason, at: new Date().toISOString() } });
}
