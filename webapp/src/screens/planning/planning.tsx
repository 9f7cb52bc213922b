import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Complaint, send, useAsk, useDoing, Waiting } from "../../nav/asking";
import type { Share, Week, Workload } from "../../records/planning-reply";
import { planningWords as w } from "../../words/planning";
import { readDecimal, showDate, showDecimal } from "../../words/words";
import { BoardPart } from "./board";

type Part = keyof typeof w.parts;
const parts = Object.keys(w.parts) as Part[];

/** hours shows minutes as hours. */
export const hours = (minutes: number) => showDecimal((minutes / 60).toFixed(1));

/** PlanningScreen is the office's page on the work of the next year. */
export function PlanningScreen() {
  const [part, show] = useState<Part>("year");
  const [week, open] = useState<string | undefined>();
  const asked = useAsk<Workload>("/api/office/planning");
  const load = asked.reply;
  const go = (to: Part) => {
    open(undefined);
    show(to);
  };
  return (
    <>
      <h1>{w.title}</h1>
      <div class="buttons">
        {parts.map((p) => (
          <Button key={p} pressed={part === p} onClick={() => go(p)}>
            {w.parts[p]}
          </Button>
        ))}
      </div>
      {part === "week" ? (
        <BoardPart first={week} />
      ) : load === undefined ? (
        <Waiting asked={asked} />
      ) : part === "year" ? (
        <Year
          load={load}
          onWeek={(start) => {
            open(start);
            show("week");
          }}
        />
      ) : part === "unmet" ? (
        <Unmet load={load} />
      ) : part === "standards" ? (
        <Standards load={load} />
      ) : (
        <Settings load={load} onSaved={asked.again} />
      )}
    </>
  );
}

/** some names the first of a list, with how many more there are. */
function some(list: Share[], most = 3): string {
  const named = list.slice(0, most).map((p) => `${p.name || "–"} ${w.hours(hours(p.minutes))}`);
  return [...named, ...(list.length > most ? [w.more(list.length - most)] : [])].join(", ");
}

function Bar({ week, most }: { week: Week; most: number }) {
  const at = (m: number) => (100 * m) / most;
  return (
    <svg class="share" viewBox="0 0 100 12" preserveAspectRatio="none" aria-hidden="true">
      <rect class="band" x="0" y="1" width={at(week.minutes)} height="10" />
      <rect class="dot" x="0" y="4" width={at(week.levelled)} height="4" />
      <line class="bar" x1={at(week.capacity)} x2={at(week.capacity)} y1="0" y2="12" />
    </svg>
  );
}

