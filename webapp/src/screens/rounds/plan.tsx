import { useMemo, useState } from "preact/hooks";
import { call, CalcError } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { useKind, useLive } from "../../store/hooks";
import { commit, record } from "../../store/store";
import { object, type RecordState, text } from "../../wire/records";
import { roundWords as w } from "../../words/rounds";
import { words } from "../../words/words";
import { fittingAsked, named } from "../../records/give";
import { instrumentFor } from "../../records/item";
import { useCalc } from "../../nav/use-calc";
import { useContested } from "../../nav/use-contested";
import { useAsk, Waiting } from "../../nav/asking";
import { localDay, plannedOf } from "../../records/stops";
import { Complaint, put, useKeep } from "../../nav/keep";
import { DueList } from "./due";
import {
  added,
  type Colleague,
  changedIn,
  type Draft,
  isDay,
  moved,
  offered,
  roundAsked,
  warned,
  wrongIn,
} from "./plan-data";
import { lookForOne, useEach, within } from "./served";

/** The result of laying out a stop's plan: its minutes, or why it cannot be laid out. */
type Laid = { minutes: number } | { why: string };

/** orWhy gives the result of an attempt, or the words for its failure. */
async function orWhy<T>(attempt: () => Promise<T>, otherwise: (why: string) => T): Promise<T> {
  try {
    return await attempt();
  } catch (e) {
    if (e instanceof CalcError) return otherwise(e.message);
    console.error(e);
    return otherwise(words.shell.broken);
  }
}

const layOut = (method: RecordState, it: RecordState) =>
  orWhy<Laid>(
    async () => ({
      minutes: (await call("preview", { method: object(method, "definition"), instrument: await instrumentFor(it) }))
        .minutes,
    }),
    (why) => ({ why }),
  );

export type PlanProps = {
  ids: string[];
  round?: RecordState | undefined;
  copy?: boolean;
  onDone: (id: string) => void;
};

/**
 * PlanRound plans a round of the chosen instruments, or changes an existing one. copy begins a new
 * one from it.
 */
