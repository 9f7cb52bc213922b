import { shapes } from "../wire/records.gen";
import { read } from "../wire/read";
import { asObject, asText, type Json, type RecordState, text, value } from "../wire/records";
import { effective, type Entry, reported, rulesOf, runNamed } from "./rules";
import { sentence } from "../words/words";

export { effective, type Entry } from "./rules";

export type Step = {
  id: string;
  do: string;
  screen: number;
  direction: string;
  target: string;
  unit: string;
  seconds: number;
  count: number;
  of: string;
  text: string;
  /** For an ask: number, yes, text or photo. */
  as: string;
  rate: string;
  until: string;
  within: string;
  atMost: number;
  every: number;
  many: boolean;
  trace: boolean;
  optional: boolean;
  /** For a safety question: what to do if the answer is not yes; "" for any other step. */
  makeSafe: string;
  /** For a settle: the typed values have decided it. */
  over: boolean;
  /** The step as the plan has it, and a figure of it by its name there, "" if it has none. */
  plan: { [name: string]: Json };
  figure: (name: string) => string;
};

/** A value that a screen asks for. */
export type Ask = { step: Step; of: string; optional: boolean };

/** stepsOf reads the steps of a stored plan, in their order. */
export function stepsOf(plan: Json | undefined): Step[] {
  const { steps: kept } = asObject(plan);
  const plans = Array.isArray(kept) ? kept.map(asObject) : [];
  return read(shapes.run.plan, plan).steps.map((s, i) => {
    const { at_most_s, every_s, make_safe, safety, unjudged: _, ...step } = s;
    const o = plans[i] ?? {};
    return {
      ...step,
      text: sentence(step.text),
      screen: s.screen ?? i + 1,
      seconds: s.seconds ?? 0,
      count: s.count ?? 1,
      atMost: at_most_s ?? 0,
      every: every_s ?? 0,
      many: s.many === true,
      trace: s.trace === true,
      optional: s.optional === true,
      makeSafe: safety === true ? sentence(make_safe) : "",
      over: s.over === true,
      plan: o,
      figure: (name) => asText(o[name]),
    };
  });
}

/** screensOf groups the steps that share a screen. */
export function screensOf(steps: Step[]): Step[][] {
  const groups = new Map<number, Step[]>();
  for (const s of steps) {
    const group = groups.get(s.screen);
    if (group) group.push(s);
    else groups.set(s.screen, [s]);
  }
  return [...groups].sort((a, b) => a[0] - b[0]).map(([, g]) => g);
}

/**
 * entryFor gives the effective entry of a step; if two devices wrote one each, the last written.
 */
export function entryFor(entries: Entry[], step: string, of: string): Entry | undefined {
  return entries.findLast((e) => e.step === step && e.of === of);
}

/**
 * asksOf gives the values that a screen asks for. With tap, a value before the tap comes first and
 * may be left out.
 */
export function asksOf(screen: Step[], tap: boolean): Ask[] {
  const reads = screen.filter((s) => s.do === "read" && !s.many);
  const beforeKnown = reads.some((s) => s.of === "before_tap");
  return reads.flatMap((step) => {
    const own: Ask = { step, of: step.of || "indicated", optional: step.optional };
    return tap && !beforeKnown && own.of === "indicated" ? [{ step, of: "before_tap", optional: true }, own] : [own];
  });
}

/** doneAt gives when a step without a value was done, undefined if it was not. */
export function doneAt(run: RecordState, step: string): string | undefined {
  const { at } = read(shapes.run.done, value(run, `done.${step}`));
  return at === "" ? undefined : at;
}

/** A step that is answered on a screen rather than done: a value, values, an answer, a settling. */
export const isAnswered = (s: Step) => s.do === "read" || s.do === "ask" || s.do === "settle";

/** stepDone says whether a step has what it asks for. An optional step may be ticked instead. */
export function stepDone(run: RecordState, entries: Entry[], s: Step): boolean {
  const ticked = s.over || doneAt(run, s.id) !== undefined;
  if (!isAnswered(s) || s.many || s.do === "settle") return ticked;
  return ticked || entryFor(entries, s.id, s.do === "ask" ? "answer" : s.of || "indicated") !== undefined;
}

/**
 * counts says whether a wait has to be ticked. If a value follows at once, the wait ends with that
 * value, which may be read early for a reason.
 */
const counts = (screen: Step[], hold: Step) => {
  const next = screen[screen.indexOf(hold) + 1];
  return next === undefined || !isAnswered(next);
};

