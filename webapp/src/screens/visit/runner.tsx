import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { LimitBand } from "../../parts/limit-band";
import { isVerdict, Mark } from "../../parts/mark";
import { NumberPad } from "../../parts/number-pad";
import { commit } from "../../store/store";
import { asNumber, asText, type Json, newId, object, type RecordState, text, value } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { readDecimal, showDecimal } from "../../words/words";
import { forgetDrafts, useDraft } from "./draft";
import { Complaint, put, useKeep } from "./keep";
import { type Ask, asksOf, doneAt, doubtful, type Entry, effective, entryFor, holdFrom, resumeAt, type Step, screensOf, secondsLeft, stepsOf } from "./run";
import { Latest } from "./latest";
import { definitionOf, evaluate, expand, instrumentOf, type Reading, readingsOf } from "./sheet";

const w = visitWords.run;

/** beginRun lays out the plan and makes the run's record. */
export async function beginRun(visit: RecordState, label: "as found" | "as left" | "repeat"): Promise<void> {
  const plan = await expand(visit);
  await commit({
    kind: "run",
    site: visit.site,
    parent: visit.id,
    set: [
      { field: "label", value: label },
      { field: "plan", value: plan },
    ],
  });
}

async function closeRun(visit: RecordState, run: RecordState, complete: boolean, stopped: string): Promise<void> {
  const finding = await evaluate(visit, effective(run), complete);
  await put(run, { finding, closed: { at: new Date().toISOString(), ...(stopped === "" ? {} : { stopped }) } });
  forgetDrafts(run.id);
}

/** Begin starts a run. */
export function Begin({ visit, label }: { visit: RecordState; label: "as found" | "as left" }) {
  const k = useKeep();
  return (
    <>
      <h1>{w.start(w.label[label] ?? label)}</h1>
      <p>{label === "as found" ? w.startHint : visitWords.result.adjustHint}</p>
      {label === "as left" ? <p class="quiet">{w.leftHint}</p> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => k.keep(() => beginRun(visit, label))}>
        {w.start(w.label[label] ?? label)}
      </Button>
    </>
  );
}

function amount(v: string, unit: string): string {
  return v === "" ? "" : `${showDecimal(v)}\u00a0${unit}`;
}

/** instruction says a step in words. */
function instruction(s: Step, top: string): string {
  const to = amount(s.target, s.unit);
  switch (s.do) {
    case "exercise":
      return w.exercise(s.count, to || top);
    case "vent":
      return w.vent;
    case "set":
      return s.direction === "up" ? w.setUp(to) : s.direction === "down" ? w.setDown(to) : w.set(to);
    case "hold":
      return w.hold(visitWords.seconds(s.seconds));
    case "read":
      return `${w.read} ${to}`;
    default:
      return s.text || w.note;
  }
}

/** Timer shows what is left of a wait; it counts by the wall, so that a locked screen changes nothing. */
function Timer({ from, seconds, onOver }: { from: number; seconds: number; onOver: () => void }) {
  const [now, setNow] = useState(Date.now());
  const over = useRef(false);
  const left = secondsLeft(from, seconds, now);
  useEffect(() => {
    const look = () => setNow(Date.now());
    const t = setInterval(look, 250);
    document.addEventListener("visibilitychange", look);
    return () => {
      clearInterval(t);
      document.removeEventListener("visibilitychange", look);
    };
  }, []);
  useEffect(() => {
    if (left > 0 || over.current) return;
    over.current = true;
    onOver();
  }, [left]);
  return (
    <p class="timer" role="timer" aria-live={left === 0 ? "assertive" : "off"}>
      {left === 0 ? w.holdOver : <strong>{visitWords.seconds(left)}</strong>}
    </p>
  );
}

type Typing = {
  visit: RecordState;
  run: RecordState;
  ask: Ask;
  correcting: Entry | undefined;
  early: boolean;
  onKept: () => void;
  onSkip: (() => void) | undefined;
  onApplied?: (() => void) | undefined;
};