export function PlanRound({ ids, round, copy, onDone }: PlanProps) {
  const asked = useAsk<{ people: Colleague[] }>("/api/office/people");
  const methods = useKind("method");
  const rounds = useKind("round");
  const standards = useKind("standard");
  const [draft, setDraft] = useState<Draft>(() => ({
    date: round && !copy ? text(round, "date") : localDay(new Date()),
    person: text(round, "person"),
    title: text(round, "title"),
    stops: added(round ? plannedOf(round) : [], ids),
  }));
  const [titled, title] = useState(round !== undefined);
  const [adding, add] = useState(ids.length === 0 && !round);
  const [tried, attempt] = useState(false);
  const k = useKeep();
  const instruments = useLive(
    async () =>
      new Map(
        (await Promise.all(draft.stops.map((s) => record(s.instrument)))).flatMap((i) =>
          i ? [[i.id, i] as const] : [],
        ),
      ),
    (n) => n.kinds.includes("instrument") || n.kinds.includes("standard"),
    [
      draft.stops
        .map((s) => s.instrument)
        .sort()
        .join(" "),
    ],
    true,
  );
  const methodOf = (stop: { instrument: string; method: string }) => {
    const id = stop.method || text(instruments?.get(stop.instrument), "method");
    return methods?.find((m) => m.id === id);
  };
  const wanted = draft.stops.map((s) => `${s.instrument} ${methodOf(s)?.id ?? ""}`);
  const person = asked.reply?.people.find((p) => p.id === draft.person);
  const toLay = new Map<string, () => Promise<Laid>>();
  const toServe = new Map<string, () => Promise<string>>();
  for (const [n, s] of draft.stops.entries()) {
    const it = instruments?.get(s.instrument);
    const method = methodOf(s);
    const key = wanted[n] ?? "";
    if (!it || !method) continue;
    toLay.set(key, () => layOut(method, it));
    if (standards && it.kind === "instrument" && isDay(draft.date))
      toServe.set(key, () =>
        orWhy(() => lookForOne(method, it, within(standards, person), draft.date), w.warn.notHeld),
      );
  }
  const laid = useEach(toLay, "");
  const served = useEach(
    toServe,
    useMemo(() => ({}), [standards, draft.date, person]),
  );
  useContested(...(instruments?.values() ?? []));
  const kinds = [...new Set([...(instruments?.values() ?? [])].map((i) => text(i, "kind")))];
  const fits = useEach(
    new Map(
      kinds.map((kind) => [kind, async () => (await call("fitting", fittingAsked(methods ?? [], [kind]))).methods]),
    ),
    methods,
  );
  const offer = titled ? draft.title : offered(draft.stops.map((s) => instruments?.get(s.instrument)));
  const whole: Draft = { ...draft, title: offer };
  const own = copy ? "" : (round?.id ?? "");
  const asking = () =>
    roundAsked(
      whole,
      { id: own, rounds: rounds ?? [], person },
      (id) => instruments?.get(id),
      (s) => !!methodOf(s),
    );
  const said = useCalc("round", rounds && instruments && methods && asking());
  if (!methods || !rounds || !instruments) return <p class="quiet">{words.shell.loading}</p>;
  const people = asked.reply?.people;
  const tagOf = (id: string) => text(instruments.get(id), "tag") || text(instruments.get(id), "name") || id.slice(0, 6);
  const methodless = draft.stops
    .filter((s) => instruments.get(s.instrument)?.kind !== "standard" && !methodOf(s))
    .map((s) => tagOf(s.instrument));
  const wrong = tried ? wrongIn(said?.wrong ?? [], methodless) : {};
  const known = draft.stops.flatMap((_, n) => {
    const l = laid.get(wanted[n] ?? "");
    return l && "minutes" in l ? [l.minutes] : [];
  });
  const set = (part: Partial<Draft>) => setDraft({ ...draft, ...part });
  const keep = () => {
    attempt(true);
    k.say(undefined);
    k.keep(async () => {
      if ((await call("round", asking())).wrong.length > 0) return;
      const fields = changedIn(whole, copy ? undefined : round);
      if (round && !copy) {
        if (Object.keys(fields).length > 0) await put(round, fields);
        return onDone(round.id);
      }
      const made = await commit({
        kind: "round",
        site: "",
        parent: "",
        set: Object.entries(fields).map(([field, value]) => ({ field, value })),
      });
      onDone(made.record.id);
    });
  };
  const at = (name: "date" | "title") => (wrong[name] === undefined ? {} : { error: wrong[name] });
  const who: [string, string][] = [
    ...(draft.person !== "" && person
      ? []
      : [[draft.person, draft.person === "" ? w.pickPerson : w.anyone] as [string, string]]),
    ...(people ?? []).map((p) => [p.id, p.name] as [string, string]),
  ];
  return (
    <section class="plan-round office-form" aria-label={w.planTitle}>
      <h2>{round ? (copy ? w.copy : w.edit) : w.plan}</h2>
      <Waiting asked={asked} />
      <Field label={w.date} type="date" value={draft.date} onInput={(date) => set({ date })} {...at("date")} />
      <div class={wrong.person ? "wrong" : ""}>
        <Pick label={w.person} value={draft.person} options={who} onChange={(id) => set({ person: id })} />
        <Complaint error={wrong.person} />
      </div>
      <Field
        label={w.name}
        value={whole.title}
        onInput={(t) => {
          title(true);
          set({ title: t });
        }}
        {...at("title")}
      />
      <h3>{w.stops}</h3>
      <ol class="plan-stops">
        {draft.stops.map((s, n) => {
          const it = instruments.get(s.instrument);
          const tag = tagOf(s.instrument);
          const own = methods.find((m) => m.id === text(it, "method"));
          const l = laid.get(wanted[n] ?? "");
          const warnings = [
            ...(it ? (said?.stops.find((x) => x.id === s.instrument)?.warnings ?? []).map(warned) : [w.unknown]),
            ...(l && "why" in l ? [w.warn.plan(l.why)] : []),
            ...(served.get(wanted[n] ?? "") ? [served.get(wanted[n] ?? "") ?? ""] : []),
            ...(methodless.includes(tag) ? [w.warn.noMethod] : []),
          ];
          const others = it ? named(methods, fits.get(text(it, "kind"))).filter((m) => m.id !== own?.id) : [];
          return (
            <li key={s.instrument}>
              <p>
                <strong>{tag}</strong> {text(it, "description")}
                {warnings.map((one) => (
                  <span key={one} class="plan-warning">
                    {one}
                  </span>
                ))}
              </p>
              {it?.kind === "instrument" ? (
                <Pick
                  label={w.method(tag)}
                  value={s.method === own?.id ? "" : s.method}
                  options={[
                    ["", own ? w.usual(text(own, "name")) : w.warn.noMethod],
                    ...others.map((m) => [m.id, text(m, "name")] as [string, string]),
                  ]}
                  onChange={(method) => set({ stops: draft.stops.map((x) => (x === s ? { ...x, method } : x)) })}
                />
              ) : null}
              <div class="buttons">
                <Button label={w.up(tag)} disabled={n === 0} onClick={() => set({ stops: moved(draft.stops, n, -1) })}>
                  {w.earlier}
                </Button>
                <Button
                  label={w.down(tag)}
                  disabled={n === draft.stops.length - 1}
                  onClick={() => set({ stops: moved(draft.stops, n, 1) })}
                >
                  {w.later}
                </Button>
                <Button
                  kind="quiet"
                  label={w.remove(tag)}
                  onClick={() => set({ stops: draft.stops.filter((x) => x !== s) })}
                >
                  {w.leaveOut}
                </Button>
              </div>
            </li>
          );
        })}
      </ol>
      <Complaint error={wrong.stops} />
      <Button pressed={adding} onClick={() => add(!adding)}>
        {w.more}
      </Button>
      {adding ? (
        <DueList
          title={w.more}
          doing={w.add}
          {...(draft.stops.length > 0 ? { from: "" } : {})}
          have={draft.stops.map((s) => s.instrument)}
          onPlan={(more) => set({ stops: added(draft.stops, more) })}
        />
      ) : null}
      {draft.stops.length === 0 ? null : (
        <p>
          {w.time(
            known.reduce((a, b) => a + b, 0),
            draft.stops.length - known.length,
          )}
        </p>
      )}
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={keep}>
          {round && !copy ? w.change : w.keep}
        </Button>
        <Button disabled={k.busy} onClick={() => onDone("")}>
          {w.cancel}
        </Button>
      </div>
    </section>
  );
}
