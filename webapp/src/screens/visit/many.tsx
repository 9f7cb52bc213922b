import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";
import { Bench } from "../../parts/bench";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { PadKeys, PadValue } from "../../parts/number-pad";
import { readField } from "../../wire/read";
import { type Json, newId, type RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { readDecimal } from "../../words/words";
import { useDraft } from "./draft";
import { amount } from "../../views/instruct";
import { useUnits } from "../../records/units";
import { Complaint, put, useKeep } from "../../nav/keep";
import type { Finding, Live } from "../../views/kinds/kind";
import { Later } from "../../parts/later";
import { against, everyAgainst, loadConnected } from "./later-stops";
import type { Against } from "../../records/against";
import { Latest } from "./latest";
import { type Entry, effective, secondsLeft, type Step } from "../../records/run";
import { evaluate, sheetOf } from "../../records/sheet";
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
  head: ComponentChildren;
  foot: (own: ComponentChildren) => ComponentChildren;
};

/**
 * due gives in how many seconds the next value is wanted, by the wall clock from the first value.
 */
export function due(first: number, count: number, every: number, now: number): number {
  return secondsLeft(first, count * every, now);
}

/**
 * Many takes any number of values of one step, such as the pressures of a leak test or of a
 * settling, until it is ended.
 */
export function Many({ visit, run, step, entries, busy, live: Live, onEnd, head, foot }: Props) {
  const of = step.do === "settle" ? "settle" : step.of || "indicated";
  const base = step.unit || readField("visit", visit, "item").range.unit;
  const units = useUnits(base);
  const [picked, pick] = useDraft(`${run.id} unit ${base}`); // like the pad of a single value
  const unit = units.includes(picked) ? picked : base;
  const [typed, setTyped] = useDraft(`${run.id} ${step.id} ${of} value`);
  const [finding, setFinding] = useState<Finding | undefined>();
  const [evaluating] = useState(() => new Latest<Finding>());
  const [doubt, setDoubt] = useState<
    { value: string; unit: string; message: string; suggest?: string | undefined } | undefined
  >();
  const [reason, setReason] = useDraft(`${run.id} ${step.id} ${of} reason`);
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
  }, [read, unit, newest, Live]);
  const [stopped, stop] = useState<Against | undefined>();
  const go = (sure = false) => {
    if (read === undefined) return k.say(typed.trim() === "" ? w.number : w.noNumber(typed));
    const asked = doubt?.value === read && doubt.unit === unit;
    if (asked && reason.trim() === "") return k.say(visitWords.reasonNeeded);
    const capture: { [name: string]: Json } = {
      step: step.id,
      of,
      value: read,
      unit,
      at: new Date().toISOString(),
      ...(asked ? { reason: reason.trim() } : {}),
    };
    k.keep(async () => {
      const entry = { step: step.id, of, value: read, unit };
      const over =
        asked && !sure
          ? (await everyAgainst(sheetOf(visit, [], false), mine, { ...entry, sure: true })).find(
              (a) => a.level === "stop",
            )
          : undefined;
      if (over) return stop(over);
      const wrong = asked ? undefined : await against(sheetOf(visit, [], false), mine, entry);
      if (wrong) return setDoubt({ value: read, unit, message: wrong.message, suggest: wrong.suggest });
      stop(undefined);
      setDoubt(undefined);
      setReason("");
      await put(run, { [`capture.${newId()}`]: capture });
      setTyped("");
    });
  };
  const timed = step.do === "settle" ? step.atMost : step.seconds;
  const left = Number.isNaN(first) || timed === 0 ? undefined : secondsLeft(first, timed, now);
  const next = Number.isNaN(first) || step.every === 0 ? undefined : due(first, mine.length, step.every, now);
  const newestValue = mine.at(-1);
  const item = readField("visit", visit, "item");
  const pad = {
    label: step.do === "settle" ? (w.ofs["settle"] ?? "") : step.text || (w.ofs[of] ?? of),
    value: typed,
    onChange: setTyped,
    unit,
    units,
    onUnit: pick,
    resolution: unit === item.range.unit ? item.resolution || undefined : undefined,
    start:
      (newestValue?.unit === unit ? newestValue.value : "") ||
      (unit === base ? step.figure("expected") : "") ||
      undefined,
    onEnter: () => go(),
  };
  if (stopped)
    return (
      <Later
        key="stop"
        load={loadConnected}
        props={{
          message: stopped.message,
          over: stopped.code === "over_range",
          reason,
          setReason,
          busy: k.busy,
          error: k.error,
          onLook: () => {
            stop(undefined);
            setDoubt(undefined);
            setTyped("");
            setReason("");
          },
          onRight: () => go(true),
        }}
      />
    );
  const doubted = doubt !== undefined && doubt.value === read && doubt.unit === unit ? doubt : undefined;
  return (
    <Bench
      name="typed"
      roomy
      head={head}
      body={
        <>
          <p class="so-far" role="timer">
            {[
              w.count(mine.length),
              ...(newestValue ? [w.latest(amount(newestValue.value, newestValue.unit))] : []),
              ...(next === undefined ? [] : [next > 0 ? w.nextIn(visitWords.seconds(next)) : w.nextNow]),
              ...(left === undefined ? [] : [left > 0 ? w.holdLeft(visitWords.seconds(left)) : w.holdOver]),
            ].join(" \u00b7 ")}
          </p>
          <PadValue {...pad} />
          {finding && Live ? <Live visit={visit} run={run} step={step} finding={finding} /> : null}
          <Complaint error={k.error} />
        </>
      }
      act={
        doubted ? (
          <div class="why">
            <p class="complaint" role="alert">
              {doubted.message}
            </p>
            {doubted.suggest ? (
              <Button size="tall" onClick={() => setTyped(doubted.suggest ?? "")}>
                {w.meant(amount(doubted.suggest, unit))}
              </Button>
            ) : null}
            <Field label={visitWords.reason} value={reason} onInput={setReason} />
            <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => go()}>
              {visitWords.keepIt(amount(doubted.value, unit))}
            </Button>
            <Button kind="quiet" wide onClick={() => setDoubt(undefined)}>
              {w.toPad}
            </Button>
          </div>
        ) : (
          <>
            <PadKeys {...pad} />
            <div class="pair">
              <Button kind="main" size="tall" disabled={k.busy} onClick={() => go()}>
                {read === undefined ? visitWords.keep : visitWords.keepIt(amount(read, unit))}
              </Button>
              <Button
                size="tall"
                disabled={busy || k.busy || (mine.length === 0 && !step.optional)}
                onClick={() => (typed === "" ? onEnd() : k.say(w.unkept))}
              >
                {step.do === "settle" ? w.isSettled : w.endValues}
              </Button>
            </div>
          </>
        )
      }
      foot={foot(null)}
    />
  );
}
