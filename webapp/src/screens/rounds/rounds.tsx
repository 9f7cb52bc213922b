import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Pick } from "../../parts/pick";
import { navigate } from "../../nav/route";
import { useKind, useLive } from "../../store/hooks";
import { record } from "../../store/store";
import { list, type RecordState, text } from "../../wire/records";
import { contested } from "../../records/contested";
import { useContested } from "../../nav/use-contested";
import { roundWords as w } from "../../words/rounds";
import { showDate, words } from "../../words/words";
import { useAsk } from "../../nav/asking";
import { localDay, stopsNow, takenBack } from "../../records/stops";
import { Complaint, put, useKeep } from "../../nav/keep";
import { DueList } from "./due";
import { PlanRound } from "./plan";
import { type Colleague, doneOf, peopleOf, sorted } from "./plan-data";

export { PlanRound } from "./plan";

/** How many past rounds are listed until somebody asks for all. */
const few = 10;

/** RoundsScreen is the office's page of rounds: all of them, what is due, or one round. */
export function RoundsScreen({ id }: { id: string | undefined }) {
  const [planning, plan] = useState<string[] | undefined>();
  const [due, look] = useState(false);
  const open = (made: string) => {
    plan(undefined);
    if (made !== "") navigate(`/office/rounds/${made}`);
  };
  return (
    <>
      <h1>{w.title}</h1>
      {id !== undefined ? (
        <OneRound key={id} id={id} />
      ) : planning ? (
        <PlanRound ids={planning} onDone={open} />
      ) : (
        <>
          <div class="buttons">
            <Button kind="main" onClick={() => plan([])}>
              {w.plan}
            </Button>
            <Button pressed={due} onClick={() => look(!due)}>
              {w.due}
            </Button>
          </div>
          {due ? <DueList title={w.dueTitle} doing={w.planThese} onPlan={plan} /> : <AllRounds />}
        </>
      )}
    </>
  );
}

/**
 * useNames gives people's names by id: from the records, and from the accounts of those without a
 * record.
 */
function useNames(): { names: ReadonlyMap<string, string>; come: boolean } {
  const people = useKind("person");
  const asked = useAsk<{ people: Colleague[] }>("/api/office/people");
  const names = new Map([
    ...(asked.reply?.people ?? []).map((p) => [p.id, p.name] as const),
    ...(people ?? []).flatMap((p) => (text(p, "name") === "" ? [] : [[p.id, text(p, "name")] as const])),
  ]);
  return { names, come: asked.reply !== undefined || asked.error !== undefined };
}

function AllRounds() {
  const rounds = useKind("round");
  const { names, come } = useNames();
  const [all, showAll] = useState(false);
  const [who, pick] = useState(new URLSearchParams(location.search).get("person") ?? "");
  if (!rounds) return <p class="quiet">{words.shell.loading}</p>;
  const whose = peopleOf(rounds, names, who, come);
  const mine = who === "" ? rounds : rounds.filter((r) => text(r, "person") === who);
  const parts = sorted(mine, localDay(new Date()));
  const part = (title: string, rows: RecordState[]) =>
    rows.length === 0 ? null : (
      <section>
        <h2>{title}</h2>
        <ul class="rows">
          {rows.map((r) => (
            <Row key={r.id} round={r} person={names.get(text(r, "person")) ?? ""} />
          ))}
        </ul>
      </section>
    );
  return (
    <>
      {whose.length > 1 || who !== "" ? (
        <div class="office-form">
          <Pick
            label={w.person}
            value={who}
            options={[["", w.everybody], ...whose]}
            onChange={(id) => {
              pick(id);
              navigate(`/office/rounds${id === "" ? "" : `?person=${encodeURIComponent(id)}`}`, true);
            }}
          />
        </div>
      ) : null}
      {mine.length === 0 ? <p>{w.none}</p> : null}
      {part(w.today, parts.today)}
      {part(w.coming, parts.coming)}
      {part(w.past, all ? parts.past : parts.past.slice(0, few))}
      {parts.past.length > few && !all ? <Button onClick={() => showAll(true)}>{w.late}</Button> : null}
      {part(w.taken, all ? parts.taken : parts.taken.slice(0, few))}
    </>
  );
}

