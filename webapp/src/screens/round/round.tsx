import { readField } from "../../wire/read";
import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Later } from "../../parts/later";
import { useLink } from "../../nav/status";
import { useCalc } from "../../nav/use-calc";
import { useLive } from "../../store/hooks";
import { keyTo } from "../../store/shelf";
import { byKey, count, record } from "../../store/store";
import { type RecordState, text } from "../../wire/records";
import { showDate, words } from "../../words/words";
import { stillBegun } from "../../records/back";
import { untestedFor, type Where, whereAre } from "../../records/standing";
import { localDay, type Stop, stopsNow } from "../../records/stops";
import { Row, type Shown } from "./row";

const loadComing = () => import("../../views/ahead").then((m) => m.Coming);
const loadToday = () => import("../../views/today");
const loadSummary = () => loadToday().then((m) => m.Summary);
const loadBring = () => loadToday().then((m) => m.Bring);
const loadUnseen = () => import("../../views/messages").then((m) => m.Unseen);

type Details = Awaited<ReturnType<Awaited<ReturnType<typeof loadToday>>["detailsOf"]>>;

type Day = {
  rounds: { round: RecordState; stops: Stop[] }[];
  instruments: Map<string, RecordState>;
  visits: Map<string, RecordState>;
  /** Everything begun and not signed, in the round or not. */
  begun: RecordState[];
  where: Map<string, Where>;
};

const known = (found: (RecordState | undefined)[]) => new Map(found.flatMap((i) => (i ? [[i.id, i] as const] : [])));

/**
 * dayOf reads a person's work for a day: the rounds with their stops, the state of their visits,
 * and what else was begun and not signed.
 */
async function dayOf(day: string, person: string): Promise<Day> {
  const mine = (await byKey(keyTo.day(day))).filter((r) => text(r, "person") === "" || text(r, "person") === person);
  const rounds = await Promise.all(mine.map(async (round) => ({ round, stops: await stopsNow(round) })));
  const all = rounds.flatMap((r) => r.stops);
  const ids = [...new Set(all.map((s) => s.instrument))];
  const instruments = known(await Promise.all(ids.map((id) => record(id))));
  const visits = known(await Promise.all(all.map((s) => (s.visit === undefined ? undefined : record(s.visit)))));
  const begun = await stillBegun(await byKey(keyTo.begun(person)));
  return { rounds, instruments, visits, begun, where: await whereAre([...visits.values()]) };
}

/** Arriving shows how many instruments have come while the plant's records arrive. */
function Arriving({ running }: { running: boolean }) {
  const n = useLive(
    () => count("instrument"),
    (notice) => notice.kinds.includes("instrument"),
    [],
  );
  const w = words.round;
  return n === undefined ? null : <p role="status">{running ? w.arriving(n) : w.broken(n)}</p>;
}

/**
 * useDetails asks for the calculated details of a day. Until they are there, the round is shown
 * without them.
 */
function useDetails(
  day: Day | undefined,
  today: string,
): { far: (id: string) => string; details: Details | undefined } {
  const [found, set] = useState<{ far: (id: string) => string; details: Details } | undefined>();
  useEffect(() => {
    if (!day) return;
    let here = true;
    loadToday()
      .then(async (m) => {
        const details = await m.detailsOf(
          day.rounds.map((r) => r.round),
          day.instruments,
          day.begun,
          today,
        );
        if (here) set({ details, far: (id) => m.farText(details.begun.get(id)) });
      })
      .catch((e: unknown) => console.error(e));
    return () => {
      here = false;
    };
  }, [day, today]);
  return found ?? { far: () => "", details: undefined };
}

/** Begun is the work in progress: what is not vented first, each with a link back to it. */
function Begun({ day, far, details }: { day: Day; far: (id: string) => string; details: Details | undefined }) {
  const w = words.round;
  const pressed = (v: RecordState) => details?.begun.get(v.id)?.pressed === true;
  const list = [...day.begun].sort((a, b) => Number(pressed(b)) - Number(pressed(a)));
  return list.length === 0 ? null : (
    <section class="under-way" aria-label={w.begun}>
      <h2 class="unseen">{w.begun}</h2>
      <ul class="rows">
        {list.map((v) => (
          <li key={v.id} class={pressed(v) ? "pressed" : ""}>
            <a href={`/visit/${v.id}`}>
              <span>
                <span class="lead">{readField("visit", v, "item").tag}</span>{" "}
                <span class="small">{far(v.id) || showDate(text(v, "started"))}</span>
              </span>
              <strong class="side">{w.goOn}</strong>
            </a>
          </li>
        ))}
      </ul>
    </section>
  );
}

