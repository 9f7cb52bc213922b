import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import type { RecordState } from "../../wire/records";
import { afterWords as w } from "../../words/after";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";
import { Result } from "./result";
import { useAfter, WhatNow } from "./what-now";

/** Asked asks whether an instrument that did not fail was adjusted all the same. */
function Asked({ visit }: { visit: RecordState }) {
  const [done, setDone] = useState<"yes" | "no" | undefined>();
  const [note, setNote] = useDraft(`${visit.id} adjusted`);
  const k = useKeep();
  const go = () => {
    if (done === "yes" && note.trim() === "") return k.say(w.adjustNeeded);
    k.keep(() => put(visit, { adjusted: { done: done === "yes", note: note.trim() } }));
  };
  return (
    <>
      <Choice
        label={w.adjusted}
        value={done}
        onChange={setDone}
        options={[
          ["no", w.no],
          ["yes", w.yes],
        ]}
      />
      {done === "yes" ? <Field label={w.adjustNote} value={note} onInput={setNote} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={done === undefined || k.busy} onClick={go}>
        {visitWords.next}
      </Button>
    </>
  );
}

/**
 * Adjusted shows the as-found result and the next step: whether it was adjusted, or after a failure
 * what happens to the instrument. The run before it stays closed.
 */
export function Adjusted({
  visit,
  runs,
  run,
  onRepeat,
}: {
  visit: RecordState;
  runs: RecordState[];
  run: RecordState;
  onRepeat: (() => void) | undefined;
}) {
  const { after } = useAfter(visit, runs);
  return (
    <>
      <h1>{w.result}</h1>
      {after?.failed ? <WhatNow visit={visit} runs={runs} after={after} /> : null}
      <Result visit={visit} run={run} />
      {after === undefined ? <p class="quiet">{words.shell.loading}</p> : after.failed ? null : <Asked visit={visit} />}
      <div class="visit-foot">{onRepeat ? <Button onClick={onRepeat}>{visitWords.finish.repeat}</Button> : null}</div>
    </>
  );
}
