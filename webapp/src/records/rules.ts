import { call } from "../calc/calc";
import type { VisitInput, VisitOutput } from "../wire/calculations.gen";
import { asObject, asText, type Json, many, type RecordState } from "../wire/records";

/**
 * What the calculation `visit` says of a visit: every rule of a visit is there, for the phone
 * and the office.
 */
export type Rules = VisitOutput;

/** One entry of a run as it was kept, with the entries it took the place of, latest first. */
export type Entry = {
  id: string;
  step: string;
  of: string;
  value: string;
  unit: string;
  at: string;
  /** What was typed, with its unit, where that is another one; else "". */
  typed: string;
  reason: string;
  earlier: Entry[];
  /** Of a logger's record: how it is read, and what the file is called. */
  reading?: Json;
  file?: Json;
};

/**
 * What was said of the records that are on a screen. A record is never changed: another state of it
 * is another object.
 */
const visits = new WeakMap<RecordState, Rules>();
const runs = new WeakMap<RecordState, Entry[]>();

const unheard = (what: string) => new Error(`the rules were not asked about this ${what}`);

/** spare leaves out of a run's plan, which is long, what no rule looks at. */
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

/** requestOf writes what the rules are asked about a visit and its runs. */
export const requestOf = (visit: RecordState, children: RecordState[]): VisitInput => ({
  visit,
  runs: children.filter((r) => r.kind === "run").map(spare),
});

/** hear keeps what the rules said of the captures of runs. */
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

/** learn keeps what the rules said of a visit with its runs. */
export function learn(visit: RecordState, children: RecordState[], rules: Rules): Rules {
  visits.set(visit, rules);
  return hear(children, rules);
}

/**
 * askRules asks what the rules say of a visit with its runs, once for each state of them;
 * afterwards rulesOf and effective know. Refuses: CalcError.
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

/** rulesOf gives what the rules said of a visit that they were asked about. */
export function rulesOf(visit: RecordState): Rules {
  const rules = visits.get(visit);
  if (!rules) throw unheard("visit");
  return rules;
}

/**
 * effective gives the captures of a run that no other has superseded, in the order of writing; the
 * rules were asked about it before.
 */
export function effective(run: RecordState): Entry[] {
  const entries = runs.get(run);
  if (!entries) throw unheard("run");
  return entries;
}

/** runNamed finds a run that the rules name. */
export const runNamed = (children: RecordState[], id: string | undefined): RecordState | undefined =>
  children.find((r) => r.id === id);

/** reported gives the runs that are reported of a visit. */
export function reported(
  visit: RecordState,
  children: RecordState[],
): { found: RecordState | undefined; left: RecordState | undefined } {
  const { as_found, as_left } = rulesOf(visit).reported;
  return { found: runNamed(children, as_found), left: runNamed(children, as_left) };
}
