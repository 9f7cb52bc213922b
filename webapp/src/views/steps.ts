import type { FollowOutput } from "../wire/calculations.gen";
import { useEffect, useRef, useState } from "preact/hooks";
import { call } from "../calc/calc";
import { readField, readEach } from "../wire/read";
import { asText, type Json, many, type RecordState, value } from "../wire/records";
import { because } from "../words/course";
import { effective, type Step, stepsOf } from "../records/run";
import { type Datum, definitionOf, tracesOf } from "../records/sheet";
import { sentence } from "../words/words";

/** The steps of a run, as far as they are known. */
export type Course = {
  steps: Step[];
  /** Why the steps are these, latest last. */
  reasons: string[];
  /** What is odd about the recording, in its order. */
  flags: string[];
  /** No further steps can follow. */
  ended: boolean;
  /** How many values and steps the run had kept when the question was asked. */
  kept: number;
};

type Doc = { [name: string]: Json };

/** What the calculation follow gets of the instrument that a visit is to. */
export type Bears = { high: string; unit: string; mode: string; overload?: string; weakest?: string; relief?: string };

/** rangeOf gives the range of the visit's instrument, and the weaker parts on its line. */
function rangeOf(visit: RecordState): Bears {
  const { range, overload, particulars } = readField("visit", visit, "item");
  const { weakest, relief } = particulars;
  return { ...range, overload, weakest: weakest.pressure || weakest.high, relief };
}

/**
 * recordOf writes the input of the calculation follow for a run of a programme: only what was
 * recorded.
 */
export function recordOf(definition: Doc, of: Bears, run: RecordState): Doc {
  const { text, steps, mode, unit: own } = definition;
  const { high, unit, overload, weakest, relief } = of;
  const bears = { ...(overload ? { overload } : {}), ...(weakest ? { weakest } : {}), ...(relief ? { relief } : {}) };
  return {
    programme: text ?? steps ?? "",
    unit: asText(own) || unit,
    ...(mode === undefined ? {} : { mode }),
    ...(high === "" ? {} : { range: { high, unit, ...bears, ...(of.mode === "" ? {} : { mode: of.mode }) } }),
    captures: effective(run)
      .filter((e) => ["indicated", "applied", "before_tap", "answer", "settle"].includes(e.of))
      .map((e) => {
        const first = e.earlier.at(-1)?.at ?? "";
        return {
          step: e.step,
          of: e.of,
          value: e.value,
          unit: e.unit,
          ...(e.at === "" ? {} : { at: e.at }),
          ...(first === "" ? {} : { first_at: first }),
        };
      }),
    done: readEach("run", run, "done")
      .map(([step, { at }]) => ({ step, at }))
      .filter((d) => d.at !== ""),
  };
}

/** loggedOf gives the logger's records among the captures. */
export const loggedOf = (run: RecordState): Datum[] => effective(run).filter((e) => e.of === "trace");

type Asked = Omit<Course, "kept">;

/** courseOf reads the reply of the calculation follow. */
export function courseOf(reply: FollowOutput): Asked {
  return {
    steps: stepsOf(reply as Json),
    reasons: reply.branches.map((b) => because(b.reason, b.taken)),
    flags: reply.flags.map((f) => sentence(f.message)),
    ended: reply.ended,
  };
}

/** The last question and its answer, since several parts of a screen ask the same. */
let last: { key: string; asked: Promise<Asked>; course?: Asked } | undefined;

/**
 * ask adds the samples of the run's loggers to what was recorded, if they decide a wait for rest,
 * and asks how far the run is.
 */
async function ask(key: string): Promise<Asked> {
  const [record, logged]: [Doc, Datum[]] = JSON.parse(key);
  const traces = await tracesOf(logged);
  return courseOf(await call("follow", traces.length === 0 ? record : { ...record, traces }));
}

function follow(key: string): Promise<Asked> {
  if (last?.key === key) return last.asked;
  const mine: NonNullable<typeof last> = { key, asked: ask(key) };
  last = mine;
  mine.asked.then(
    (course) => {
      mine.course = course;
    },
    () => undefined,
  );
  return mine.asked;
}

/**
 * useCourse gives the steps of a run: those of its plan; for a programme, those that the recorded
 * values have led to.
 */
export function useCourse(run: RecordState, visit: RecordState): Course | undefined {
  const definition = definitionOf(visit);
  const programme = readField("visit", visit, "method").definition.kind === "programme";
  const asked = programme ? JSON.stringify([recordOf(definition, rangeOf(visit), run), loggedOf(run)]) : "";
  const kept = many(run, "capture").length + many(run, "done").length;
  const [course, set] = useState<Course | undefined>(
    last?.key === asked && last.course ? { ...last.course, kept } : undefined,
  );
  const newest = useRef("");
  useEffect(() => {
    if (!programme) return;
    const mine = `${kept} ${asked}`;
    newest.current = mine;
    follow(asked).then(
      (got) => newest.current === mine && set({ ...got, kept }),
      (e: unknown) => console.error(e),
    );
    return () => {
      newest.current = "";
    };
  }, [asked, kept]);
  return programme ? course : { steps: stepsOf(value(run, "plan")), reasons: [], flags: [], ended: true, kept };
}
