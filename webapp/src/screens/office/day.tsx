import { useEffect } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { isVerdict, Mark } from "../../parts/mark";
import { navigate } from "../../nav/route";
import { officeWords } from "../../words/office";
import { showDate, showTime } from "../../words/words";
import { localDay } from "../../records/stops";
import { useAsk, Waiting } from "../../nav/asking";
import { useNews } from "../../nav/fresh";
import { type DayReply, moveDay, type Row } from "../../records/office";

const w = officeWords.day;

/** Attention lists what is unusual about a visit. */
export function Attention({ codes, changed }: { codes: string[]; changed: string[] }) {
  const what = changed.length > 0 ? `: ${changed.map((c) => officeWords.changed[c] ?? c).join(", ")}` : "";
  return (
    <ul class="attention">
      {codes.map((c) => (
        <li key={c}>
          {officeWords.attention[c] ?? c}
          {c.startsWith("after_s") || c.startsWith("after_a") ? what : ""}
        </li>
      ))}
    </ul>
  );
}

function Verdicts({ row }: { row: Row }) {
  return (
    <span class="visit-verdicts">
      {isVerdict(row.as_found) ? (
        <span>
          <span class="small quiet">{w.found}</span> <Mark verdict={row.as_found} />
        </span>
      ) : null}
      {isVerdict(row.as_left) ? (
        <span>
          <span class="small quiet">{w.left}</span> <Mark verdict={row.as_left} />
        </span>
      ) : null}
      {row.of_limit === undefined ? null : <span class="small quiet">{w.ofLimit(row.of_limit)}</span>}
    </span>
  );
}

function Visits({ rows, dated, label }: { rows: Row[]; dated: boolean; label: string }) {
  return (
    <ul class="rows visits" aria-label={label}>
      {rows.map((r) => (
        <li key={r.id} class={r.status}>
          <a href={`/office/visit/${r.id}`}>
            <span class="visit-time small">{dated ? showDate(r.started) : showTime(r.started)}</span>
            <span>
              <span class="lead">{r.tag || w.unnamed}</span> {r.description}
              <br />
              <span class="small quiet">{[r.area, r.place, r.person].filter(Boolean).join(" · ")}</span>
            </span>
            <Verdicts row={r} />
            <Attention codes={r.attention} changed={r.changed} />
            <span class="visit-status small">{officeWords.status[r.status] ?? r.status}</span>
          </a>
        </li>
      ))}
    </ul>
  );
}

const loadUnseen = () => import("../../views/messages").then((m) => m.Unseen);
const look = 30_000;

/** DayScreen shows a day's visits as they arrive, and the waiting signed visits of other days. */
export function DayScreen({ date }: { date: string | undefined }) {
  const today = localDay(new Date());
  const shown = date ?? today;
  const asked = useAsk<DayReply>(`/api/office/day?date=${shown}`);
  useEffect(() => {
    const t = setInterval(() => document.visibilityState === "visible" && asked.again(), look);
    return () => clearInterval(t);
  }, [shown]);
  useNews(() => true, asked.again);
  const go = (to: string) => navigate(`/office/day/${to}`);
  const day = asked.reply;
  const waits = day ? day.waiting.length + day.more + day.visits.filter((v) => v.status === "signed").length : 0;
  return (
    <>
      <h1>{w.title}</h1>
      <div class="day-bar">
        <Button label={w.earlier} onClick={() => go(moveDay(shown, -1))}>
          {"\u2190"}
        </Button>
        <Field
          label={w.date}
          type="date"
          value={shown}
          onInput={(v) => (/^[12]\d{3}-\d\d-\d\d$/.test(v) ? go(v) : undefined)}
        />
        <Button label={w.later} onClick={() => go(moveDay(shown, 1))}>
          {"\u2192"}
        </Button>
        {shown === today ? null : <Button onClick={() => go(today)}>{w.today}</Button>}
      </div>
      <Later load={loadUnseen} props={{}} />
      <Waiting asked={asked} />
      {day ? (
        <>
          <p role="status">{w.count(day.visits.length, waits)}</p>
          {day.quarantined > 0 ? (
            <p>
              <a href="/office/aside">{w.aside(day.quarantined)}</a>
            </p>
          ) : null}
          {day.visits.length === 0 ? (
            <p class="quiet">{w.none}</p>
          ) : (
            <Visits rows={day.visits} dated={false} label={w.title} />
          )}
          {day.waiting.length > 0 ? (
            <>
              <h2>{w.waiting}</h2>
              <Visits rows={day.waiting} dated label={w.waiting} />
              {day.more > 0 ? <p class="quiet">{w.more(day.more)}</p> : null}
            </>
          ) : null}
        </>
      ) : null}
    </>
  );
}
