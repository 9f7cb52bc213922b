import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { Complaint, put, useKeep } from "../../nav/keep";
import { type Beside, candidatesFor, usedOf } from "../../records/candidates";
import { showRange } from "../../records/facts";
import { askRules, rulesOf } from "../../records/rules";
import { useKind, useRecord } from "../../store/hooks";
import { byParent, record, subscribe } from "../../store/store";
import type { ManifoldOutput } from "../../wire/calculations.gen";
import { readField } from "../../wire/read";
import { asObject, asText, type Json, object, type RecordState, value } from "../../wire/records";
import { manifoldWords as w } from "../../words/manifold";
import { visitWords } from "../../words/visit";
import { showDecimal, words } from "../../words/words";
import { beginRun } from "./begin";
import { closeRun } from "./closing";
import { Connect } from "./connect";
import { useDraft } from "./draft";
import { loadStandard } from "./later";
import type { Member, OnManifold, Parts } from "./manifold";
import { airOf, Column, hasColumn, parsed, type Typed, type Wrong } from "./surroundings";

type Doc = { [name: string]: Json };

const tagOf = (visit: RecordState) => asText(object(visit, "item")["tag"]);

/** A manifold in the state of its records: its visits in order, and what comes next. */
type Known = { members: Member[]; said: ManifoldOutput };

/** knownOf reads the visits of a manifold with their runs, and asks which comes next. */
async function knownOf(ids: string[]): Promise<Known> {
  const found = await Promise.all(
    ids.map(async (id): Promise<Member[]> => {
      const [visit, runs] = await Promise.all([record(id), byParent(id)]);
      return visit ? [{ visit, runs }] : [];
    }),
  );
  const members = found.flat();
  for (const { visit, runs } of members) await askRules(visit, runs);
  const said = await call("manifold", {
    visits: members.map(({ visit, runs }) => ({ visit, runs: runs.filter((r) => r.kind === "run") })),
  });
  return { members, said };
}

/** useManifold follows a manifold. It reads every change at once; the last one counts. */
function useManifold(ids: string[]): Known | "fails" | undefined {
  const [known, set] = useState<Known | "fails" | undefined>();
  const key = ids.join(" ");
  useEffect(() => {
    let turn = 0;
    const again = () => {
      const mine = ++turn;
      knownOf(ids).then(
        (k) => mine === turn && set(k),
        (e: unknown) => {
          console.error(e);
          if (mine === turn) set("fails");
        },
      );
    };
    again();
    const end = subscribe((n) => {
      if (n.kinds.length === 0 || n.kinds.includes("run") || n.records.some((r) => ids.includes(r))) again();
    });
    return () => {
      turn = -1;
      end();
    };
  }, [key]);
  return known;
}

/** openRun gives the open run of a visit. */
const openRun = (m: Member) => m.runs.find((r) => r.kind === "run" && value(r, "closed") === undefined);

/** placeOf gives what the manifold asks for at a visit. */
function placeOf({ members, said }: Known, visit: RecordState): OnManifold {
  const phase = (m: Member) => said.visits.find((v) => v.id === m.visit.id)?.phase;
  const here = members.find((m) => m.visit.id === visit.id);
  const still = members.filter((m) => m.visit.id === visit.id || (here && phase(m) === phase(here)));
  const among = phase(here ?? still[0] ?? { visit, runs: [] }) === "prepare" ? members : still;
  const next = members.find((m) => m.visit.id === said.next);
  return {
    place: among.findIndex((m) => m.visit.id === visit.id) + 1,
    tags: among.map((m) => tagOf(m.visit)),
    phase: (here && phase(here)) ?? "done",
    common: said.common && said.next === visit.id,
    shared: members.filter((m) => said.with.includes(m.visit.id)),
    running: members.filter((m) => phase(m) === "run"),
    first: members.find(
      (m) =>
        m.visit.id !== visit.id &&
        value(m.visit, "standard") !== undefined &&
        value(m.visit, "surroundings") !== undefined,
    )?.visit,
    permit: members
      .filter((m) => m.visit.id !== visit.id)
      .map((m) => readField("visit", m.visit, "cautions"))
      .find((c) => c.met)?.permit,
    next: next && next.visit.id !== visit.id ? { id: next.visit.id, tag: tagOf(next.visit) } : undefined,
    own: parts,
  };
}

