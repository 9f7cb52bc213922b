import { call } from "../calc/calc";
import type { VisitInput, VisitOutput } from "../wire/calculations.gen";
import { asObject, asText, type Json, many, type RecordState } from "../wire/records";

/**
 * The reply of the calculation `visit`, which has every rule of a visit, for the phone and the
 * office.
 */
export type Rules = VisitOutput;

/** One entry of a run as it was kept, with the entries that it replaced, latest first. */
export type Entry = {
  id: string;
  step: string;
  of: string;
  value: string;
  unit: string;
  at: string;
  /** What was typed, with its unit, if that differs; else "". */
  typed: string;
  reason: string;
  earlier: Entry[];
  /** For a logger's record: how it is read, and the name of its file. */
  reading?: Json;
  file?: Json;
};

/**
 * The rules' answers about the records on a screen. A record never changes: a new state is a new
 * object.
 */
const visits = new WeakMap<RecordState, Rules>();
const runs = new WeakMap<RecordState, Entry[]>();

const unheard = (what: string) => new Error(`the rules were not asked about this ${what}`);

/** spare leaves out the parts of a run's plan, which is long, that no rule reads. */
function spare(run: RecordState): RecordState {
  const plan = run.fields["plan"];
  const short = (v: Json): Json => (asObject(v)["bypasses"] === true ? { bypasses: true } : null);
  return plan
    ? {
        ...run,
        fields: { ...run.fields, plan: { ...plan, heads: plan.heads.map((h) => ({ ...h, value: short(h.value) })) } },
      }
    : run;
}

function entryOf(run: RecordState): (id: string) => Entry[] {
  const kept = new Map(many(run, "capture").map(([id, v]) => [id, asObject(v)]));
  return (id) => {
    const c = kept.get(id);
    if (!c) return [];
    const { reading, file } = c;
    const text = (name: string) => asText(c[name]);
    const entry = {
      id,
      step: text("step"),
      of: text("of"),
      value: text("value"),
      unit: text("unit"),
      at: text("at"),
      typed: text("typed"),
      reason: text("reason"),
      earlier: [],
    };
    return [reading === undefined ? entry : { ...entry, reading, file: file ?? {} }];
  };
}

/** requestOf writes the rules' input for a visit and its runs. */
export const requestOf = (visit: RecordState, children: RecordState[]): VisitInput => ({
  visit,
  runs: children.filter((r) => r.kind === "run").map(spare),
});

/** hear keeps the rules' answers about the captures of runs. */
function hear(children: RecordState[], rules: Rules): Rules {
  for (const { id, effective: said } of rules.runs) {
    const run = runNamed(children, id);
    if (!run) continue;
    const entry = entryOf(run);
    runs.set(
      run,
      said.flatMap((c) => entry(c.id).map((e) => ({ ...e, earlier: (c.earlier ?? []).flatMap(entry) }))),
    );
  }
  return rules;
}

/** learn keeps the rules' answers about a visit with its runs. */
export function learn(visit: RecordState, children: RecordState[], rules: Rules): Rules {
  visits.set(visit, rules);
  return hear(children, rules);
}

/**
 * askRules asks the rules about a visit with its runs, once for each state of them; afterwards
 * rulesOf and effective know the answers. Refuses: CalcError.
 */
export async function askRules(visit: RecordState, children: RecordState[]): Promise<Rules> {
  return learn(visit, children, await call("visit", requestOf(visit, children)));
}

/**
 * askEffective asks about runs as they are going to be; afterwards effective knows them. Refuses:
 * CalcError.
 */
export async function askEffective(visit: RecordState, children: RecordState[]): Promise<Rules> {
  return hear(children, await call("visit", requestOf(visit, children)));
}

/** rulesOf gives the rules' answers about a visit that they were asked about. */
export function rulesOf(visit: RecordState): Rules {
  const rules = visits.get(visit);
  if (!rules) throw unheard("visit");
  return rules;
}

/**
 * effective gives the captures of a run that no other has superseded, in the order of writing. The
 * rules must have been asked about the run before.
 */
export function effective(run: RecordState): Entry[] {
  const entries = runs.get(run);
  if (!entries) throw unheard("run");
  return entries;
}

/** runNamed finds a run that the rules name. */
export const runNamed = (children: RecordState[], id: string | undefined): RecordState | undefined =>
  children.find((r) => r.id === id);

/** reported gives the reported runs of a visit. */
export function reported(
  visit: RecordState,
  children: RecordState[],
): { found: RecordState | undefined; left: RecordState | undefined } {
  const { as_found, as_left } = rulesOf(visit).reported;
  return { found: runNamed(children, as_found), left: runNamed(children, as_left) };
}
