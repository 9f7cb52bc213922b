import type { ComponentChildren } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { Bench } from "../../parts/bench";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { isFailed, isVerdict, Mark } from "../../parts/mark";
import { PadKeys, PadValue } from "../../parts/number-pad";
import { readField } from "../../wire/read";
import { type Json, newId, type RecordState, text } from "../../wire/records";
import { useVisits } from "../../store/hooks";
import { lastFound } from "../../records/last-found";
import { visitWords } from "../../words/visit";
import { readDecimal } from "../../words/words";
import { errorIn, useFigures } from "../../nav/use-figures";
import { ErrorBand } from "../../views/error-band";
import { feel } from "./bell";
import { useDraft } from "./draft";
import { amount } from "../../views/instruct";
import { useUnits } from "../../records/units";
import { Equal } from "./equal";
import { Complaint, put, useKeep } from "../../nav/keep";
import type { Live } from "../../views/kinds/kind";
import type { Against } from "../../records/against";
import { everyAgainst, loadConnected } from "./later-stops";
import { Latest } from "./latest";
import { type Ask, type Entry, effective, entryFor } from "../../records/run";
import { definitionOf, evaluate, onManifold, type Reading, readingsOf, sheetOf } from "../../records/sheet";

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
  /**
   * Keeps a correction of a closed run, with what follows from it. Such a reading keeps its
   * original time.
   */
  keepCapture?: ((capture: { [name: string]: Json }) => Promise<void>) | undefined;
  /**
   * What is shown above the value, and the links at the foot of the screen beside the value's own.
   */
  head?: ComponentChildren;
  foot?: ((own: ComponentChildren) => ComponentChildren) | undefined;
};

/** The objections to a value and the unit that they are known for. */
type Doubts = { value: string; list: Against[] };

/**
 * Typed is the pad for one value. It shows the resulting error and any doubts before the value is
 * kept.
 */
