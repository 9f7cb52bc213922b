import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Bench } from "../../parts/bench";
import { Button } from "../../parts/button";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { Later } from "../../parts/later";
import { allowTone, ring } from "./bell";
import { FromFile } from "./from-file";
import { tell } from "../../views/instruct";
import type { Live } from "../../views/kinds/kind";
import { loadAnswer, loadMany } from "./later";
import {
  type Ask,
  doneAt,
  type Entry,
  entryFor,
  holdFrom,
  isAnswered,
  nowOn,
  secondsLeft,
  type Step,
} from "../../records/run";
import { Timer } from "./timer";
import { Typed } from "./typed";

const w = visitWords.run;

type CurrentProps = {
  screen: Step[];
  /** The steps of the screens before it. */
  earlier: Step[];
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
  live: Live | undefined;
  /** Which gauge of several the screen is about. */
  lead: ComponentChildren;
  /** What a kind of work shows on each of its screens; with brief, beside a pad. */
  aside: (brief: boolean) => ComponentChildren;
  foot: (own: ComponentChildren) => ComponentChildren;
};

/** Bounds shows the limits on the values of a step. */
function Bounds({ step, top }: { step: Step; top: string }) {
  const { bounds } = tell(step, top);
  return bounds.length === 0 ? null : (
    <p class="bounds">
      {bounds.map((b) => (
        <span key={b}>{b}</span>
      ))}
    </p>
  );
}

/** Say shows a step with its figures and its words. */
function Say({ step, top, brief }: { step: Step; top: string; brief?: boolean }) {
  const { main, words } = tell(step, top);
  return (
    <>
      <p class={step.do === "set" || step.do === "ramp" ? "instruction figure" : "instruction"}>{main}</p>
      {words === "" || brief ? null : <p class="instruction words">{words}</p>}
    </>
  );
}

/** there turns a step to a pressure into one at which the pressure is already there. */
const there = (s: Step): Step => ({
  ...s,
  figure: (name) => (name === "move" ? "stay" : name === "from" ? "" : s.figure(name)),
});

