import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { Later } from "../../parts/later";
import { FromFile } from "./from-file";
import { instruction } from "./instruct";
import type { Live } from "./kinds/kind";
import { loadAnswer, loadMany } from "./later";
import { type Ask, doneAt, type Entry, entryFor, holdFrom, isAnswered, secondsLeft, type Step, stepDone } from "./run";
import { Timer } from "./timer";
import { Typed } from "./typed";

const w = visitWords.run;

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
  live: Live | undefined;
  correct: (e: Entry) => void;
};

/** Current is the screen being worked on: first what is done, then what is waited for, then what is answered, one thing after another. */
export function Current(p: CurrentProps) {
  const acts = p.screen.filter((s) => !isAnswered(s) && s.do !== "hold");
  const todo = acts.find((s) => doneAt(p.run, s.id) === undefined);
  const holds = p.screen.filter((s) => s.do === "hold");
  const hold = holds[0];
  const from = hold ? holdFrom(p.run, p.screen, hold) : undefined;
  const key = (a: Ask) => `${a.step.id} ${a.of}`;
  const [standardFor, askStandard] = useState<string | undefined>(); // the step whose pressure at the standard is typed besides
  const special = p.screen.find((s) => (s.many || s.do === "ask" || s.do === "settle") && !stepDone(p.run, p.entries, s));
  const plain = p.asks.find(
    (a) =>
      !entryFor(p.entries, a.step.id, a.of) &&
      !(a.optional && (p.skipped.includes(key(a)) || doneAt(p.run, a.step.id) !== undefined || entryFor(p.entries, a.step.id, "indicated"))),
  );
  // of the two, that which comes first in the plan
  const asked = plain && special && p.screen.indexOf(special) < p.screen.indexOf(plain.step) ? undefined : plain;
  const open = asked ? undefined : special;
  const ready = !todo && (!hold || from !== undefined);
  const skip = (a: Ask) => (a.of === "before_tap" ? () => p.skip(key(a)) : () => p.tick(a.step.id));
  const besides = asked !== undefined && asked.of === "indicated" && !entryFor(p.entries, asked.step.id, "applied");
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
      {ready && open && open.do === "ask" ? (
        <Later
          key={open.id}
          load={loadAnswer}
          props={{ run: p.run, step: open, correcting: undefined, onKept: () => undefined, onSkip: open.optional ? () => p.tick(open.id) : undefined }}
        />
      ) : null}
      {ready && open && open.do !== "ask" ? (
        <>
          <p class="instruction">{instruction(open, p.top)}</p>
          <FromFile key={open.id} visit={p.visit} run={p.run} step={open} onSkip={undefined}>
            <Later
              load={loadMany}
              props={{
                visit: p.visit,
                run: p.run,
                step: open,
                entries: p.entries,
                busy: p.busy,
                live: p.live,
                onEnd: () => p.tick(open.id),
                onCorrect: p.correct,
              }}
            />
          </FromFile>
        </>
      ) : null}
      {ready && ask ? (
        <FromFile key={key(ask)} visit={p.visit} run={p.run} step={ask.step} onSkip={ask.optional ? skip(ask) : undefined}>
          <Typed
            visit={p.visit}
            run={p.run}
            ask={ask}
            correcting={undefined}
            early={waiting}
            onKept={() => askStandard(undefined)}
            onSkip={ask !== asked ? () => askStandard(undefined) : ask.optional ? skip(ask) : undefined}
            live={p.live}
            onApplied={besides && ask === asked ? () => askStandard(ask.step.id) : undefined}
          />
        </FromFile>
      ) : null}
      {!todo && !ask && !open && hold && from !== undefined ? (
        <Button kind="main" size="tall" wide disabled={p.busy || waiting} onClick={() => p.tick(hold.id)}>
          {w.done}
        </Button>
      ) : null}
    </section>
  );
}