/** Typed is the pad for one value, with the error it means, before it is kept. */
function Typed({ visit, run, ask, correcting, early, onKept, onSkip, onApplied }: Typing) {
  const draft = `${run.id} ${ask.step.id} ${ask.of} ${correcting?.id ?? ""}`;
  const [typed, setTyped] = useDraft(`${draft} value`);
  const [reason, setReason] = useDraft(`${draft} reason`);
  const [preview, setPreview] = useState<Reading | "none" | undefined>();
  const turn = useRef(0);
  const [evaluating] = useState(() => new Latest<{ [name: string]: Json }>());
  const k = useKeep();
  const item = instrumentOf(visit);
  const unit = asText(item["unit"]);
  const read = readDecimal(typed);
  const target = asNumber(ask.step.target);
  const doubt = read === undefined ? undefined : doubtful(read, { low: asNumber(item["low"]) ?? 0, high: asNumber(item["high"]) ?? 0 }, target);
  const hurried = early && correcting === undefined;
  const needs = doubt !== undefined || correcting !== undefined || early;
  useEffect(() => {
    const mine = ++turn.current;
    if (read === undefined || ask.of === "before_tap") return setPreview(undefined);
    const others = effective(run).filter((e) => !(e.step === ask.step.id && e.of === ask.of));
    evaluating.ask(
      () => evaluate(visit, [...others, { step: ask.step.id, of: ask.of, value: read, unit }], false),
      (f) => mine === turn.current && setPreview(readingsOf(f).find((r) => r.step === ask.step.id)),
      (e) => {
        console.error(e);
        if (mine === turn.current) setPreview("none");
      },
    );
  }, [read, ask.step.id, ask.of]);
  const go = () => {
    if (read === undefined) return k.say(w.number);
    if (needs && reason.trim() === "") return k.say(visitWords.reasonNeeded);
    const capture: { [name: string]: Json } = { step: ask.step.id, of: ask.of, value: read, unit, at: new Date().toISOString() };
    if (correcting) capture["supersedes"] = correcting.id;
    if (needs) capture["reason"] = reason.trim();
    k.keep(async () => {
      await put(run, { [`capture.${newId()}`]: capture });
      setTyped("");
      setReason("");
      onKept();
    });
  };
  const tapped = ask.of === "indicated" && definitionOf(visit)["tap"] === true;
  return (
    <div class="typed">
      {tapped ? <p class="instruction">{w.tap}</p> : null}
      <NumberPad
        label={tapped ? w.afterTap : (w.ofs[ask.of] ?? ask.of)}
        value={typed}
        onChange={setTyped}
        unit={unit}
        resolution={ask.of === "applied" ? undefined : asText(item["resolution"]) || undefined}
        start={ask.step.target}
      />
      <div class="preview" role="status">
        {preview === "none" ? <p>{w.noPreview}</p> : null}
        {preview !== undefined && preview !== "none" ? <Shown reading={preview} unit={unit} /> : null}
      </div>
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
            {correcting || ask.of === "applied" ? visitWords.cancel : w.noTap}
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
        <span>{w.error(amount(String(r.error), unit))}</span>
        {isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}
      </p>
      <LimitBand error={r.error} low={r.low} high={r.high} unit={unit} inside={r.verdict === "pass" || r.verdict === "conditional-pass"} />
    </>
  );
}

/** Stop leads through venting before a run ends early. */
function Stop({ visit, run, again, onBack }: { visit: RecordState; run: RecordState; again: boolean; onBack: () => void }) {
  const [vented, setVented] = useState(false);
  const [why, setWhy] = useDraft(`${run.id} stop`);
  const k = useKeep();
  const go = () => {
    if (why.trim() === "") return k.say(w.needStop);
    k.keep(async () => {
      await closeRun(visit, run, false, why.trim());
      if (again) await beginRun(visit, "repeat");
    });
  };
  return (
    <>
      <h1>{w.stopTitle}</h1>
      <p class="instruction">{w.stopText}</p>
      <div class="ticks">
        <label>
          <input type="checkbox" checked={vented} onChange={() => setVented(!vented)} />
          <span>{w.vented}</span>
        </label>
      </div>
      <Field label={w.stopWhy} value={why} onInput={setWhy} />
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={!vented || k.busy} onClick={go}>
        {again ? w.repeat : w.stop}
      </Button>
      <div class="visit-foot">
        <Button kind="quiet" onClick={onBack}>
          {visitWords.finish.back}
        </Button>
      </div>
    </>
  );
}