/**
 * Together leads through the visits of a manifold as if they were one: it shows what comes next,
 * whichever visit was opened. A signed visit is shown itself, and so is one whose turn is over once
 * nothing is under pressure.
 */
export function Together({ opened, show }: { opened: RecordState; show: (m: Member, on: OnManifold) => JSX.Element }) {
  const known = useManifold(readField("visit", opened, "manifold").visits);
  if (known === "fails") return <p role="alert">{visitWords.rulesFail}</p>;
  if (known === undefined) return <p class="quiet">{words.shell.loading}</p>;
  const { members, said } = known;
  const of = (id: string | undefined) => members.find((m) => m.visit.id === id);
  const phase = said.visits.find((v) => v.id === opened.id)?.phase;
  const ahead = said.phase === "prepare" || said.phase === "ready" || said.phase === "run";
  const here = phase !== "done" && ahead ? of(said.next) : of(opened.id);
  if (!here) return <p>{visitWords.missing}</p>;
  return show(here, placeOf(known, here.visit));
}

/** BeginAll starts the runs of all gauges that are prepared. */
function BeginAll({ on }: { on: OnManifold }) {
  const k = useKeep();
  const go = () =>
    k.keep(async () => {
      // The one that is shown comes last, so that this screen stays until then.
      for (const m of [...on.shared].reverse()) await beginRun(m.visit, "as found");
    });
  return (
    <>
      <h1>{w.all(on.shared.length)}</h1>
      <p class="instruction">{on.tags.join(" · ")}</p>
      <p>{w.beginHint}</p>
      {on.shared[0] ? <Connect visit={on.shared[0].visit} opened /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {w.begin(on.shared.length)}
      </Button>
    </>
  );
}

/** heightOf gives how many metres the standard is above the instrument; 0 on one level. */
const heightOf = (visit: RecordState) => Number(asText(object(visit, "head")["standard_above_m"]) || "0");

/**
 * sameOf finds for a visit the device that another visit used in a role, unless there are
 * objections to it here.
 */
async function sameOf(visit: RecordState, first: RecordState, standards: RecordState[], role?: Beside) {
  const used = object(first, role ?? "standard");
  const range = showRange(asObject(used["snapshot"])["range"]);
  const { list, meter } = await candidatesFor(visit, standards, new Date().toISOString().slice(0, 10), role);
  const same = list.find((c) => c.standard.id === asText(used["id"]) && showRange(c.original) === range);
  return { same: same?.objections.length === 0 ? same : undefined, meter };
}

/**
 * takeOver gives what a visit takes over from the first one of its manifold: the same standard,
 * meter and barometer, if there are no objections here, the air, and the column between standard
 * and instrument.
 */
async function takeOver(visit: RecordState, first: RecordState, standards: RecordState[], column: Doc = {}) {
  const { same, meter } = await sameOf(visit, first, standards);
  if (!same) return undefined;
  const fields: Doc = { standard: await usedOf(same, "") };
  for (const [role, wanted] of [
    ["meter", meter],
    ["barometer", same.barometer],
  ] as const) {
    if (!wanted) continue;
    const beside = (await sameOf(visit, first, standards, role)).same;
    if (!beside) return undefined;
    fields[role] = await usedOf(beside, "");
  }
  for (const name of ["surroundings", "head", "typed"]) {
    const v = value(first, name);
    if (v !== undefined) fields[name] = v;
  }
  const answered = served(visit, first);
  if (answered) fields["service"] = answered;
  return { ...fields, ...column };
}

/**
 * served gives the first gauge's answers about standard, hose, medium and room, which a manifold
 * has once: the questions that are asked here too and were answered with yes.
 */
function served(visit: RecordState, first: RecordState): Json | undefined {
  const said = object(first, "service");
  const same = rulesOf(visit).service.filter((q) => said[q] === "yes");
  if (same.length === 0) return undefined;
  return { ...Object.fromEntries(same.map((q) => [q, "yes"])), at: asText(said["at"]) };
}

/**
 * columnOf gives the column of a gauge that is higher or lower than the first one: its own height
 * with the same fluid, or what does not fit.
 */
async function columnOf(visit: RecordState, first: RecordState, typed: Typed, site: RecordState | null | undefined) {
  const air = Object.fromEntries(Object.entries(object(first, "surroundings")).map(([f, v]) => [f, asText(v)]));
  const said = await airOf(visit, { ...air, ...typed }, site, value(first, "barometer") !== undefined);
  if ("error" in said) return said;
  const { standard_above_m: _, ...others } = object(first, "typed");
  const { head, typed: own } = said.fields;
  const level = value(first, "head") === undefined ? {} : { head: { ...object(first, "head"), standard_above_m: "0" } };
  return { fields: { ...(head ? { head } : level), typed: { ...others, ...asObject(own) } } };
}

/**
 * Same takes the first gauge's devices and conditions for another one, or asks for them. It asks
 * about the column between gauge and standard once for the set: the same for all, or one each.
 */
function Same({ visit, first }: { visit: RecordState; first: RecordState }) {
  const standards = useKind("standard");
  const [ask, setAsk] = useState(false);
  const [column, setColumn] = useDraft(`${first.id} column of all`);
  const taking = column === "all" || !hasColumn(visit);
  const take = async (own?: Doc) => {
    const fields = await takeOver(visit, first, standards ?? [], own);
    if (fields) await put(visit, fields);
    else setAsk(true);
  };
  useEffect(() => {
    if (!standards || ask || !taking) return;
    take().catch((e: unknown) => {
      console.error(e);
      setAsk(true);
    });
  }, [standards, taking]);
  if (ask) return <Later load={loadStandard} props={{ visit }} />;
  if (taking) return <p class="quiet">{w.taking}</p>;
  if (column === "own") return <OwnColumn visit={visit} first={first} onTake={take} onBack={() => setColumn("")} />;
  const high = heightOf(first);
  return (
    <>
      <h1>{w.columnTitle}</h1>
      <p class="instruction">
        {high === 0
          ? w.columnLevel(tagOf(first))
          : w.column(showDecimal(String(Math.abs(high))), tagOf(first), high > 0)}
      </p>
      <p>{w.columnHint}</p>
      <Button kind="main" size="tall" wide onClick={() => setColumn("all")}>
        {w.columnAll}
      </Button>
      <div class="buttons">
        <Button size="tall" onClick={() => setColumn("own")}>
          {w.columnOwn}
        </Button>
      </div>
    </>
  );
}

/** OwnColumn asks how high the standard is above one gauge of the set. */
function OwnColumn({
  visit,
  first,
  onTake,
  onBack,
}: {
  visit: RecordState;
  first: RecordState;
  onTake: (column: Doc) => Promise<void>;
  onBack: () => void;
}) {
  const { standard_above_m: height, fluid, fluid_density_kg_m3: dense } = object(first, "head");
  const [draft, setDraft] = useDraft(
    `${visit.id} own column`,
    JSON.stringify({
      standard_above_m: asText(height) || "0",
      fluid: asText(fluid),
      fluid_density_kg_m3: asText(dense),
    }),
  );
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const site = useRecord(visit.site);
  const k = useKeep();
  const typed = parsed(draft);
  const go = () =>
    k.keep(async () => {
      const said = await columnOf(visit, first, typed, site);
      if ("error" in said) return setWrong(said);
      setWrong(undefined);
      await onTake(said.fields);
    });
  return (
    <>
      <h1>{w.ownTitle(tagOf(visit))}</h1>
      <Column
        typed={typed}
        label={w.ownHeight(tagOf(visit))}
        hint={w.ownHint}
        ask={asText(fluid) === ""}
        wrong={wrong}
        onType={(field, v) => setDraft(JSON.stringify({ ...typed, [field]: v }))}
      />
      <Complaint error={k.error ?? (wrong && wrong.field !== "standard_above_m" ? wrong.error : undefined)} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {visitWords.next}
      </Button>
      <div class="visit-foot">
        <Button kind="quiet" onClick={onBack}>
          {visitWords.finish.back}
        </Button>
      </div>
    </>
  );
}

/** Leave ends the run of one gauge while the others go on, or those of all. */
function Leave({
  visit,
  run,
  all,
  on,
  onBack,
}: {
  visit: RecordState;
  run: RecordState;
  all: boolean;
  on: OnManifold;
  onBack: () => void;
}) {
  const [vented, setVented] = useState(false);
  const [why, setWhy] = useDraft(`${run.id} leave`);
  const k = useKeep();
  const go = () => {
    if (why.trim() === "") return k.say(all ? visitWords.run.needStop : w.needLeave);
    k.keep(async () => {
      const others = all ? on.running.filter((m) => m.visit.id !== visit.id) : [];
      for (const m of others) {
        const other = openRun(m);
        if (other) await closeRun(m.visit, other, false, why.trim());
      }
      await closeRun(visit, run, false, why.trim());
    });
  };
  return (
    <>
      <h1>{all ? w.stopTitle : w.leaveTitle(tagOf(visit))}</h1>
      <p class="instruction">{all ? visitWords.run.stopText : w.leaveText}</p>
      {all ? (
        <div class="ticks">
          <label>
            <input type="checkbox" checked={vented} onChange={() => setVented(!vented)} />
            <span>{visitWords.run.vented}</span>
          </label>
        </div>
      ) : null}
      <Field label={all ? visitWords.run.stopWhy : w.leaveWhy} value={why} onInput={setWhy} />
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={(all && !vented) || k.busy} onClick={go}>
        {all ? w.stopAll : w.leave}
      </Button>
      <div class="visit-foot">
        <Button kind="quiet" onClick={onBack}>
          {visitWords.finish.back}
        </Button>
      </div>
    </>
  );
}

/**
 * Ways has what is seldom needed in a run on a manifold: one gauge leaves it, or all are stopped.
 */
function Ways({ onLeave }: { onLeave: (way: "leave" | "stop") => void }) {
  return (
    <>
      <Button size="tall" wide onClick={() => onLeave("leave")}>
        {w.leave}
      </Button>
      <Button size="tall" wide onClick={() => onLeave("stop")}>
        {w.stopAll}
      </Button>
    </>
  );
}

/** Gauge names in large letters the gauge that a screen is about: one, or all of the manifold. */
function Gauge({ on }: { on: OnManifold }) {
  return on.common ? (
    <p class="gauge-now">
      <strong>{w.all(on.tags.length)}</strong> <span class="small">{on.tags.join(" · ")}</span>
    </p>
  ) : (
    <p class="gauge-now">
      <strong class="one">{on.tags[on.place - 1]}</strong> <span class="small">{w.read(on.place, on.tags.length)}</span>
    </p>
  );
}

/** Before names the gauges that the screens before the first pressure are about. */
function Before({ on }: { on: OnManifold }) {
  return <p class="quiet">{w.place(on.place, on.tags.length)}</p>;
}

/** NextGauge leads from a signed visit to the next one of its manifold. */
function NextGauge({ on }: { on: OnManifold }) {
  return on.next ? (
    <a class="visit-next" href={`/visit/${on.next.id}`}>
      {w.next(on.next.tag)}
    </a>
  ) : null;
}

const parts: Parts = { BeginAll, Same, Leave, Ways, Gauge, Before, NextGauge };