/**
 * areasOf divides stops where the area changes, in their order. An order that returns to an area is
 * not divided, since a repeated heading misleads; each row then names its area.
 */
export function areasOf(
  stops: Stop[],
  instruments: Map<string, RecordState>,
): { area: string; stops: Stop[]; named: boolean }[] {
  const parts: { area: string; stops: Stop[]; named: boolean }[] = [];
  for (const stop of stops) {
    const area = text(instruments.get(stop.instrument), "area");
    const last = parts.at(-1);
    if (last?.area === area) last.stops.push(stop);
    else parts.push({ area, stops: [stop], named: false });
  }
  return new Set(parts.map((p) => p.area)).size < parts.length ? [{ area: "", stops, named: true }] : parts;
}

/**
 * RoundScreen lists the work in progress first, then today's stops in order with the state of each,
 * and what to bring for them.
 */
export function RoundScreen() {
  const { user, whole, running } = useLink();
  const today = localDay(new Date());
  const person = user?.id ?? "";
  const [summing, sum] = useState(false);
  const day = useLive(
    () => dayOf(today, person),
    (n) => n.kinds.length === 0 || n.kinds.some((k) => ["round", "visit", "run", "instrument"].includes(k)),
    [today, person],
  );
  const { far, details } = useDetails(day, today);
  const ids = [...(day?.instruments.keys() ?? [])];
  const dates = ids.map((id) => text(day?.instruments.get(id), "due"));
  const due = useCalc("due", dates.length > 0 ? { today, dates } : undefined)?.dates;
  const w = words.round;
  if (!day) return <p class="quiet">{words.shell.loading}</p>;
  const { rounds, instruments, visits, where } = day;
  const shown = (stop: Stop): Shown => {
    const visit = stop.visit === undefined ? undefined : visits.get(stop.visit);
    const minutes = details?.bring?.stops.find((s) => s.id === stop.instrument)?.minutes;
    return {
      stop,
      it: instruments.get(stop.instrument),
      near: due?.[ids.indexOf(stop.instrument)],
      where: stop.visit === undefined ? undefined : where.get(stop.visit),
      untested: visit ? untestedFor(visit) : "",
      far: stop.visit === undefined ? "" : far(stop.visit),
      minutes: minutes === undefined ? "" : w.minutes(minutes),
    };
  };
  const tags = new Map([...instruments].map(([id, i]) => [id, text(i, "tag")]));
  const lines = () =>
    rounds.flatMap((r) => r.stops).map((s) => ({ ...shown(s), tag: tags.get(s.instrument) ?? w.unknown }));
  return (
    <div class="round">
      <h1>
        {w.title} <span class="quiet">{showDate(today)}</span>
      </h1>
      {whole ? null : <Arriving running={running} />}
      <Begun day={day} far={far} details={details} />
      <Later load={loadUnseen} props={{}} />
      {rounds.length === 0 && whole ? (
        <>
          <p>{w.none}</p>
          <p class="quiet">
            {w.noneHint} <a href="/find">{words.find.title}</a>
          </p>
        </>
      ) : null}
      {rounds.length > 0 ? (
        <div class="to-bring">{details ? <Later load={loadBring} props={{ details, tags }} /> : null}</div>
      ) : null}
      {rounds.map(({ round, stops }) => (
        <section key={round.id} class="stops-of">
          <h2>
            {text(round, "title") || w.stops} · {w.of(stops.filter((s) => s.state === "done").length, stops.length)}
          </h2>
          {areasOf(stops, instruments).map((part, i) => (
            <section key={`${i} ${part.area}`}>
              {part.area === "" ? null : <h3>{part.area}</h3>}
              <ol class="rows stops">
                {part.stops.map((stop) => (
                  <Row key={stop.instrument} named={part.named} {...shown(stop)} />
                ))}
              </ol>
            </section>
          ))}
        </section>
      ))}
      <Later load={loadComing} props={{ today, person }} />
      <div class="buttons">
        {rounds.length > 0 ? (
          <Button size="tall" onClick={() => sum(true)}>
            {w.summary}
          </Button>
        ) : null}
        <a class="button plain tall" href="/programmes">
          {w.programmes}
        </a>
      </div>
      {summing ? <Later load={loadSummary} props={{ lines: lines(), onClose: () => sum(false) }} /> : null}
    </div>
  );
}