/** Runner shows one screen of the plan at a time, what was done above it and what comes below it. */
export function Runner({ visit, run }: { visit: RecordState; run: RecordState }) {
  const screens = screensOf(stepsOf(value(run, "plan")));
  const entries = effective(run);
  const at = resumeAt(run, screens);
  const [leaving, leave] = useState<"stop" | "again" | undefined>();
  const [correcting, correct] = useState<Entry | undefined>();
  const [skipped, skip] = useState<string[]>([]);
  const [over, setOver] = useState<string[]>([]);
  const k = useKeep();
  const item = instrumentOf(visit);
  const unit = asText(item["unit"]);
  const top = amount(asText(item["high"]), unit);
  const tap = definitionOf(visit)["tap"] === true;
  if (leaving) return <Stop visit={visit} run={run} again={leaving === "again"} onBack={() => leave(undefined)} />;
  const last = entries.at(-1);
  const stepById = new Map(screens.flat().map((s) => [s.id, s]));
  if (correcting) {
    const step = stepById.get(correcting.step);
    if (step)
      return (
        <>
          <h1>{w.correctTitle(amount(correcting.value, correcting.unit))}</h1>
          <p class="instruction past">{instruction(step, top)}</p>
          <Typed
            key={correcting.id}
            visit={visit}
            run={run}
            ask={{ step, of: correcting.of, optional: false }}
            correcting={correcting}
            early={false}
            onKept={() => correct(undefined)}
            onSkip={() => correct(undefined)}
          />
        </>
      );
  }
  const screen = screens[at];
  const next = screens[at + 1];
  const before = screens.slice(0, at).flat();
  const recent = entries.slice(-3).reverse();
  const tick = (field: string) => k.keep(() => put(run, { [`done.${field}`]: { at: new Date().toISOString() } }));
  return (
    <>
      <h1>{w.label[text(run, "label")] ?? text(run, "label")}</h1>
      <p class="visit-where">
        <span>{asText(object(visit, "item")["tag"])}</span>
        <span>{w.screen(Math.min(at + 1, screens.length), screens.length)}</span>
      </p>
      {before.length > 0 || recent.length > 0 ? (
        <section aria-label={w.above}>
          {recent.length === 0 && before.length > 0 ? <p class="instruction past">{`${w.above}: ${instruction(before.at(-1) as Step, top)}`}</p> : null}
          <ul class="before">
            {recent.map((e) => (
              <li key={e.id}>
                <span>
                  {stepById.get(e.step) ? amount(stepById.get(e.step)?.target ?? "", unit) : ""} {"\u2192"} <strong>{amount(e.value, e.unit)}</strong>{" "}
                  <span class="quiet small">
                    {w.ofs[e.of] ?? e.of}
                    {e.earlier.map((x) => `, ${w.was(amount(x.value, x.unit))}`).join("")}
                  </span>
                </span>
                <Button kind="quiet" onClick={() => correct(e)}>
                  {w.correct}
                </Button>
              </li>
            ))}
          </ul>
        </section>
      ) : null}
      <Complaint error={k.error} />
      {screen ? (
        <Current
          key={at}
          screen={screen}
          run={run}
          visit={visit}
          asks={asksOf(screen, tap)}
          entries={entries}
          skipped={skipped}
          skip={(s) => skip([...skipped, s])}
          over={over}
          setOver={(s) => setOver((old) => [...old, s])}
          busy={k.busy}
          tick={tick}
          top={top}
        />
      ) : (
        <>
          <p class="instruction">{w.allTyped}</p>
          <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => k.keep(() => closeRun(visit, run, true, ""))}>
            {w.close}
          </Button>
        </>
      )}
      {screen ? <p class="instruction past">{`${w.below}: ${next ? next.map((s) => instruction(s, top)).join(" · ") : w.end}`}</p> : null}
      <div class="visit-foot">
        {last ? <Button onClick={() => correct(last)}>{w.undo}</Button> : null}
        <Button onClick={() => leave("again")}>{w.repeat}</Button>
        <Button onClick={() => leave("stop")}>{w.stop}</Button>
      </div>
    </>
  );
}