export function Typed({
  visit,
  run,
  ask,
  correcting,
  early,
  onKept,
  onSkip,
  onApplied,
  live: Live,
  keepCapture,
  head,
  foot,
}: Typing) {
  const draft = `${run.id} ${ask.step.id} ${ask.of} ${correcting?.id ?? ""}`;
  const [typed, setTyped] = useDraft(`${draft} value`);
  const [reason, setReason] = useDraft(`${draft} reason`);
  const [preview, setPreview] = useState<{ value: string; finding: { [name: string]: Json } | "none" } | undefined>();
  const [doubts, setDoubts] = useState<Doubts | undefined>();
  const [why, askWhy] = useState(false);
  const [stopped, stop] = useState<Against | undefined>(); // why the run stops before this value is kept
  const turn = useRef(0);
  const [evaluating] = useState(() => new Latest<{ [name: string]: Json }>());
  const [doubting] = useState(() => new Latest<Against[]>());
  const past = useVisits(text(visit, "instrument"));
  const k = useKeep();
  const item = readField("visit", visit, "item");
  const own = item.range.unit;
  const base = ask.of === "applied" && ask.step.of !== "applied" ? own : ask.step.unit || own;
  const units = useUnits(base);
  const [picked, pick] = useDraft(`${run.id} unit ${base} ${correcting?.id ?? ""}`, correcting?.unit);
  const unit = units.includes(picked) || picked === correcting?.unit ? picked || base : base;
  const read = readDecimal(typed);
  const withUnit = (value: string | undefined) => `${value} ${unit}`; // the value that the question was about
  const others = effective(run).filter((e) =>
    keepCapture ? e.id !== correcting?.id : !(e.step === ask.step.id && e.of === ask.of),
  );
  const moment = () => (keepCapture && correcting ? correcting.at : new Date().toISOString());
  const entry = (value: string, of = unit) => ({ step: ask.step.id, of: ask.of, value, unit: of });
  const against = (value: string, of = unit, sure = false) =>
    everyAgainst({ ...sheetOf(visit, [], false), ...onManifold(visit) }, others, { ...entry(value, of), sure });
  // Before the next frame, not after it: the verdict is asked for with the key press.
  useLayoutEffect(() => {
    const mine = ++turn.current;
    const here = () => mine === turn.current;
    const as = withUnit(read);
    if (read === undefined) {
      setPreview(undefined);
      return setDoubts(undefined);
    }
    if (ask.of === "before_tap") setPreview(undefined);
    else
      evaluating.ask(
        () => evaluate(visit, [...others, { ...entry(read), at: moment() }], false),
        (finding) => here() && setPreview({ value: as, finding }),
        (e) => {
          console.error(e);
          if (here()) setPreview({ value: as, finding: "none" });
        },
      );
    doubting.ask(
      () => against(read),
      (list) => here() && setDoubts({ value: as, list }),
      (e) => console.error(e),
    );
  }, [read, unit, ask.step.id, ask.of]);
  useEffect(() => askWhy(false), [read]);
  // A reason is for the value in its unit, and not for the same number in another.
  const repick = (u: string) => {
    if (u !== unit) setReason("");
    pick(u);
  };
  const doubt =
    read !== undefined && doubts?.value === withUnit(read) ? doubts?.list.find((a) => a.level === "ask") : undefined;
  const hurried = early && correcting === undefined;
  const finding = typeof preview?.finding === "object" ? preview.finding : undefined;
  const reading = finding && readingsOf(finding).find((r) => r.step === ask.step.id);
  const last = reading && past ? lastFound(past, visit, reading.point, reading.direction) : undefined;
  const tapped = ask.of === "indicated" && definitionOf(visit)["tap"] === true;
  const first = tapped && !correcting ? entryFor(others, ask.step.id, "before_tap") : undefined; // what it showed before the tap
  const go = (value: string | undefined, sure: boolean, same?: Entry) => {
    if (value === undefined) return k.say(typed.trim() === "" ? w.number : w.noNumber(typed));
    k.keep(async () => {
      const list = doubts?.value === withUnit(value) && !same ? doubts.list : await against(value, same?.unit);
      if (value === read && !same) setDoubts({ value: withUnit(value), list });
      const refused = list.find((a) => a.level === "refuse");
      if (refused && !keepCapture) return k.say(refused.message);
      const halt = list.find((a) => a.level === "stop");
      if (halt && !sure && !keepCapture) return stop(halt);
      const needs = correcting !== undefined || early || (list.some((a) => a.level === "ask") && !same);
      const said = reason.trim() || (early || correcting ? "" : (same?.reason ?? ""));
      if (needs && said === "") {
        if (same) setTyped(value);
        if (why || keepCapture || sure) k.say(visitWords.reasonNeeded);
        return askWhy(true);
      }
      // A value beyond the range that is right all the same has strained something.
      const over =
        sure || keepCapture || same || said === ""
          ? undefined
          : (await against(value, unit, true)).find((a) => a.level === "stop");
      if (over) return stop(over);
      const capture: { [name: string]: Json } = { ...entry(value, same?.unit), at: moment() };
      if (correcting) capture["supersedes"] = correcting.id;
      if (said !== "") capture["reason"] = said;
      await (keepCapture ? keepCapture(capture) : put(run, { [`capture.${newId()}`]: capture }));
      feel(value === read && isFailed(reading?.verdict));
      setTyped("");
      setReason("");
      onKept();
    });
  };
  if (stopped !== undefined) {
    const look = () => {
      stop(undefined);
      setTyped("");
      setReason("");
      k.say(undefined);
    };
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
          onLook: look,
          onRight: () => go(read, true),
        }}
      />
    );
  }
  const ofRange = unit === own && ["indicated", "before_tap"].includes(ask.of);
  const pad = {
    label: tapped ? w.afterTap : ask.step.text || (w.ofs[ask.of] ?? ask.of),
    value: typed,
    onChange: setTyped,
    unit,
    units,
    onUnit: repick,
    resolution: ofRange ? item.resolution || undefined : undefined,
    start:
      (correcting?.unit === unit ? correcting.value : undefined) ??
      (first?.unit === unit ? first.value : undefined) ??
      (ask.step.unit === unit && ask.of !== "applied"
        ? ask.step.target || ask.step.figure("expected") || undefined
        : undefined),
    onEnter: () => go(read, false),
  };
  const kept = read === undefined ? visitWords.keep : visitWords.keepIt(amount(read, unit));
  const same = first && typed === "" ? first : undefined;
  const main = same ? (
    <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => go(same.value, false, same)}>
      {w.same(amount(same.value, same.unit))}
    </Button>
  ) : (
    <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => go(read, false)}>
      {kept}
    </Button>
  );
  const asked = (
    <>
      <div class="reasons">
        {(correcting
          ? w.reasons
          : [doubt?.code === "finer" ? w.doubts.finer : doubt ? w.doubts.far : w.doubts.early]
        ).map((r) => (
          <Button key={r} pressed={reason === r} onClick={() => setReason(r)}>
            {r}
          </Button>
        ))}
      </div>
      <Field
        label={hurried ? (doubt ? w.readEarlyDoubtful : w.readEarly) : visitWords.reason}
        value={reason}
        onInput={setReason}
      />
    </>
  );
  const equal = unit === base || read === undefined ? null : <Equal value={read} unit={unit} to={base} />;
  const body = (
    <>
      <PadValue {...pad} />
      <div class="preview" role="status">
        {equal && !reading ? <p class="quiet">{equal}</p> : null}
        {preview?.finding === "none" ? <p>{w.noPreview}</p> : null}
        {reading ? <Shown reading={reading} unit={base} equal={equal} /> : null}
        {doubt ? (
          <div class="doubt">
            <p>{doubt.message}</p>
            {doubt.suggest === undefined ? null : (
              <Button onClick={() => setTyped(doubt.suggest ?? "")}>{w.meant(amount(doubt.suggest, unit))}</Button>
            )}
          </div>
        ) : reading ? (
          <ErrorBand
            error={reading.error}
            low={reading.low}
            high={reading.high}
            unit={base}
            inside={isGood(reading)}
            last={last && { error: last.error, on: last.at.slice(0, 4) }}
          />
        ) : null}
      </div>
      {finding && Live ? <Live visit={visit} run={run} step={ask.step} finding={finding} /> : null}
      <Complaint error={k.error} />
    </>
  );
  const quiet = (
    <>
      {onSkip ? (
        <Button kind="quiet" onClick={onSkip}>
          {correcting || ask.of === "applied" ? visitWords.cancel : w.goOn}
        </Button>
      ) : null}
      {onApplied ? (
        <Button kind="quiet" onClick={onApplied} label={w.appliedToo}>
          {w.standardShort}
        </Button>
      ) : null}
    </>
  );
  const looked =
    read !== undefined &&
    doubts?.value === withUnit(read) &&
    (ask.of === "before_tap" || preview?.value === withUnit(read))
      ? read
      : undefined;
  return (
    <Bench
      name="typed"
      looked={looked}
      roomy={Live !== undefined}
      head={
        <>
          {head}
          {tapped ? <p class="instruction words">{w.tap}</p> : null}
        </>
      }
      body={body}
      act={
        keepCapture ? (
          <>
            <PadKeys {...pad} />
            {asked}
            {main}
          </>
        ) : why ? (
          <div class="why">
            {asked}
            {main}
            <Button kind="quiet" wide onClick={() => askWhy(false)}>
              {w.toPad}
            </Button>
          </div>
        ) : (
          <>
            <PadKeys {...pad} />
            {main}
          </>
        )
      }
      foot={foot ? foot(quiet) : quiet}
    />
  );
}

const isGood = (r: Reading) => r.verdict === "pass" || r.verdict === "conditional-pass";

function Shown({ reading: r, unit, equal }: { reading: Reading; unit: string; equal: ComponentChildren }) {
  const [figure] = useFigures([errorIn(r)]);
  return (
    <p class="said">
      {isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}
      {equal}
      {figure ? <span>{w.error(`${figure.value}\u00a0${unit}`)}</span> : null}
    </p>
  );
}