function Year({ load, onWeek }: { load: Workload; onWeek: (start: string) => void }) {
  const most = Math.max(1, ...load.weeks.map((x) => Math.max(x.minutes, x.levelled, x.capacity)));
  return (
    <section>
      <p class="quiet figures-text">
        {w.levelling(load.people, showDecimal(load.settings.hours))}{" "}
        {w.times(load.planned, load.all, load.usual_minutes)}
      </p>
      <div class="wide-table">
        <table class="register figures">
          <thead>
            <tr>
              <th scope="col">{w.columns.week}</th>
              {[w.columns.tests, w.columns.due, w.columns.levelled, w.columns.time].map((t) => (
                <th key={t} scope="col" class="number">
                  {t}
                </th>
              ))}
              <td />
              <th scope="col">{w.columns.areas}</th>
              <th scope="col">{w.columns.kits}</th>
              <th scope="col" class="number">
                {w.columns.unmet}
              </th>
            </tr>
          </thead>
          <tbody>
            {load.weeks.map((x) => (
              <tr key={x.start}>
                <td>
                  <button type="button" class="link" onClick={() => onWeek(x.start)}>
                    {showDate(x.start)}
                  </button>
                </td>
                <td class="number">{x.tests}</td>
                <td class="number">{w.hours(hours(x.minutes))}</td>
                <td class="number">{w.hours(hours(x.levelled))}</td>
                <td class="number">{w.hours(hours(x.capacity))}</td>
                <td class="share-cell">
                  <Bar week={x} most={most} />
                </td>
                <td class="small">{some(x.areas)}</td>
                <td class="small">{some(x.kits, 2)}</td>
                <td class="number">{x.unmet === 0 ? "" : x.unmet}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Unmet({ load }: { load: Workload }) {
  const all = Object.values(load.whys).reduce((a, b) => a + b, 0);
  if (all === 0) return <p>{w.allMet}</p>;
  return (
    <section>
      <ul>
        {Object.entries(load.whys).map(([why, n]) => (
          <li key={why}>{w.counted(w.whys[why] ?? why, n)}</li>
        ))}
      </ul>
      {all > load.unmet.length ? <p class="quiet">{w.first(load.unmet.length)}</p> : null}
      <div class="wide-table">
        <table class="register figures">
          <thead>
            <tr>
              {[w.columns.tag, w.columns.area, w.columns.dueOn, w.columns.why].map((t) => (
                <th key={t} scope="col">
                  {t}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {load.unmet.map((u) => (
              <tr key={`${u.id} ${u.due}`}>
                <td class="c-tag">
                  <a href={`/instrument/${u.id}`}>{u.tag}</a>
                </td>
                <td>{u.area}</td>
                <td>{showDate(u.due)}</td>
                <td>{w.whys[u.why] ?? u.why}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Standards({ load }: { load: Workload }) {
  if (load.standards.length === 0) return <p>{w.noStandards}</p>;
  return (
    <section>
      <p class="quiet">{w.sending}</p>
      <div class="wide-table">
        <table class="register figures">
          <thead>
            <tr>
              {[w.columns.standard, w.columns.dueOn, w.columns.sendOn, w.columns.backOn].map((t) => (
                <th key={t} scope="col">
                  {t}
                </th>
              ))}
              <th scope="col" class="number">
                {w.columns.without}
              </th>
            </tr>
          </thead>
          <tbody>
            {load.standards.map((s) => (
              <tr key={s.id}>
                <td>
                  <a href={`/office/standard/${s.id}`}>{s.name}</a>
                </td>
                <td>{showDate(s.due)}</td>
                <td>{showDate(s.send)}</td>
                <td>{showDate(s.back)}</td>
                <td class="number">{s.unmade}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
    </section>
  );
}

function Settings({ load, onSaved }: { load: Workload; onSaved: () => void }) {
  const [areas, setAreas] = useState(load.areas.filter(Boolean).join("\n"));
  const [week, setWeek] = useState(showDecimal(load.settings.hours));
  const [away, setAway] = useState(String(load.settings.away_days));
  const [tried, attempt] = useState(false);
  const [said, say] = useState("");
  const d = useDoing();
  const bad = (typed: string) => (tried && readDecimal(typed) === undefined ? { error: w.number } : {});
  const save = () => {
    attempt(true);
    const per = readDecimal(week);
    const days = readDecimal(away);
    if (per === undefined || days === undefined) return;
    d.run(async () => {
      const order = areas
        .split("\n")
        .map((a) => a.trim())
        .filter(Boolean);
      await send(
        "/api/office/planning",
        { areas: order, hours: Number(per), away_days: Math.round(Number(days)) },
        "PUT",
      );
      say(w.saved);
      onSaved();
    });
  };
  return (
    <section class="office-form">
      <Field label={w.order} hint={w.orderHint} value={areas} onInput={setAreas} lines={12} />
      <Field label={w.perWeek} value={week} onInput={setWeek} unit="h" inputMode="decimal" {...bad(week)} />
      <Field label={w.away} value={away} onInput={setAway} inputMode="numeric" {...bad(away)} />
      <Complaint error={d.error} />
      <p role="status">{said}</p>
      <Button kind="main" disabled={d.busy} onClick={save}>
        {w.save}
      </Button>
    </section>
  );
}