type CurrentProps = {
  screen: Step[];
  run: RecordState;
  visit: RecordState;
  asks: Ask[];
  entries: Entry[];
  skipped: string[];
  skip: (key: string) => void;
  over: string[];
  setOver: (step: string) => void;
  busy: boolean;
  tick: (field: string) => void;
  top: string;
};

function Current(p: CurrentProps) {
  const acts = p.screen.filter((s) => s.do !== "read" && s.do !== "hold");
  const todo = acts.find((s) => doneAt(p.run, s.id) === undefined);
  const holds = p.screen.filter((s) => s.do === "hold");
  const hold = holds[0];
  const from = hold ? holdFrom(p.run, p.screen, hold) : undefined;
  const key = (a: Ask) => `${a.step.id} ${a.of}`;
  const [standardFor, askStandard] = useState<string | undefined>(); // the step whose pressure at the standard is typed besides
  const asked = p.asks.find(
    (a) => !entryFor(p.entries, a.step.id, a.of) && !(a.optional && (p.skipped.includes(key(a)) || entryFor(p.entries, a.step.id, "indicated"))),
  );
  const besides = asked !== undefined && asked.of !== "applied" && !entryFor(p.entries, asked.step.id, "applied");
  const ask: Ask | undefined = asked && besides && standardFor === asked.step.id ? { step: asked.step, of: "applied", optional: false } : asked;
  const waiting = hold !== undefined && from !== undefined && !p.over.includes(hold.id) && secondsLeft(from, hold.seconds, Date.now()) > 0;
  return (
    <section>
      {acts.map((s) => (
        <p key={s.id} class={s === todo ? "instruction" : "instruction past"}>
          {instruction(s, p.top)}
        </p>
      ))}
      {todo ? (
        <Button kind="main" size="tall" wide disabled={p.busy} onClick={() => p.tick(todo.id)}>
          {todo.do === "set" ? w.isSet : w.done}
        </Button>
      ) : null}
      {!todo && hold && from === undefined ? (
        <Button kind="main" size="tall" wide disabled={p.busy} onClick={() => p.tick(`${hold.id}.begun`)}>
          {`${w.holdStart}: ${visitWords.seconds(hold.seconds)}`}
        </Button>
      ) : null}
      {!todo && hold && from !== undefined ? (
        <Timer
          key={hold.id}
          from={from}
          seconds={hold.seconds}
          onOver={() => {
            navigator.vibrate?.(200);
            p.setOver(hold.id);
          }}
        />
      ) : null}
      {!todo && ask && (!hold || from !== undefined) ? (
        <Typed
          key={key(ask)}
          visit={p.visit}
          run={p.run}
          ask={ask}
          correcting={undefined}
          early={waiting}
          onKept={() => askStandard(undefined)}
          onSkip={ask !== asked ? () => askStandard(undefined) : ask.optional ? () => p.skip(key(ask)) : undefined}
          onApplied={besides && ask === asked ? () => askStandard(ask.step.id) : undefined}
        />
      ) : null}
      {!todo && !ask && hold && from !== undefined ? (
        <Button kind="main" size="tall" wide disabled={p.busy || waiting} onClick={() => p.tick(hold.id)}>
          {w.done}
        </Button>
      ) : null}
    </section>
  );
}
