import { PhotoButton } from "./photo-button";
import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { many, type RecordState } from "../../wire/records";
import { afterWords } from "../../words/after";
import { visitWords } from "../../words/visit";
import { endUntested } from "./closing";
import { useDraft } from "./draft";
import { keepPhoto } from "./photo";
import { Complaint, useKeep } from "../../nav/keep";

const w = afterWords.untested;

/** Untested ends a visit before its first step: the reason, in a sentence, with a photo. */
export function Untested({ visit, runs, onBack }: { visit: RecordState; runs: RecordState[]; onBack: () => void }) {
  const [cause, choose] = useState<string | undefined>();
  const [reason, setReason] = useDraft(`${visit.id} not tested`);
  const k = useKeep();
  const photos = many(visit, "photo").length;
  const go = () => {
    if (cause === undefined) return k.say(w.choose);
    if (reason.trim() === "") return k.say(w.needed);
    k.keep(() => endUntested(visit, runs, "today", reason.trim(), cause));
  };
  return (
    <>
      <h1>{w.title}</h1>
      <Choice label={w.cause} value={cause} onChange={choose} options={Object.entries(w.causes)} />
      <Field label={w.reason} value={reason} onInput={setReason} lines={2} />
      <div class="buttons">
        <PhotoButton
          label={w.photo}
          disabled={k.busy}
          onFile={(file) => {
            if (file)
              k.keep(async () => ((await keepPhoto(visit, file)) ? undefined : k.say(visitWords.finish.photoFails)));
          }}
        />
      </div>
      {photos > 0 ? <p role="status">{w.photos(photos)}</p> : null}
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
