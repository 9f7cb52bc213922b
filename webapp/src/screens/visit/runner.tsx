import { VentFirst } from "./vent-first";
import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { Bench } from "../../parts/bench";
import { Button } from "../../parts/button";
import { Cover } from "../../parts/cover";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { readField } from "../../wire/read";
import { type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { beginRun, locked } from "./begin";
import { setTone, toneOn, useAwake } from "./bell";
import { closeRun } from "./closing";
import { Current } from "./current";
import { useDraft } from "./draft";
import { loadTrace } from "./from-file";
import { amount, instruction } from "../../views/instruct";
import { Complaint, put, useKeep } from "../../nav/keep";
import { kindOf, useOwn } from "../../views/kinds";
import { loadAnswer } from "./later";
import { loadSafetyStop } from "./later-stops";
import { asksOf, type Entry, effective, resumeAt, type Step, screensOf } from "../../records/run";
import { definitionOf } from "../../records/sheet";
import { useCourse } from "../../views/steps";
import { unsafeIn } from "../../records/halts";
import type { OnManifold } from "./manifold";
import { Readings, recordName } from "./readings";
import { Typed } from "./typed";

const w = visitWords.run;

/** Stop leads through venting before a run ends early. */
function Stop({
  visit,
  run,
  again,
  onBack,
}: {
  visit: RecordState;
  run: RecordState;
  again: boolean;
  onBack: () => void;
}) {
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
    <VentFirst k={k} label={again ? w.repeat : w.stop} onGo={go} onBack={onBack}>
      <Field label={w.stopWhy} value={why} onInput={setWhy} />
    </VentFirst>
  );
}

/**
 * Runner shows one screen of the plan at a time, with what was done above it and what comes next
 * below it.
 */
