import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { SignaturePad, type Stroke } from "../../parts/signature-pad";
import { link } from "../../link/link";
import { useLink } from "../../nav/status";
import type { Json, RecordState } from "../../wire/records";
import { useRecord } from "../../store/hooks";
import { visitWords } from "../../words/visit";
import { renew } from "./amend";
import { forgetDrafts } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";
import { afterOf, afterSummary } from "../../records/after";
import { identityOf } from "../../records/person";
import { askRules, rulesOf } from "../../records/rules";

const w = visitWords.finish;

/**
 * keyed adds the content of the visit and its runs that the signature covers, and the signature by
 * this device's key; neither if there is no key.
 */
async function keyed(
  visit: RecordState,
  runs: RecordState[],
  said: { covers: string[]; [name: string]: Json },
): Promise<{ [name: string]: Json }> {
  const by = link.now().user?.id ?? "";
  try {
    const keys = await import("../../store/keys");
    const value = { ...said, content: await keys.content([visit, ...runs], said.covers) };
    const { proof } = await keys.prove({ by, field: "signature", record: visit.id, value });
    return proof === undefined ? said : { ...value, proof };
  } catch (e) {
    console.error(e); // the key is only an additional proof; the signature is the person's
    return said;
  }
}

/**
 * Sign takes the signature of the logged-in person. It covers the visit and its runs in their
 * present state.
 */
export function Sign({ visit, runs, onBack }: { visit: RecordState; runs: RecordState[]; onBack: () => void }) {
  const user = useLink().user;
  const person = useRecord(user?.id ?? "");
  const { name, as } = identityOf(user, person ?? undefined);
  const [strokes, setStrokes] = useState<Stroke[]>([]);
  const k = useKeep();
  const go = () => {
    if (strokes.length === 0) return k.say(w.drawNeeded);
    k.keep(async () => {
      const whole = await renew(visit, runs);
      const { summary, covers } = await askRules(visit, whole);
      const said = { name, strokes, at: new Date().toISOString(), covers, of: ["visit", "runs"] };
      await put(visit, {
        summary: { ...summary, ...afterSummary(visit, await afterOf(visit, whole)) },
        signature: await keyed(visit, whole, said),
      });
      forgetDrafts(visit.id);
    });
  };
  return (
    <>
      <h1>{w.signTitle}</h1>
      <p>{w.covers(rulesOf(visit).runs.length)}</p>
      <p>{w.signer(name, as)}</p>
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
