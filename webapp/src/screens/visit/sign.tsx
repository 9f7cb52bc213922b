import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { SignaturePad, type Stroke } from "../../parts/signature-pad";
import { useLink } from "../../shell/status";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { renew } from "./amend";
import { forgetDrafts } from "./draft";
import { Complaint, put, useKeep } from "./keep";
import { coveredBy, inOrder, summaryOf } from "./run";

const w = visitWords.finish;

/** Sign takes the signature, which covers the runs as they stand. */
export function Sign({ visit, runs, onBack }: { visit: RecordState; runs: RecordState[]; onBack: () => void }) {
  const user = useLink().user;
  const [name, setName] = useState(user?.name ?? "");
  const [strokes, setStrokes] = useState<Stroke[]>([]);
  const k = useKeep();
  const go = () => {
    if (name.trim() === "") return k.say(w.nameNeeded);
    if (strokes.length === 0) return k.say(w.drawNeeded);
    k.keep(async () => {
      const whole = await renew(visit, runs);
      await put(visit, { summary: summaryOf(visit, whole), signature: { name: name.trim(), strokes, at: new Date().toISOString(), covers: coveredBy(whole) } });
      forgetDrafts(visit.id);
    });
  };
  return (
    <>
      <h1>{w.signTitle}</h1>
      <p>{w.covers(inOrder(runs).length)}</p>
      <Field label={w.name} value={name} onInput={setName} autocomplete="name" />
      <SignaturePad label={w.draw} strokes={strokes} onChange={setStrokes} />
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {w.go}
      </Button>
      <div class="visit-foot">
        <Button kind="quiet" onClick={onBack}>
          {w.back}
        </Button>
      </div>
    </>
  );
}