/** Current is the present screen, one step after another in the order of the plan. */
export function Current(p: CurrentProps) {
  const now = nowOn(p.run, p.entries, p.screen);
  const step = now?.step;
  const hold = now?.hold;
  const [standardFor, askStandard] = useState<string | undefined>(); // the step whose pressure at the standard is typed too
  if (!step) return null;
  const todo = !isAnswered(step) && step.do !== "hold" ? step : undefined;
  const before = p.screen.findLast(
    (s) => !isAnswered(s) && s.do !== "hold" && s !== todo && p.screen.indexOf(s) < p.screen.indexOf(step),
  );
  // On a manifold a pressure is set for all gauges before the first is read.
  const act = before && p.lead && doneAt(p.run, before.id) !== undefined ? there(before) : before;
  const from = hold ? holdFrom(p.run, p.screen, hold, p.earlier) : undefined;
  const done = (field: string) => {
    allowTone();
    p.tick(field);
  };
  if (todo)
    return (
      <Bench
        head={
          <>
            {p.lead}
            <Say step={todo} top={p.top} />
            <Bounds step={todo} top={p.top} />
            {p.aside(false)}
          </>
        }
        act={
          <Button kind="main" size="tall" wide disabled={p.busy} onClick={() => done(todo.id)}>
            {todo.do === "set" ? w.isSet : w.done}
          </Button>
        }
        foot={p.foot(null)}
      />
    );
  const timer =
    hold && from !== undefined ? (
      <Timer
        key={hold.id}
        from={from}
        seconds={hold.seconds}
        onOver={() => {
          ring();
          p.setOver(hold.id);
        }}
      />
    ) : null;
  const waiting =
    hold !== undefined &&
    from !== undefined &&
    !p.over.includes(hold.id) &&
    secondsLeft(from, hold.seconds, Date.now()) > 0;
  if (hold && (from === undefined || hold === step))
    return (
      <Bench
        head={
          <>
            {p.lead}
            {act ? <Say step={act} top={p.top} brief /> : null}
            <Say step={hold} top={p.top} />
            <Bounds step={hold} top={p.top} />
            {p.aside(false)}
          </>
        }
        body={timer}
        act={
          from === undefined ? (
            <Button kind="main" size="tall" wide disabled={p.busy} onClick={() => done(`${hold.id}.begun`)}>
              {`${w.holdStart}: ${visitWords.seconds(hold.seconds)}`}
            </Button>
          ) : (
            <Button kind="main" size="tall" wide disabled={p.busy || waiting} onClick={() => done(hold.id)}>
              {w.done}
            </Button>
          )
        }
        foot={p.foot(null)}
      />
    );
  const brief = p.aside(true);
  if (step.do === "ask")
    return (
      <Later
        key={step.id}
        load={loadAnswer}
        props={{
          visit: p.visit,
          run: p.run,
          step,
          correcting: undefined,
          onKept: () => undefined,
          onSkip: step.optional ? () => p.tick(step.id) : undefined,
          head: step.as === "number" ? brief : p.aside(false),
          foot: p.foot,
        }}
      />
    );
  if (step.many || step.do === "settle") {
    const head = (
      <>
        {act ? (
          <Say step={act} top={p.top} brief />
        ) : step.do === "settle" || step.text === "" ? (
          <Say step={step} top={p.top} />
        ) : null}
        {act && step.do === "settle" ? <Say step={step} top={p.top} /> : null}
        <Bounds step={step} top={p.top} />
        {brief}
      </>
    );
    return (
      <FromFile key={step.id} visit={p.visit} run={p.run} step={step} onSkip={undefined} head={head} foot={p.foot}>
        {(foot) => (
          <Later
            load={loadMany}
            props={{
              visit: p.visit,
              run: p.run,
              step,
              entries: p.entries,
              busy: p.busy,
              live: p.live,
              onEnd: () => p.tick(step.id),
              head,
              foot,
            }}
          />
        )}
      </FromFile>
    );
  }
  const key = (a: Ask) => `${a.step.id} ${a.of}`;
  const asked = p.asks.find(
    (a) =>
      a.step.id === step.id &&
      !entryFor(p.entries, a.step.id, a.of) &&
      !(
        a.optional &&
        (p.skipped.includes(key(a)) ||
          doneAt(p.run, a.step.id) !== undefined ||
          entryFor(p.entries, a.step.id, "indicated"))
      ),
  );
  if (!asked) return null;
  const skip = (a: Ask) => (a.of === "before_tap" ? () => p.skip(key(a)) : () => p.tick(a.step.id));
  const besides = asked.of === "indicated" && !entryFor(p.entries, asked.step.id, "applied");
  const ask: Ask =
    besides && standardFor === asked.step.id ? { step: asked.step, of: "applied", optional: false } : asked;
  const head = (
    <>
      {timer}
      {p.lead}
      {act ? (
        <Say step={act} top={p.top} brief />
      ) : step.text === "" || ask.of === "before_tap" ? (
        <Say step={step} top={p.top} brief />
      ) : null}
      <Bounds step={step} top={p.top} />
      {brief}
    </>
  );
  return (
    <FromFile
      key={key(ask)}
      visit={p.visit}
      run={p.run}
      step={step}
      onSkip={ask.optional ? skip(ask) : undefined}
      head={head}
      foot={p.foot}
    >
      {(foot) => (
        <Typed
          visit={p.visit}
          run={p.run}
          ask={ask}
          correcting={undefined}
          early={waiting}
          onKept={() => {
            allowTone();
            askStandard(undefined);
          }}
          onSkip={ask !== asked ? () => askStandard(undefined) : ask.optional ? skip(ask) : undefined}
          live={p.live}
          onApplied={besides && ask === asked ? () => askStandard(step.id) : undefined}
          head={head}
          foot={foot}
        />
      )}
    </FromFile>
  );
}
