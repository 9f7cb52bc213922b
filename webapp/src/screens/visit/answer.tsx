import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { NumberPad } from "../../parts/number-pad";
import { putBlob } from "../../store/store";
import { type Json, newId, type RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { readDecimal } from "../../words/words";
import { useDraft } from "./draft";
import { amount } from "./instruct";
import { Complaint, put, useKeep } from "./keep";
import { shrink } from "./photo";
import type { Entry, Step } from "./run";

const w = visitWords.run;

type Props = {
  run: RecordState;
  step: Step;
  correcting: Entry | undefined;
  onKept: () => void;
  onSkip: (() => void) | undefined;
  keepCapture?: ((capture: { [name: string]: Json }) => Promise<void>) | undefined;
};

/** Answer asks one question of a plan: a number, yes or no, a text or a photo. */
export function Answer({ run, step, correcting, onKept, onSkip, keepCapture }: Props) {
  const [typed, setTyped] = useDraft(`${run.id} ${step.id} answer ${correcting?.id ?? ""}`);
  const [working, setWorking] = useState(false);
  const k = useKeep();
  const keep = (value: string, unit = "") => {
    const capture: { [name: string]: Json } = { step: step.id, of: "answer", value, unit, at: new Date().toISOString() };
    if (correcting) {
      capture["supersedes"] = correcting.id;
      capture["reason"] = w.reasons[0] ?? "";
    }
    k.keep(async () => {
      await (keepCapture ? keepCapture(capture) : put(run, { [`capture.${newId()}`]: capture }));
      setTyped("");
      onKept();
    });
  };
  const number = () => {
    const read = readDecimal(typed);
    if (read === undefined) return k.say(w.number);
    keep(read, step.unit);
  };
  const photo = (file: File | undefined) => {
    if (!file) return;
    setWorking(true);
    shrink(file)
      .then(putBlob)
      .then((sha256) => keep(sha256))
      .catch((e: unknown) => {
        console.error(e);
        k.say(visitWords.finish.photoFails);
      })
      .finally(() => setWorking(false));
  };
  return (
    <div class="typed">
      <p class="instruction">{step.text}</p>
      {step.as === "number" ? <NumberPad label={w.answer} value={typed} onChange={setTyped} unit={step.unit} /> : null}
      {step.as === "text" ? <Field label={w.answer} value={typed} onInput={setTyped} lines={2} /> : null}
      <Complaint error={k.error} />
      <div class="buttons">
        {step.as === "yes" ? (
          <>
            <Button kind="main" size="tall" disabled={k.busy} onClick={() => keep("yes")}>
              {w.yes}
            </Button>
            <Button size="tall" disabled={k.busy} onClick={() => keep("no")}>
              {w.no}
            </Button>
          </>
        ) : null}
        {step.as === "number" ? (
          <Button kind="main" size="tall" wide disabled={k.busy} onClick={number}>
            {readDecimal(typed) === undefined ? visitWords.keep : `${visitWords.keep} ${amount(readDecimal(typed) ?? "", step.unit)}`}
          </Button>
        ) : null}
        {step.as === "text" ? (
          <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => (typed.trim() === "" ? k.say(w.answerNeeded) : keep(typed.trim()))}>
            {visitWords.keep}
          </Button>
        ) : null}
        {step.as === "photo" ? (
          <label class="button plain tall file">
            {visitWords.finish.photo}
            <input
              type="file"
              accept="image/*"
              capture="environment"
              disabled={working || k.busy}
              onChange={(e) => {
                photo(e.currentTarget.files?.[0]);
                e.currentTarget.value = "";
              }}
            />
          </label>
        ) : null}
        {onSkip ? (
          <Button kind="quiet" size="tall" onClick={onSkip}>
            {correcting ? visitWords.cancel : w.goOn}
          </Button>
        ) : null}
      </div>
      <p role="status">{working ? visitWords.finish.working : ""}</p>
    </div>
  );
}
