import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { commit } from "../../store/store";
import { asObject, asText, object, type RecordState, text, value } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { Current } from "./current";
import { forgetDrafts, useDraft } from "./draft";
import { loadTrace } from "./from-file";
import { amount, instruction } from "./instruct";
import { Complaint, put, useKeep } from "./keep";
import { kindOf, useOwn } from "./kinds";
import { loadAnswer } from "./later";
import { asksOf, type Entry, effective, resumeAt, type Step, screensOf } from "./run";
import { definitionOf, evaluate, expand, instrumentOf } from "./sheet";
import { useCourse } from "./steps";
import { Typed } from "./typed";

const w = visitWords.run;

/** beginRun lays out the plan and makes the run's record. */
export async function beginRun(visit: RecordState, label: "as found" | "as left" | "repeat"): Promise<void> {
  const plan = await expand(visit, label);
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

/** locked says that a run is the only one of its label: what a safety function did the first time is not tried again until it does better. */
export function locked(run: RecordState): boolean {
  return asObject(value(run, "plan"))["as_found_once"] === true;
}

/** recordName tells which logger's file stands for values. */
function recordName(e: Entry): string {
  const file = asObject(e.file);
  return visitWords.record(asText(file["name"]), asText(file["rows"]));
}

/** Runner shows one screen of the plan at a time, what was done above it and what comes below it. */
export function Runner({ visit, run }: { visit: RecordState; run: RecordState }) {
  const course = useCourse(run, visit);
  const own = useOwn(visit);
  const screens = screensOf(course?.steps ?? []);
  const entries = effective(run);
  const at = resumeAt(run, screens);
  const [leaving, leave] = useState<"stop" | "again" | undefined>();
  const [correcting, correct] = useState<Entry | undefined>();
  const [passed, pass] = useDraft(`${run.id} gone on without`); // a reload does not ask again for what was passed over
  const skipped = passed.split("\n");
  const [over, setOver] = useState<string[]>([]);
  const k = useKeep();
  const item = instrumentOf(visit);
  const unit = asText(item["unit"]);
  const top = amount(asText(item["high"]), unit);
  const tap = definitionOf(visit)["tap"] === true;
  if (leaving) return <Stop visit={visit} run={run} again={leaving === "again"} onBack={() => leave(undefined)} />;
  if (!course) return <p class="quiet">{words.shell.loading}</p>;
  const last = entries.findLast((e) => e.of !== "trace");
  const stepById = new Map(screens.flat().map((s) => [s.id, s]));
  if (correcting) {
    const step = stepById.get(correcting.step);
    if (step)
      return (
        <>
          <h1>{w.correctTitle(correcting.of === "trace" ? recordName(correcting) : amount(correcting.value, correcting.unit))}</h1>
          {correcting.of === "answer" ? null : <p class="instruction past">{instruction(step, top)}</p>}
          {correcting.of === "answer" ? (
            <Later
              key={correcting.id}
              load={loadAnswer}
              props={{ run, step, correcting, onKept: () => correct(undefined), onSkip: () => correct(undefined) }}
            />
          ) : correcting.of === "trace" ? (
            <Later
              key={correcting.id}
              load={loadTrace}
              props={{ visit, run, step, kind: kindOf(visit), correcting, onKept: () => correct(undefined), onBack: () => correct(undefined) }}
            />
          ) : (
            <Typed
              key={correcting.id}
              visit={visit}
              run={run}
              ask={{ step, of: correcting.of, optional: false }}
              correcting={correcting}
              early={false}
              onKept={() => correct(undefined)}
              onSkip={() => correct(undefined)}
              live={own.Live}
            />
          )}
        </>
      );
  }
  const screen = screens[at];
  const Aside = own.Aside;
  const next = screens[at + 1];
  const before = screens.slice(0, at).flat();
  const recent = entries.slice(-3).reverse();
  const tick = (field: string) => k.keep(() => put(run, { [`done.${field}`]: { at: new Date().toISOString() } }));
  return (
    <>
      <h1>{w.label[text(run, "label")] ?? text(run, "label")}</h1>
      <p class="visit-where" data-kept={course.kept}>
        <span>{asText(object(visit, "item")["tag"])}</span>
        <span>{w.screen(Math.min(at + 1, screens.length), screens.length, course.ended)}</span>
      </p>
      {before.length > 0 || recent.length > 0 ? (
        <section aria-label={w.above}>
          {recent.length === 0 && before.length > 0 ? <p class="instruction past">{`${w.above}: ${instruction(before.at(-1) as Step, top)}`}</p> : null}
          <ul class="before">
            {recent.map((e) => (
              <li key={e.id}>
                <span>
                  {stepById.get(e.step) ? amount(stepById.get(e.step)?.target ?? "", unit) : ""} {"\u2192"}{" "}
                  <strong>
                    {e.of === "answer" && stepById.get(e.step)?.as === "photo"
                      ? visitWords.finish.photoKept
                      : e.of === "trace"
                        ? recordName(e)
                        : amount(e.value, e.unit)}
                  </strong>{" "}
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
      {course.reasons.length > 0 ? <p class="quiet">{course.reasons.at(-1)}</p> : null}
      {Aside ? <Aside visit={visit} run={run} steps={course.steps} at={screen ? course.steps.indexOf(screen[0] as Step) : course.steps.length} /> : null}
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
          skip={(s) => pass([...skipped, s].join("\n"))}
          over={over}
          setOver={(s) => setOver((old) => [...old, s])}
          busy={k.busy}
          tick={tick}
          top={top}
          live={own.Live}
          correct={correct}
        />
      ) : !course.ended ? (
        <p class="quiet">{words.shell.loading}</p>
      ) : (
        <>
          <p class="instruction">{w.allTyped}</p>
          <Button kind="main" size="tall" wide disabled={k.busy} onClick={() => k.keep(() => closeRun(visit, run, true, ""))}>
            {w.close}
          </Button>
        </>
      )}
      {screen ? (
        <p class="instruction past">{`${w.below}: ${next ? next.map((s) => instruction(s, top)).join(" · ") : course.ended ? w.end : w.unknown}`}</p>
      ) : null}
      <div class="visit-foot">
        {last ? <Button onClick={() => correct(last)}>{w.undo}</Button> : null}
        {locked(run) ? null : <Button onClick={() => leave("again")}>{w.repeat}</Button>}
        <Button onClick={() => leave("stop")}>{w.stop}</Button>
      </div>
    </>
  );
}
