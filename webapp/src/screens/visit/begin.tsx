import { readField } from "../../wire/read";
import { Button } from "../../parts/button";
import { commit } from "../../store/store";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { Complaint, useKeep } from "../../nav/keep";
import { expand } from "../../records/sheet";
import { Connect } from "./connect";

const w = visitWords.run;

/** beginRun makes the plan and the run's record. */
export async function beginRun(visit: RecordState, label: "as found" | "as left" | "repeat"): Promise<void> {
  const plan = await expand(visit, label);
  await commit({
    kind: "run",
    site: visit.site,
    parent: visit.id,
    set: [
      { field: "label", value: label },
      { field: "plan", value: plan },
    ],
  });
}

/** Begin starts a run. */
export function Begin({ visit, label }: { visit: RecordState; label: "as found" | "as left" }) {
  const k = useKeep();
  return (
    <>
      <h1>{w.start(w.label[label] ?? label)}</h1>
      <p>{label === "as found" ? w.startHint : visitWords.result.adjustHint}</p>
      {label === "as left" ? <p class="quiet">{w.leftHint}</p> : <Connect visit={visit} opened />}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => k.keep(() => beginRun(visit, label))}>
        {w.start(w.label[label] ?? label)}
      </Button>
    </>
  );
}

/**
 * locked says that a run must be the only one of its label: a safety function is not tried again
 * until it does better than the first time.
 */
export function locked(run: RecordState): boolean {
  return readField("run", run, "plan").as_found_once === true;
}