export function Runner({ visit, run, on }: { visit: RecordState; run: RecordState; on: OnManifold | undefined }) {
  const course = useCourse(run, visit);
  const own = useOwn(visit);
  const screens = screensOf(course?.steps ?? []);
  const entries = effective(run);
  const at = resumeAt(run, screens);
  const [leaving, leave] = useState<"stop" | "again" | "leave" | undefined>();
  const [correcting, setCorrecting] = useState<Entry | undefined>();
  const [sheet, open] = useState<"readings" | "more" | undefined>();
  const [tone, hear] = useState(toneOn());
  const correct = (e: Entry | undefined) => {
    open(undefined);
    setCorrecting(e);
  };
  const [passed, pass] = useDraft(`${run.id} gone on without`); // a reload does not ask again about what was skipped
  const skipped = passed.split("\n");
  const [over, setOver] = useState<string[]>([]);
  const k = useKeep();
  useAwake();
  const item = readField("visit", visit, "item");
  const { unit } = item.range;
  const top = amount(item.range.high, unit);
  const tap = definitionOf(visit)["tap"] === true;
  const stay = () => {
    open(undefined);
    leave(undefined);
  };
  const set = on?.phase === "run" ? on : undefined; // its pressures are those of a manifold
  if (leaving && set) return <set.own.Leave visit={visit} run={run} all={leaving === "stop"} on={set} onBack={stay} />;
  if (leaving) return <Stop visit={visit} run={run} again={leaving === "again"} onBack={stay} />;
  if (!course) return <p class="quiet">{words.shell.loading}</p>;
  const unsafe = unsafeIn(course.steps, entries);
  if (unsafe)
    return (
      <Later
        key={`stop ${unsafe.entry.id}`}
        load={loadSafetyStop}
        props={{ visit, run, step: unsafe.step, entry: unsafe.entry }}
      />
    );
  const last = entries.findLast((e) => e.of !== "trace");
  const stepById = new Map(screens.flat().map((s) => [s.id, s]));
  const label = w.label[text(run, "label")] ?? text(run, "label");
  const where = (
    <p class="visit-where" data-kept={course.kept}>
      <span>
        <strong>{item.tag}</strong> <span class="visit-label">{label}</span>
      </span>
      <span>{w.screen(Math.min(at + 1, screens.length), screens.length, course.ended)}</span>
    </p>
  );
  const step = correcting ? stepById.get(correcting.step) : undefined;
  if (correcting && step) {
    const back = () => correct(undefined);
    const head = (
      <>
        <h1>
          {w.correctTitle(
            correcting.of === "trace" ? recordName(correcting) : amount(correcting.value, correcting.unit),
          )}
        </h1>
        {correcting.of === "answer" ? null : <p class="past">{instruction(step, top)}</p>}
      </>
    );
    const foot = (own: ComponentChildren) => own;
    const props = { visit, run, step, correcting, onKept: back, onSkip: back, head, foot };
    return (
      <div class="run">
        {where}
        {correcting.of === "answer" ? (
          <Later key={correcting.id} load={loadAnswer} props={props} />
        ) : correcting.of === "trace" ? (
          <>
            {head}
            <Later key={correcting.id} load={loadTrace} props={{ ...props, kind: kindOf(visit), onBack: back }} />
          </>
        ) : (
          <Typed
            key={correcting.id}
            {...props}
            ask={{ step, of: correcting.of, optional: false }}
            early={false}
            live={own.Live}
          />
        )}
      </div>
    );
  }
  const screen = screens[at];
  const Aside = own.Aside;
  const next = screens[at + 1];
  const before = screens.slice(0, at).flat();
  // What is done once for all gauges of a manifold is marked in the run of each, here last, so that
  // this step stays until then.
  const others = set?.common ? set.shared.flatMap((m) => m.runs.filter((r) => r.id !== run.id)) : [];
  const tick = (field: string) =>
    k.keep(async () => {
      const at = new Date().toISOString();
      for (const r of [...others, run]) await put(r, { [`done.${field}`]: { at } });
    });
  const reason = course.reasons.at(-1);
  const aside = (brief: boolean) => (
    <>
      {reason ? <p class="quiet small">{reason}</p> : null}
      {Aside ? (
        <Aside
          visit={visit}
          run={run}
          steps={course.steps}
          at={screen ? course.steps.indexOf(screen[0] as Step) : course.steps.length}
          brief={brief}
        />
      ) : null}
      <Complaint error={k.error} />
    </>
  );
  const foot = (mine: ComponentChildren) => (
    <>
      {entries.length > 0 ? (
        <Button kind="quiet" onClick={() => open("readings")}>
          {w.readings(entries.length)}
        </Button>
      ) : null}
      {mine}
      <Button kind="quiet" onClick={() => open("more")}>
        {w.more}
      </Button>
    </>
  );
  const table = <Readings visit={visit} run={run} steps={screens.flat()} onCorrect={correct} />;
  return (
    <div class="run">
      <h1 class="unseen">{label}</h1>
      {where}
      {screen ? (
        <Current
          key={at}
          screen={screen}
          earlier={before}
          run={run}
          visit={visit}
          asks={asksOf(screen, tap)}
          entries={entries}
          skipped={skipped}
          skip={(s) => pass([...skipped, s].join("\n"))}
          over={over}
          setOver={(s) => setOver((old) => [...old, s])}
          busy={k.busy}
          tick={tick}
          top={top}
          live={own.Live}
          lead={set ? <set.own.Gauge on={set} /> : null}
          aside={aside}
          foot={foot}
        />
      ) : !course.ended ? (
        <p class="quiet">{words.shell.loading}</p>
      ) : (
        <Bench
          head={
            <>
              {set ? <set.own.Gauge on={set} /> : null}
              <p class="instruction">{w.allTyped}</p>
              {aside(true)}
            </>
          }
          body={table}
          roomy
          act={
            <Button
              kind="main"
              size="tall"
              wide
              disabled={k.busy}
              onClick={() => k.keep(() => closeRun(visit, run, true, ""))}
            >
              {w.close}
            </Button>
          }
          foot={foot(null)}
        />
      )}
      {sheet === "readings" ? (
        <Cover title={w.readingsTitle} onClose={() => open(undefined)}>
          {table}
        </Cover>
      ) : null}
      {sheet === "more" ? (
        <Cover title={w.moreTitle} onClose={() => open(undefined)}>
          {screen ? (
            <p class="past">{`${w.below}: ${next ? next.map((s) => instruction(s, top)).join(" \u00b7 ") : course.ended ? w.end : w.unknown}`}</p>
          ) : null}
          <div class="halt-ways">
            {last ? (
              <Button size="tall" wide onClick={() => correct(last)}>
                {w.undo}
              </Button>
            ) : null}
            {locked(run) || set ? null : (
              <Button size="tall" wide onClick={() => leave("again")}>
                {w.repeat}
              </Button>
            )}
            {set ? (
              <set.own.Ways onLeave={leave} />
            ) : (
              <Button size="tall" wide onClick={() => leave("stop")}>
                {w.stop}
              </Button>
            )}
          </div>
          <div class="ticks">
            <label>
              <input
                type="checkbox"
                checked={tone}
                onChange={() => {
                  setTone(!tone);
                  hear(!tone);
                }}
              />
              <span>{w.tone}</span>
            </label>
          </div>
          <p class="help-link">
            <a href="/help/visit">{words.shell.help}</a>
          </p>
        </Cover>
      ) : null}
    </div>
  );
}

export { Typed };
