import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { Complaint, put, useKeep } from "../../nav/keep";
import { type Beside, candidatesFor, usedOf } from "../../records/candidates";
import { showRange } from "../../records/facts";
import { askRules } from "../../records/rules";
import { useKind } from "../../store/hooks";
import { byParent, record, subscribe } from "../../store/store";
import type { ManifoldOutput } from "../../wire/calculations.gen";
import { readField } from "../../wire/read";
import { asObject, asText, type Json, object, type RecordState, value } from "../../wire/records";
import { manifoldWords as w } from "../../words/manifold";
import { visitWords } from "../../words/visit";
import { showDecimal, words } from "../../words/words";
import { beginRun } from "./begin";
import { closeRun } from "./closing";
import { useDraft } from "./draft";
import { loadStandard } from "./later";
import type { Member, OnManifold, Parts } from "./manifold";

const tagOf = (visit: RecordState) => asText(object(visit, "item")["tag"]);

/** A manifold as its records stand: its visits in order, and what comes next. */
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

/** useManifold follows a manifold: every change of it is read at once, the last one counts. */
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

/** openRun gives the run of a visit that is not closed. */
const openRun = (m: Member) => m.runs.find((r) => r.kind === "run" && value(r, "closed") === undefined);

/** placeOf says of a visit what the manifold asks for at it. */
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
    next: next && next.visit.id !== visit.id ? { id: next.visit.id, tag: tagOf(next.visit) } : undefined,
    own: parts,
  };
}

/**
 * Together leads through the visits of a manifold as if they were one: what is worked on next is
 * shown, whichever of them was opened. A signed one is shown itself, and so is one whose turn is
 * over once nothing is under pressure.
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
      // The one that is shown last: until then this screen stays.
      for (const m of [...on.shared].reverse()) await beginRun(m.visit, "as found");
    });
  return (
    <>
      <h1>{w.all(on.shared.length)}</h1>
      <p class="instruction">{on.tags.join(" · ")}</p>
      <p>{w.beginHint}</p>
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {w.begin(on.shared.length)}
      </Button>
    </>
  );
}

/** heightOf gives how many metres the standard is above the instrument; 0 on one level. */
const heightOf = (visit: RecordState) => Number(asText(object(visit, "head")["standard_above_m"]) || "0");

/** sameOf finds for a visit what another one used in a role, unless anything speaks against it here. */
async function sameOf(visit: RecordState, first: RecordState, standards: RecordState[], role?: Beside) {
  const used = object(first, role ?? "standard");
  const range = showRange(asObject(used["snapshot"])["range"]);
  const { list, meter } = await candidatesFor(visit, standards, new Date().toISOString().slice(0, 10), role);
  const same = list.find((c) => c.standard.id === asText(used["id"]) && showRange(c.original) === range);
  return { same: same?.objections.length === 0 ? same : undefined, meter };
}

/**
 * takeOver gives what a visit takes over from the first one of its manifold: the same standard, the
 * same meter and barometer, where nothing speaks against them here, the air around, and the column
 * between standard and instrument.
 */
async function takeOver(visit: RecordState, first: RecordState, standards: RecordState[]) {
  const { same, meter } = await sameOf(visit, first, standards);
  if (!same) return undefined;
  const fields: { [name: string]: Json } = { standard: await usedOf(same, "") };
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
  return fields;
}

/**
 * Same takes what the first gauge is measured with for another one, or asks for it. A column that
 * is not of one level is asked about once for the set.
 */
function Same({ visit, first }: { visit: RecordState; first: RecordState }) {
  const standards = useKind("standard");
  const [ask, setAsk] = useState(false);
  const [column, setColumn] = useDraft(`${first.id} column of all`);
  const raised = heightOf(first) !== 0;
  const taking = !raised || column === "all";
  useEffect(() => {
    if (!standards || ask || !taking) return;
    takeOver(visit, first, standards)
      .then((fields) => (fields ? put(visit, fields) : setAsk(true)))
      .catch((e: unknown) => {
        console.error(e);
        setAsk(true);
      });
  }, [standards, taking]);
  if (ask || column === "own") return <Later load={loadStandard} props={{ visit }} />;
  return taking ? (
    <p class="quiet">{w.taking}</p>
  ) : (
    <>
      <h1>{w.columnTitle}</h1>
      <p class="instruction">{w.column(showDecimal(String(heightOf(first))), tagOf(first))}</p>
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

/** Ways are what is seldom wanted of a run on a manifold: one gauge leaves it, or all are stopped. */
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

/** Gauge says in large letters which gauge a screen is about: one, or all of the manifold. */
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

/** Before says, above what comes before the first pressure, which of the gauges it is about. */
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