function Row({ round, person }: { round: RecordState; person: string }) {
  const done = useLive(
    async () => doneOf(await stopsNow(round)),
    (n) => n.kinds.includes("visit"),
    [round],
    true,
  );
  const all = list(round, "stops").length;
  return (
    <li>
      <a href={`/office/rounds/${round.id}`}>
        <span>
          <span class="lead">{showDate(text(round, "date"))}</span> {text(round, "title")}
          <br />
          <span class="small quiet">
            {[person, takenBack(round) === "" ? "" : w.takenBack(takenBack(round))].filter(Boolean).join(" · ")}
          </span>
        </span>
        <span class="side">{w.of(done ?? 0, all)}</span>
      </a>
    </li>
  );
}

function OneRound({ id }: { id: string }) {
  const { names } = useNames();
  const found = useLive(
    async () => {
      const round = await record(id);
      if (round?.kind !== "round") return null;
      const stops = await stopsNow(round);
      const tags = await Promise.all(stops.map((s) => record(s.instrument)));
      return { round, stops: stops.map((s, n) => ({ ...s, it: tags[n] })) };
    },
    (n) => n.records.includes(id) || n.kinds.includes("visit"),
    [id],
  );
  const [doing, setDoing] = useState<"" | "edit" | "copy" | "back">("");
  const [reason, setReason] = useState("");
  const [tried, attempt] = useState(false);
  const [said, say] = useState("");
  const k = useKeep();
  useContested(found?.round);
  if (found === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (found === null) return <p>{w.missing}</p>;
  const { round, stops } = found;
  const against = Object.keys(round.fields).some((f) => contested(round, f));
  const back = takenBack(round);
  const done = (made: string) => {
    setDoing("");
    say(made === "" ? "" : w.keptOne);
    if (made !== "" && made !== id) navigate(`/office/rounds/${made}`);
  };
  if (doing === "edit" || doing === "copy")
    return <PlanRound key={doing} ids={[]} round={round} copy={doing === "copy"} onDone={done} />;
  const take = () => {
    attempt(true);
    if (reason.trim() === "") return;
    k.keep(async () => {
      await put(round, { taken_back: { reason: reason.trim() } });
      setDoing("");
    });
  };
  return (
    <>
      <p>
        <a href="/office/rounds">{w.title}</a>
      </p>
      <h2>
        {text(round, "title")} · {w.of(stops.filter((s) => s.state === "done").length, stops.length)}
      </h2>
      <p>{[showDate(text(round, "date")), names.get(text(round, "person")) ?? ""].filter(Boolean).join(" · ")}</p>
      {back === "" ? null : (
        <p>
          <strong>{w.takenBack(back)}</strong>
        </p>
      )}
      {against ? (
        <p>
          <a href={`/office/contested/${id}`}>{w.contested}</a>
        </p>
      ) : null}
      <ol class="rows">
        {stops.map((s) => (
          <li key={s.instrument}>
            <a href={s.visit ? `/office/visit/${s.visit}` : `/instrument/${s.instrument}`}>
              <span>
                <span class="lead">{text(s.it, "tag") || w.unknown}</span> {text(s.it, "description")}
              </span>
              <span class="side">{w.state[s.state]}</span>
            </a>
          </li>
        ))}
      </ol>
      <p role="status">{said}</p>
      {doing === "back" ? (
        <div class="office-form">
          <Field
            label={w.reason}
            value={reason}
            onInput={setReason}
            lines={2}
            {...(tried && reason.trim() === "" ? { error: w.need.reason } : {})}
          />
          <Complaint error={k.error} />
          <div class="buttons">
            <Button kind="main" disabled={k.busy} onClick={take}>
              {w.takeBackNow}
            </Button>
            <Button onClick={() => setDoing("")}>{w.cancel}</Button>
          </div>
        </div>
      ) : (
        <div class="buttons">
          <Button onClick={() => setDoing("edit")}>{w.edit}</Button>
          <Button onClick={() => setDoing("copy")}>{w.copy}</Button>
          {back === "" ? (
            <Button onClick={() => setDoing("back")}>{w.takeBack}</Button>
          ) : (
            <Button disabled={k.busy} onClick={() => k.keep(() => put(round, { taken_back: null }))}>
              {w.again}
            </Button>
          )}
        </div>
      )}
      <p>
        <a href={`/office/history/${id}`}>{w.changes}</a>
      </p>
    </>
  );
}
