import { asNumber, asObject, asText, type Json, many, object, type RecordState, sentBack, stampOf, text, value } from "../../wire/records";

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
  /** Of an ask: number, yes, text or photo. */
  as: string;
  rate: string;
  until: string;
  within: string;
  atMost: number;
  every: number;
  many: boolean;
  trace: boolean;
  optional: boolean;
  /** Of a settle: what was typed has decided it. */
  over: boolean;
};

/** One entry of a run as it was kept, with the entries it took the place of, latest first. */
export type Entry = {
  id: string;
  step: string;
  of: string;
  value: string;
  unit: string;
  at: string;
  reason: string;
  earlier: Entry[];
  /** Of a logger's record: how it is read, and what the file is called. */
  reading?: Json;
  file?: Json;
};

/** What a screen asks to be typed. */
export type Ask = { step: Step; of: string; optional: boolean };

/** stepsOf reads the steps of a stored plan, in their order. */
export function stepsOf(plan: Json | undefined): Step[] {
  const steps = asObject(plan)["steps"];
  if (!Array.isArray(steps)) return [];
  return steps.map((s, i) => {
    const o = asObject(s);
    return {
      id: asText(o["id"]),
      do: asText(o["do"]),
      screen: asNumber(o["screen"]) ?? i + 1,
      direction: asText(o["direction"]),
      target: asText(o["target"]),
      unit: asText(o["unit"]),
      seconds: asNumber(o["seconds"]) ?? 0,
      count: asNumber(o["count"]) ?? 1,
      of: asText(o["of"]),
      text: asText(o["text"]),
      as: asText(o["as"]),
      rate: asText(o["rate"]),
      until: asText(o["until"]),
      within: asText(o["within"]),
      atMost: asNumber(o["at_most_s"]) ?? 0,
      every: asNumber(o["every_s"]) ?? 0,
      many: o["many"] === true,
      trace: o["trace"] === true,
      optional: o["optional"] === true,
      over: o["over"] === true,
    };
  });
}

/** screensOf groups steps that are shown together. */
export function screensOf(steps: Step[]): Step[][] {
  const groups = new Map<number, Step[]>();
  for (const s of steps) {
    const group = groups.get(s.screen);
    if (group) group.push(s);
    else groups.set(s.screen, [s]);
  }
  return [...groups].sort((a, b) => a[0] - b[0]).map(([, g]) => g);
}

/** entriesOf gives every capture of a run in the order of writing. */
function entriesOf(run: RecordState): (Entry & { supersedes: string })[] {
  return many(run, "capture").map(([id, v]) => {
    const o = asObject(v);
    return {
      id,
      step: asText(o["step"]),
      of: asText(o["of"]),
      value: asText(o["value"]),
      unit: asText(o["unit"]),
      at: asText(o["at"]),
      reason: asText(o["reason"]),
      supersedes: asText(o["supersedes"]),
      earlier: [],
      ...(o["reading"] === undefined ? {} : { reading: o["reading"], file: o["file"] ?? {} }),
    };
  });
}

/** effective gives the captures that no other has superseded, in the order of writing, each with those it stands for. */
export function effective(run: RecordState): Entry[] {
  const all = entriesOf(run);
  const byId = new Map(all.map((e) => [e.id, e]));
  const gone = new Set(all.map((e) => e.supersedes).filter((id) => id !== ""));
  return all
    .filter((e) => !gone.has(e.id))
    .map((e) => {
      const earlier: Entry[] = [];
      const seen = new Set([e.id]);
      for (let old = byId.get(e.supersedes); old && !seen.has(old.id); old = byId.get(old.supersedes)) {
        seen.add(old.id);
        earlier.push(old);
      }
      return { ...e, earlier };
    });
}

/** entryFor gives the effective entry of a step, the last written if two devices wrote one each. */
export function entryFor(entries: Entry[], step: string, of: string): Entry | undefined {
  return entries.findLast((e) => e.step === step && e.of === of);
}

/** asksOf tells what a screen wants typed; with tap, a value before the tap comes first and may be left out. */
export function asksOf(screen: Step[], tap: boolean): Ask[] {
  const reads = screen.filter((s) => s.do === "read" && !s.many);
  const beforeKnown = reads.some((s) => s.of === "before_tap");
  return reads.flatMap((step) => {
    const own: Ask = { step, of: step.of || "indicated", optional: step.optional };
    return tap && !beforeKnown && own.of === "indicated" ? [{ step, of: "before_tap", optional: true }, own] : [own];
  });
}

