import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { NumberPad } from "../../parts/number-pad";
import { asText, type Json, newId, type RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { readDecimal, showTime } from "../../words/words";
import { useDraft } from "./draft";
import { amount } from "./instruct";
import { Complaint, put, useKeep } from "./keep";
import type { Finding, Live } from "./kinds/kind";
import { Latest } from "./latest";
import { type Entry, effective, secondsLeft, type Step } from "./run";
import { evaluate, instrumentOf } from "./sheet";
import { useClock } from "./timer";

const w = visitWords.run;

type Props = {
  visit: RecordState;
  run: RecordState;
  step: Step;
  entries: Entry[];
  busy: boolean;
  live: Live | undefined;
  /** Ends the step: no further values. */
  onEnd: () => void;
  onCorrect: (e: Entry) => void;
};

/** due tells in how many seconds the next value is wanted, counted by the wall from the first one. */
export function due(first: number, count: number, every: number, now: number): number {
  return secondsLeft(first, count * every, now);
}

/** Many takes any number of values of one step, such as the pressures of a leak test or of a settling, until it is ended. */
export function Many({ visit, run, step, entries, busy, live: Live, onEnd, onCorrect }: Props) {
  const of = step.do === "settle" ? "settle" : step.of || "indicated";
  const unit = step.unit || asText(instrumentOf(visit)["unit"]);
  const [typed, setTyped] = useDraft(`${run.id} ${step.id} ${of} value`);
  const [finding, setFinding] = useState<Finding | undefined>();
  const [evaluating] = useState(() => new Latest<Finding>());
  const k = useKeep();
  const now = useClock();
  const mine = entries.filter((e) => e.step === step.id && e.of === of);
  const first = mine.length > 0 ? Date.parse(mine[0]?.at ?? "") : Number.NaN;
  const read = readDecimal(typed);
  const newest = mine.at(-1)?.id ?? "";
  useEffect(() => {
    const more = read === undefined ? [] : [{ step: step.id, of, value: read, unit, at: new Date().toISOString() }];
    if (!Live || mine.length + more.length === 0) return setFinding(undefined);
    evaluating.ask(
      () => evaluate(visit, [...effective(run), ...more], false),
      setFinding,
      (e) => {
        console.error(e);
        setFinding(undefined);
      },
    );
  }, [read, newest, Live]);
  const go = () => {
    if (read === undefined) return k.say(w.number);
    const capture: { [name: string]: Json } = { step: step.id, of, value: read, unit, at: new Date().toISOString() };
    k.keep(async () => {
      await put(run, { [`capture.${newId()}`]: capture });
      setTyped("");
    });
  };
  const timed = step.do === "settle" ? step.atMost : step.seconds;
  const left = Number.isNaN(first) || timed === 0 ? undefined : secondsLeft(first, timed, now);
  const next = Number.isNaN(first) || step.every === 0 ? undefined : due(first, mine.length, step.every, now);
  return (
    <div class="typed">
      {mine.length > 0 ? (
        <ul class="before" aria-label={w.values}>
          {mine.slice(-4).map((e) => (
            <li key={e.id}>
              <span>
                <strong>{amount(e.value, e.unit)}</strong> <span class="quiet small">{showTime(e.at)}</span>
              </span>
              <Button kind="quiet" onClick={() => onCorrect(e)}>
                {w.correct}
              </Button>
            </li>
          ))}
        </ul>
      ) : null}
      <p class="quiet" role="timer">
        {[
          w.count(mine.length),
          ...(next === undefined ? [] : [next > 0 ? w.nextIn(visitWords.seconds(next)) : w.nextNow]),
          ...(left === undefined ? [] : [left > 0 ? w.holdLeft(visitWords.seconds(left)) : w.holdOver]),
        ].join(" \u00b7 ")}
      </p>
      <NumberPad label={step.do === "settle" ? (w.ofs["settle"] ?? "") : step.text || (w.ofs[of] ?? of)} value={typed} onChange={setTyped} unit={unit} />
      {finding && Live ? <Live visit={visit} run={run} step={step} finding={finding} /> : null}
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
          {read === undefined ? visitWords.keep : `${visitWords.keep} ${amount(read, unit)}`}
        </Button>
        <Button size="tall" disabled={busy || k.busy || (mine.length === 0 && !step.optional)} onClick={() => (typed === "" ? onEnd() : k.say(w.unkept))}>
          {step.do === "settle" ? w.isSettled : w.endValues}
        </Button>
      </div>
    </div>
  );
}