/** isDone says whether a step of a screen is done. */
function isDone(run: RecordState, entries: Entry[], screen: Step[], s: Step): boolean {
  return (s.do === "hold" && !counts(screen, s)) || stepDone(run, entries, s);
}

/** screenDone says whether everything a screen asks for is there. */
export function screenDone(run: RecordState, entries: Entry[], screen: Step[]): boolean {
  return screen.every((s) => isDone(run, entries, screen, s));
}

/**
 * What to do now on a screen: the first step that is not done, with the wait that this step may end
 * early.
 */
export type Now = { step: Step; hold: Step | undefined };

/**
 * nowOn finds what a screen asks for next, in the order of the plan. Every wait has its turn,
 * however many there are.
 */
export function nowOn(run: RecordState, entries: Entry[], screen: Step[]): Now | undefined {
  const at = screen.findIndex((s) => !isDone(run, entries, screen, s));
  const step = screen[at];
  if (!step) return undefined;
  const before = screen[at - 1];
  return { step, hold: step.do === "hold" ? step : isAnswered(step) && before?.do === "hold" ? before : undefined };
}

/**
 * resumeAt gives the index of the first screen that is not done, or the number of screens if all
 * are.
 */
export function resumeAt(run: RecordState, screens: Step[][]): number {
  const entries = effective(run);
  const i = screens.findIndex((s) => !screenDone(run, entries, s));
  return i < 0 ? screens.length : i;
}

/**
 * holdFrom gives the moment from which a screen counts a wait: its own start, or else when the last
 * thing before it was done, on its screen or at the end of the one before. It runs the clock and
 * gives no verdict: a reading before the end of the wait is kept, with a reason.
 */
export function holdFrom(run: RecordState, screen: Step[], hold: Step, earlier: Step[] = []): number | undefined {
  const before = screen.slice(0, screen.indexOf(hold)).filter((s) => !isAnswered(s));
  if (before.some((s) => s.do !== "hold" && doneAt(run, s.id) === undefined)) return undefined;
  const prior = earlier.at(-1);
  const last = before.at(-1) ?? (prior && !isAnswered(prior) ? prior : undefined);
  const at = doneAt(run, `${hold.id}.begun`) ?? (last ? doneAt(run, last.id) : undefined);
  const t = at === undefined ? Number.NaN : Date.parse(at);
  return Number.isNaN(t) ? undefined : t;
}

/**
 * secondsLeft is what the clock on the screen shows. It follows the wall clock, so that a locked
 * screen does not stop it. A clock set back never makes it longer than the wait.
 */
export function secondsLeft(from: number, seconds: number, now: number): number {
  return Math.min(seconds, Math.max(0, Math.ceil(seconds - (now - from) / 1000)));
}

/** What stops a visit before any pressure is applied. */
export type Halted = "cautions" | "identity" | "damaged" | "oxygen" | "air";

export type Stage =
  | {
      kind:
        | "cautions"
        | "identity"
        | "standard"
        | "service"
        | "surroundings"
        | "bypasses"
        | "since"
        | "finish"
        | "done";
    }
  | { kind: "halt"; why: Halted }
  | { kind: "begin"; label: "as found" | "as left" }
  | { kind: "run" | "adjusted"; run: RecordState };

/** stageOf gives the stage of a visit, according to the rules. */
export function stageOf(visit: RecordState, children: RecordState[]): Stage {
  const { kind, why, label, run } = rulesOf(visit).stage;
  switch (kind) {
    case "halt":
      return { kind, why: why ?? "cautions" };
    case "begin":
      return { kind, label: label ?? "as found" };
    case "run":
    case "adjusted": {
      const named = runNamed(children, run);
      return named ? { kind, run: named } : { kind: "finish" };
    }
    default:
      return { kind };
  }
}

/** inOrder gives the runs of a visit in the order of their beginning. */
export const inOrder = (visit: RecordState, children: RecordState[]): RecordState[] =>
  rulesOf(visit).runs.flatMap(({ id }) => runNamed(children, id) ?? []);

/**
 * returnedSince gives the office's words when it returned or reopened a visit after it was signed.
 */
export const returnedSince = (visit: RecordState): string[] => rulesOf(visit).sent_back;

/**
 * isApproved says whether the office's approval is in force. An approved visit may have been
 * reopened since.
 */
export const isApproved = (visit: RecordState): boolean => rulesOf(visit).status === "approved";

/** speaking gives the runs that are reported of a visit. */
export const speaking = reported;

/** helping says whether a person works on a visit: it is theirs, or it names them. */
export const helping = (visit: RecordState, person: string) =>
  [person, ""].includes(text(visit, "person")) || (value(visit, `with.${person}`) ?? null) !== null;