/** doneAt tells when a step without a value was done, undefined if it was not. */
export function doneAt(run: RecordState, step: string): string | undefined {
  const at = asText(object(run, `done.${step}`)["at"]);
  return at === "" ? undefined : at;
}

/** What is answered on a screen rather than done: a value, values, an answer, a settling. */
export const isAnswered = (s: Step) => s.do === "read" || s.do === "ask" || s.do === "settle";

/** stepDone says whether what a step asks for is there; an optional one may be ticked instead. */
export function stepDone(run: RecordState, entries: Entry[], s: Step): boolean {
  const ticked = s.over || doneAt(run, s.id) !== undefined;
  if (!isAnswered(s) || s.many || s.do === "settle") return ticked;
  return ticked || entryFor(entries, s.id, s.do === "ask" ? "answer" : s.of || "indicated") !== undefined;
}

/** screenDone says whether everything a screen asks for is there; a wait counts by itself only where nothing comes after it. */
export function screenDone(run: RecordState, entries: Entry[], screen: Step[]): boolean {
  const last = screen.at(-1);
  return screen.filter((s) => s.do !== "hold" || s === last).every((s) => stepDone(run, entries, s));
}

/** resumeAt gives the index of the first screen that is not done; the number of screens when all are. */
export function resumeAt(run: RecordState, screens: Step[][]): number {
  const entries = effective(run);
  const i = screens.findIndex((s) => !screenDone(run, entries, s));
  return i < 0 ? screens.length : i;
}

/** holdFrom gives the moment a screen's wait began: its own start, else when the last thing before it was done. */
export function holdFrom(run: RecordState, screen: Step[], hold: Step): number | undefined {
  const before = screen.slice(0, screen.indexOf(hold)).filter((s) => !isAnswered(s) && s.do !== "hold");
  if (before.some((s) => doneAt(run, s.id) === undefined)) return undefined;
  const last = before.at(-1);
  const at = doneAt(run, `${hold.id}.begun`) ?? (last ? doneAt(run, last.id) : undefined);
  const t = at === undefined ? Number.NaN : Date.parse(at);
  return Number.isNaN(t) ? undefined : t;
}

/** secondsLeft counts by the wall, so that a locked screen does not stop it; a clock set back never makes it longer than the wait. */
export function secondsLeft(from: number, seconds: number, now: number): number {
  return Math.min(seconds, Math.max(0, Math.ceil(seconds - (now - from) / 1000)));
}

/** doubtful names what looks mistyped about a value: nothing is refused for it, but a reason is asked. */
export function doubtful(typed: string, range: { low: number; high: number }, target: number | undefined): "range" | "far" | undefined {
  const v = Number(typed);
  const span = range.high - range.low;
  if (v < range.low - span / 20 || v > range.high + span / 20) return "range";
  return target !== undefined && Math.abs(v - target) > span / 5 ? "far" : undefined;
}

export type Stage =
  | { kind: "cautions" }
  | { kind: "identity" }
  | { kind: "standard" }
  | { kind: "surroundings" }
  | { kind: "begin"; label: "as found" | "as left" }
  | { kind: "run"; run: RecordState }
  | { kind: "adjusted"; run: RecordState }
  | { kind: "finish" }
  | { kind: "done" };

/** inOrder sorts runs by their beginning. */
export function inOrder(runs: RecordState[]): RecordState[] {
  const first = (r: RecordState) => r.fields["label"]?.heads.at(-1)?.stamp ?? "";
  return runs.filter((r) => r.kind === "run").sort((a, b) => (first(a) < first(b) ? -1 : 1));
}

/** returnedSince gives the words with which the office returned a visit, or opened it again, after it was signed. */
export function returnedSince(visit: RecordState): string[] {
  return sentBack(visit).map((v) => asText(asObject(v)["remark"] ?? asObject(v)["reason"]));
}

function reopenedAt(visit: RecordState): string {
  const last = many(visit, "reopened").at(-1);
  return last ? stampOf(visit, `reopened.${last[0]}`) : "";
}

/** isApproved says whether the office's approval stands: an approved visit may have been opened again since. */
export function isApproved(visit: RecordState): boolean {
  return stampOf(visit, "approval") > reopenedAt(visit);
}

