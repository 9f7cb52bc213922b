import { useLayoutEffect, useRef, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { LimitBand } from "../../parts/limit-band";
import { isVerdict, Mark } from "../../parts/mark";
import { NumberPad } from "../../parts/number-pad";
import { asNumber, asText, type Json, newId, type RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { readDecimal, showError } from "../../words/words";
import { useDraft } from "./draft";
import { amount } from "./instruct";
import { Complaint, put, useKeep } from "./keep";
import type { Live } from "./kinds/kind";
import { Latest } from "./latest";
import { type Ask, doubtful, type Entry, effective } from "./run";
import { definitionOf, evaluate, instrumentOf, type Reading, readingsOf } from "./sheet";

const w = visitWords.run;

type Typing = {
  visit: RecordState;
  run: RecordState;
  ask: Ask;
  correcting: Entry | undefined;
  early: boolean;
  onKept: () => void;
  onSkip: (() => void) | undefined;
  onApplied?: (() => void) | undefined;
  live?: Live | undefined;
  /** Keeps a correction of a run that is closed, with what follows from it; such a reading keeps the moment at which it was read. */
  keepCapture?: ((capture: { [name: string]: Json }) => Promise<void>) | undefined;
};

/** Typed is the pad for one value, with the error it means, before it is kept. */
export function Typed({ visit, run, ask, correcting, early, onKept, onSkip, onApplied, live, keepCapture }: Typing) {
  const draft = `${run.id} ${ask.step.id} ${ask.of} ${correcting?.id ?? ""}`;
  const [typed, setTyped] = useDraft(`${draft} value`);
  const [reason, setReason] = useDraft(`${draft} reason`);
  const [preview, setPreview] = useState<{ [name: string]: Json } | "none" | undefined>();
  const turn = useRef(0);
  const [evaluating] = useState(() => new Latest<{ [name: string]: Json }>());
  const k = useKeep();
  const item = instrumentOf(visit);
  const own = asText(item["unit"]);
  const unit = correcting?.unit || (ask.of === "applied" && ask.step.of !== "applied" ? own : ask.step.unit || own);
  const read = readDecimal(typed);
  const target = asNumber(ask.step.target);
  const ofRange = unit === own && ["indicated", "applied", "before_tap"].includes(ask.of);
  const doubt = read === undefined || !ofRange ? undefined : doubtful(read, { low: asNumber(item["low"]) ?? 0, high: asNumber(item["high"]) ?? 0 }, target);
  const hurried = early && correcting === undefined;
  const needs = doubt !== undefined || correcting !== undefined || early;
  const moment = () => (keepCapture && correcting ? correcting.at : new Date().toISOString());
  // Before the next frame, not after it: the verdict is asked for with the key press.
  useLayoutEffect(() => {
    const mine = ++turn.current;
    if (read === undefined || ask.of === "before_tap") return setPreview(undefined);
    const others = effective(run).filter((e) => (keepCapture ? e.id !== correcting?.id : !(e.step === ask.step.id && e.of === ask.of)));
    evaluating.ask(
      () => evaluate(visit, [...others, { step: ask.step.id, of: ask.of, value: read, unit, at: moment() }], false),
      (f) => mine === turn.current && setPreview(f),
      (e) => {
        console.error(e);
        if (mine === turn.current) setPreview("none");
      },
    );
  }, [read, ask.step.id, ask.of]);
  const go = () => {
    if (read === undefined) return k.say(w.number);
    if (needs && reason.trim() === "") return k.say(visitWords.reasonNeeded);
    const capture: { [name: string]: Json } = { step: ask.step.id, of: ask.of, value: read, unit, at: moment() };
    if (correcting) capture["supersedes"] = correcting.id;
    if (needs) capture["reason"] = reason.trim();
    k.keep(async () => {
      await (keepCapture ? keepCapture(capture) : put(run, { [`capture.${newId()}`]: capture }));
      setTyped("");
      setReason("");
      onKept();
    });
  };
  const tapped = ask.of === "indicated" && definitionOf(visit)["tap"] === true;
  const finding = typeof preview === "object" ? preview : undefined;
  const reading = finding && readingsOf(finding).find((r) => r.step === ask.step.id);
  const Live = live;
  return (
    <div class="typed">
      {tapped ? <p class="instruction">{w.tap}</p> : null}
      <NumberPad
        label={tapped ? w.afterTap : ask.step.text || (w.ofs[ask.of] ?? ask.of)}
        value={typed}
        onChange={setTyped}
        unit={unit}
        resolution={ask.of === "applied" || !ofRange ? undefined : asText(item["resolution"]) || undefined}
        start={ask.step.target}
      />
      <div class="preview" role="status">
        {preview === "none" ? <p>{w.noPreview}</p> : null}
        {reading ? <Shown reading={reading} unit={unit} /> : null}
      </div>
      {finding && Live ? <Live visit={visit} run={run} step={ask.step} finding={finding} /> : null}
      {needs ? (
        <>
          {doubt ? (
            <p class="complaint" role="alert">
              {doubt === "range" ? w.doubtRange : w.doubtFar}
            </p>
          ) : null}
          {correcting ? (
            <div class="reasons">
              {w.reasons.map((r) => (
                <Button key={r} pressed={reason === r} onClick={() => setReason(r)}>
                  {r}
                </Button>
              ))}
            </div>
          ) : null}
          <Field label={hurried ? (doubt ? w.readEarlyDoubtful : w.readEarly) : visitWords.reason} value={reason} onInput={setReason} />
        </>
      ) : null}
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
          {read === undefined ? visitWords.keep : `${visitWords.keep} ${amount(read, unit)}`}
        </Button>
        {onSkip ? (
          <Button kind="quiet" size="tall" onClick={onSkip}>
            {correcting || ask.of === "applied" ? visitWords.cancel : w.goOn}
          </Button>
        ) : null}
        {onApplied ? (
          <Button kind="quiet" size="tall" onClick={onApplied}>
            {w.appliedToo}
          </Button>
        ) : null}
      </div>
    </div>
  );
}

function Shown({ reading: r, unit }: { reading: Reading; unit: string }) {
  return (
    <>
      <p>
        <span>{w.error(`${showError(r.error, Math.max(Math.abs(r.low), Math.abs(r.high)))}\u00a0${unit}`)}</span>
        {isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}
      </p>
      <LimitBand error={r.error} low={r.low} high={r.high} unit={unit} inside={r.verdict === "pass" || r.verdict === "conditional-pass"} />
    </>
  );
}
