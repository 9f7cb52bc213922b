import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Bench } from "../../parts/bench";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { PadKeys, PadValue } from "../../parts/number-pad";
import { putBlob } from "../../store/store";
import { asText, type Json, newId, type RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { readDecimal } from "../../words/words";
import { useDraft } from "./draft";
import { amount } from "../../views/instruct";
import { Complaint, put, useKeep } from "../../nav/keep";
import { against } from "./later-stops";
import { shrink } from "./photo";
import { type Entry, effective, type Step } from "../../records/run";
import { sheetOf } from "../../records/sheet";
import { inUnit, useUnits } from "../../records/units";
import { Equal } from "./equal";

const w = visitWords.run;

type Props = {
  visit: RecordState;
  run: RecordState;
  step: Step;
  correcting: Entry | undefined;
  onKept: () => void;
  onSkip: (() => void) | undefined;
  keepCapture?: ((capture: { [name: string]: Json }) => Promise<void>) | undefined;
  head?: ComponentChildren;
  foot?: ((own: ComponentChildren) => ComponentChildren) | undefined;
};

/** Answer asks one question of a plan: a number, yes or no, a text or a photo. */
export function Answer({ visit, run, step, correcting, onKept, onSkip, keepCapture, head, foot }: Props) {
  const [typed, setTyped] = useDraft(`${run.id} ${step.id} answer ${correcting?.id ?? ""}`);
  const [working, setWorking] = useState(false);
  const k = useKeep();
  const units = useUnits(step.unit);
  const [picked, pick] = useDraft(`${run.id} unit ${step.unit} answer`);
  const unit = units.includes(picked) ? picked : step.unit;
  const keep = (value: string, asTyped = "") => {
    const capture: { [name: string]: Json } = {
      step: step.id,
      of: "answer",
      value,
      unit: step.as === "number" ? step.unit : "",
      at: new Date().toISOString(),
      ...(asTyped === "" ? {} : { typed: asTyped }),
    };
    if (correcting) {
      capture["supersedes"] = correcting.id;
      capture["reason"] = w.reasons[0] ?? "";
    }
    k.keep(async () => {
      const wrong =
        step.as === "number" || step.as === "text"
          ? await against(sheetOf(visit, [], false), effective(run), {
              step: step.id,
              of: "answer",
              value,
              unit: asText(capture["unit"]),
            })
          : undefined;
      if (wrong?.level === "refuse") return k.say(wrong.message);
      await (keepCapture ? keepCapture(capture) : put(run, { [`capture.${newId()}`]: capture }));
      setTyped("");
      onKept();
    });
  };
  const number = () => {
    const read = readDecimal(typed);
    if (read === undefined) return k.say(typed.trim() === "" ? w.number : w.noNumber(typed));
    if (unit === step.unit) return keep(read);
    inUnit(read, unit, step.unit).then(
      (value) => keep(value, `${read} ${unit}`),
      (e: unknown) => {
        console.error(e);
        k.say(w.noNumber(typed));
      },
    );
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
  const pad = { label: w.answer, value: typed, onChange: setTyped, unit, units, onUnit: pick, onEnter: number };
  const read = readDecimal(typed);
  const skip = onSkip ? (
    <Button kind="quiet" onClick={onSkip}>
      {correcting ? visitWords.cancel : w.goOn}
    </Button>
  ) : null;
  return (
    <Bench
      name="typed"
      head={
        <>
          <p class="instruction">{step.text}</p>
          {head}
        </>
      }
      body={
        <>
          {step.as === "number" ? <PadValue {...pad} /> : null}
          {unit === step.unit || read === undefined ? null : (
            <p class="small">
              <Equal value={read} unit={unit} to={step.unit} />
            </p>
          )}
          {step.as === "text" ? <Field label={w.answer} value={typed} onInput={setTyped} lines={2} /> : null}
          <Complaint error={k.error} />
          <p role="status">{working ? visitWords.finish.working : ""}</p>
        </>
      }
      act={
        step.as === "yes" ? (
          <div class="pair apart">
            <Button kind="main" size="tall" disabled={k.busy} onClick={() => keep("yes")}>
              {w.yes}
            </Button>
            <Button size="tall" disabled={k.busy} onClick={() => keep("no")}>
              {w.no}
            </Button>
          </div>
        ) : step.as === "number" ? (
          <>
            <PadKeys {...pad} />
            <Button kind="main" size="tall" wide disabled={k.busy} onClick={number}>
              {read === undefined ? visitWords.keep : visitWords.keepIt(amount(read, unit))}
            </Button>
          </>
        ) : step.as === "text" ? (
          <Button
            kind="main"
            size="tall"
            wide
            disabled={k.busy}
            onClick={() => (typed.trim() === "" ? k.say(w.answerNeeded) : keep(typed.trim()))}
          >
            {visitWords.keep}
          </Button>
        ) : (
          <label class="button main tall wide file">
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
        )
      }
      foot={foot ? foot(skip) : skip}
    />
  );
}
