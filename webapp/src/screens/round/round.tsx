import { Later } from "../../parts/later";
import { useLink } from "../../shell/status";
import { useLive } from "../../store/hooks";
import { keyTo } from "../../store/shelf";
import { byKey, count, record } from "../../store/store";
import { asText, object, type RecordState, text } from "../../wire/records";
import { showDate, words } from "../../words/words";
import { localDay, type Stop, stopsOf } from "./stops";

const loadComing = () => import("../rounds/ahead").then((m) => m.Coming);

export { type Stop, stopsOf } from "./stops";

type Day = { rounds: { round: RecordState; stops: Stop[] }[]; instruments: Map<string, RecordState>; begun: RecordState[] };

/** dayOf reads what a person has to do on a day: the rounds with their stops, and what else was begun and not signed. */
async function dayOf(day: string, person: string): Promise<Day> {
  const mine = (await byKey(keyTo.day(day))).filter((r) => text(r, "person") === "" || text(r, "person") === person);
  const rounds = await Promise.all(mine.map(async (round) => ({ round, stops: stopsOf(round, await byKey(keyTo.round(round.id))) })));
  const ids = [...new Set(rounds.flatMap((r) => r.stops.map((s) => s.instrument)))];
  const found = await Promise.all(ids.map((id) => record(id)));
  const planned = new Set(rounds.flatMap((r) => r.stops.map((s) => s.visit)));
  const begun = (await byKey(keyTo.begun(person))).filter((v) => !planned.has(v.id));
  return { rounds, instruments: new Map(found.flatMap((i) => (i ? [[i.id, i] as const] : []))), begun };
}

/** Arriving tells how many instruments there are while the plant's records arrive. */
function Arriving({ running }: { running: boolean }) {
  const n = useLive(
    () => count("instrument"),
    (notice) => notice.kinds.includes("instrument"),
    [],
  );
  const w = words.round;
  return n === undefined ? null : <p role="status">{running ? w.arriving(n) : w.broken(n)}</p>;
}

/** RoundScreen lists today's stops in order, with how far each is, and whatever else was begun and not signed. */
export function RoundScreen() {
  const { user, whole, running } = useLink();
  const today = localDay(new Date());
  const person = user?.id ?? "";
  const day = useLive(
    () => dayOf(today, person),
    (n) => n.kinds.some((k) => k === "round" || k === "visit" || k === "instrument"),
    [today, person],
  );
  const w = words.round;
  if (!day) return <p class="quiet">{words.shell.loading}</p>;
  const { rounds, instruments, begun } = day;
  return (
    <>
      <h1>
        {w.title} <span class="quiet">{showDate(today)}</span>
      </h1>
      {whole ? null : <Arriving running={running} />}
      {rounds.length === 0 && whole ? (
        <>
          <p>{w.none}</p>
          <p class="quiet">
            {w.noneHint} <a href="/find">{words.find.title}</a>
          </p>
        </>
      ) : null}
      {rounds.map(({ round, stops }) => {
        return (
          <section key={round.id}>
            <h2>
              {text(round, "title") || w.stops} · {w.of(stops.filter((s) => s.state === "done").length, stops.length)}
            </h2>
            <ol class="rows stops">
              {stops.map((stop) => {
                const i = instruments.get(stop.instrument);
                return (
                  <li key={stop.instrument} class={stop.state}>
                    <a href={`/instrument/${stop.instrument}`}>
                      <span>
                        <span class="lead">{i ? text(i, "tag") : w.unknown}</span> <span>{i ? text(i, "description") : ""}</span>
                        <br />
                        <span class="small quiet">{i ? [text(i, "area"), text(i, "place")].filter(Boolean).join(" · ") : ""}</span>
                      </span>
                      <span class="side state">{w[stop.state]}</span>
                    </a>
                  </li>
                );
              })}
            </ol>
          </section>
        );
      })}
      {begun.length > 0 ? (
        <section>
          <h2>{w.begun}</h2>
          <ul class="rows">
            {begun.map((v) => (
              <li key={v.id}>
                <a href={`/visit/${v.id}`}>
                  <span class="lead">{asText(object(v, "item")["tag"])}</span>
                  <span class="side">{showDate(text(v, "started"))}</span>
                </a>
              </li>
            ))}
          </ul>
        </section>
      ) : null}
      <Later load={loadComing} props={{ today, person }} />
      <p>
        <a class="button plain tall" href="/programmes">
          {w.programmes}
        </a>
      </p>
    </>
  );
}