/** What a visit of a kind of work asks for besides its runs. */
export type Flow = { adjusts: boolean; standard: boolean };

const flows: { [kind: string]: Flow } = {
  leak: { adjusts: false, standard: true },
  burst: { adjusts: false, standard: true },
  programme: { adjusts: false, standard: true },
  "pitot-static-leak": { adjusts: false, standard: true },
};

/** flowOf tells what a visit's kind of work asks for: an adjustable instrument is judged as found and as left. */
export function flowOf(visit: RecordState): Flow {
  return flows[asText(asObject(object(visit, "method")["definition"])["kind"])] ?? { adjusts: true, standard: true };
}

/** stageOf tells where a visit stands, from its records alone. */
export function stageOf(visit: RecordState, children: RecordState[]): Stage {
  const runs = inOrder(children);
  const has = (field: string) => value(visit, field) !== undefined;
  if (isApproved(visit)) return { kind: "done" };
  const open = runs.find((r) => value(r, "closed") === undefined);
  if (!has("cautions")) return { kind: "cautions" };
  if (open) return { kind: "run", run: open };
  // A device without the runs of a signed visit does not begin new ones.
  if (has("signature") && (returnedSince(visit).length === 0 || runs.length === 0)) return { kind: "done" };
  if (!has("identity") || !has("condition")) return { kind: "identity" };
  if (flowOf(visit).standard && !has("standard")) return { kind: "standard" };
  if (!has("surroundings")) return { kind: "surroundings" };
  const last = runs.at(-1);
  if (!last) return { kind: "begin", label: "as found" };
  if (!has("adjusted") && flowOf(visit).adjusts) return { kind: "adjusted", run: last };
  if (object(visit, "adjusted")["done"] === true && !runs.some((r) => text(r, "label") === "as left")) return { kind: "begin", label: "as left" };
  return { kind: "finish" };
}

/** speaking picks the runs that speak: the first whole as-found one (after a return by the office the last whole one, after an approved visit was opened again the last whole one begun since), and the last whole one since the adjustment. */
export function speaking(visit: RecordState, children: RecordState[]): { found: RecordState | undefined; left: RecordState | undefined } {
  const runs = inOrder(children).filter((r) => value(r, "closed") !== undefined);
  const cut = runs.findIndex((r) => text(r, "label") === "as left");
  const before = cut < 0 ? runs : runs.slice(0, cut);
  const after = cut < 0 ? [] : runs.slice(cut);
  const whole = (part: RecordState[]) => part.filter((r) => object(r, "finding")["complete"] === true);
  const first = many(visit, "returned").length > 0 ? undefined : whole(before).find((r) => text(r, "label") === "as found");
  const reopened = reopenedAt(visit);
  const since = reopened && whole(before).findLast((r) => stampOf(r, "label") > reopened);
  return { found: (since || first) ?? whole(before).at(-1) ?? before.at(-1), left: whole(after).at(-1) ?? after.at(-1) };
}

/** summaryOf shortens findings to what every phone keeps of a past visit. */
export function summaryOf(visit: RecordState, children: RecordState[]): { [name: string]: Json } {
  const short = (run: RecordState): Json => {
    const f = object(run, "finding");
    const readings = Array.isArray(f["readings"]) ? f["readings"].map(asObject) : [];
    return {
      verdict: f["verdict"] ?? "undecided",
      worst_fraction: asObject(f["worst"])["fraction"] ?? null,
      points: readings.map((r) => ({ point: r["point"] ?? null, direction: r["direction"] ?? "", error: r["error"] ?? null, limit: r["limit_high"] ?? null })),
      ...(Array.isArray(f["results"]) ? { results: f["results"] } : {}),
    };
  };
  const { found, left } = speaking(visit, children);
  return { ...(found ? { as_found: short(found) } : {}), ...(left ? { as_left: short(left) } : {}) };
}

/** coveredBy lists every change of the runs, for the signature. */
export function coveredBy(children: RecordState[]): string[] {
  const ids = new Set<string>();
  for (const run of inOrder(children)) {
    for (const state of Object.values(run.fields)) {
      for (const h of state.heads) ids.add(h.change);
      for (const id of state.replaced) ids.add(id);
    }
  }
  return [...ids].sort();
}
