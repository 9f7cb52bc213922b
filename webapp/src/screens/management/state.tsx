import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { isVerdict, Mark } from "../../parts/mark";
import { language } from "../../words/language";
import { deskWords } from "../../words/desk";
import { methodsWords } from "../../words/methods";
import { showDate } from "../../words/words";
import { Complaint, save, useAsk, useDoing, Waiting } from "../../nav/asking";
import { useNews } from "../../nav/fresh";
import type { Gauge } from "../../records/office";
import type { LookbackRow } from "./lookbacks";

const w = deskWords.state;
const s = deskWords.standards;

type Standing = { id: string; name: string; serial: string; state: string; due: string };
type Reply = {
  [count: string]: unknown;
  date: string;
  oldest: string;
  standards: Standing[];
  lookbacks: LookbackRow[];
  ending: { name: string; kind: string; until: string; state: string }[];
  areas: { area: string; in_service: number; overdue: number; due_soon: number; failed: number }[];
  weeks: { from: string; due: number }[];
  late: Gauge[];
  bad: { gauge: Gauge; visit: string; tested: string; verdict: string }[];
};

/** Where each count leads. */
const leads: { [count: string]: string } = {
  overdue: "/office/register?due=overdue",
  waiting: "/office",
  returned: "/office",
  conflicts: "/office/contested",
  rejected: "/office/aside",
};
const alarming = new Set(["overdue", "failed", "undecided", "conflicts", "rejected"]);

/** StateScreen shows the state of the plant on one page, and gives the monthly report. */
export function StateScreen() {
  const asked = useAsk<Reply>("/api/office/state");
  useNews(() => true, asked.again);
  const d = useDoing();
  const r = asked.reply;
  const [month, setMonth] = useState("");
  const of = month || (r?.date.slice(0, 7) ?? "");
  const take = (name: string) => d.run(() => save(`/api/office/reports/${name}?language=${language}`, name));
  return (
    <div class="desk-page">
      <h1>{w.title}</h1>
      <Waiting asked={asked} />
      {r ? (
        <>
          <ul class="counts">
            {Object.entries(w.counts).map(([name, text]) => {
              const n = Number(r[name] ?? 0);
              const inside = (
                <>
                  <strong class="number">{n}</strong> <span>{text}</span>
                  {name === "waiting" && r.oldest !== "" ? (
                    <span class="small quiet">{w.oldest(showDate(r.oldest))}</span>
                  ) : null}
                </>
              );
              return (
                <li key={name} class={n > 0 && alarming.has(name) ? "alarm" : ""}>
                  {leads[name] !== undefined && n > 0 ? <a href={leads[name]}>{inside}</a> : <div>{inside}</div>}
                </li>
              );
            })}
          </ul>
          <div class="report-bar">
            <Button onClick={() => take("state.pdf")}>{w.pdf}</Button>
            <span class="pick">
              <label for="month">{w.month}</label>
              <input
                id="month"
                type="month"
                value={of}
                max={r.date.slice(0, 7)}
                onInput={(e) => setMonth((e.currentTarget as HTMLInputElement).value)}
              />
            </span>
            <Button onClick={() => take(`month-${of}.pdf`)}>{w.monthly}</Button>
            <Button onClick={() => take(`month-${of}.csv`)}>{w.csv}</Button>
            <Button onClick={() => take(`month-${of}.xlsx`)}>{w.xlsx}</Button>
          </div>
          <Complaint error={d.error} />
          <div class="two-sides">
            <div>
              <h2>{w.bad}</h2>
              <Gauges
                list={r.bad.map((b) => ({
                  gauge: b.gauge,
                  href: `/office/visit/${b.visit}`,
                  day: b.tested,
                  verdict: b.verdict,
                }))}
                day={w.tested}
              />
              <h2>{w.late}</h2>
              <Gauges
                list={r.late.map((g) => ({ gauge: g, href: `/instrument/${g.id}`, day: g.due, verdict: "" }))}
                day={w.due}
              />
              <h2>{w.lookbacks}</h2>
              {r.lookbacks.length === 0 ? <p class="quiet">{w.none}</p> : null}
              <ul class="plain-list">
                {r.lookbacks.map((l) => (
                  <li key={l.id}>
                    <a href={`/office/lookbacks/${l.id}`}>{l.name}</a>{" "}
                    <span class="small quiet">
                      {`${deskWords.lookback.undecided}: ${l.undecided}, ${deskWords.lookback.notClosed}: ${l.open}`}
                    </span>
                  </li>
                ))}
              </ul>
            </div>
            <div>
              <h2>{w.standards}</h2>
              {r.standards.length === 0 ? <p class="quiet">{w.none}</p> : null}
              <ul class="plain-list">
                {r.standards.map((x) => (
                  <li key={x.id}>
                    <a href={`/office/standard/${x.id}`}>{`${x.name} ${x.serial}`}</a>{" "}
                    <span class={`badge ${x.state}`}>{s.states[x.state] ?? x.state}</span>{" "}
                    <span class="small number">{showDate(x.due)}</span>
                  </li>
                ))}
              </ul>
              <h2>{w.ending}</h2>
              {r.ending.length === 0 ? <p class="quiet">{w.none}</p> : null}
              <ul class="plain-list">
                {r.ending.map((e) => (
                  <li key={`${e.name} ${e.kind} ${e.until}`}>
                    {`${e.name}: ${e.kind === "" ? w.every : (methodsWords.kinds[e.kind] ?? e.kind)}, ${w.until(showDate(e.until))}`}
                  </li>
                ))}
              </ul>
              <h2>{w.weeks}</h2>
              <Weeks weeks={r.weeks} />
              <h2>{w.areas}</h2>
              <table class="visits-table">
                <thead>
                  <tr>
                    <th scope="col">{w.area}</th>
                    {["instruments", "overdue", "due_soon", "failed"].map((c) => (
                      <th key={c} scope="col" class="number">
                        {w.counts[c]}
                      </th>
                    ))}
                  </tr>
                </thead>
                <tbody>
                  {r.areas.map((a) => (
                    <tr key={a.area}>
                      <th scope="row">{a.area || w.noArea}</th>
                      {[a.in_service, a.overdue, a.due_soon, a.failed].map((n, i) => (
                        <td key={i} class="number">
                          {n}
                        </td>
                      ))}
                    </tr>
                  ))}
                </tbody>
              </table>
            </div>
          </div>
        </>
      ) : null}
    </div>
  );
}

function Weeks({ weeks }: { weeks: { from: string; due: number }[] }) {
  const most = Math.max(1, ...weeks.map((x) => x.due));
  return (
    <table class="visits-table weeks">
      <thead>
        <tr>
          <th scope="col">{w.week}</th>
          <th scope="col" class="number">
            {w.due}
          </th>
          <td />
        </tr>
      </thead>
      <tbody>
        {weeks.map((x) => (
          <tr key={x.from}>
            <th scope="row">{showDate(x.from)}</th>
            <td class="number">{x.due}</td>
            <td>
              <svg viewBox="0 0 100 10" preserveAspectRatio="none" aria-hidden="true">
                <rect width={(100 * x.due) / most} height="10" />
              </svg>
            </td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

function Gauges({ list, day }: { list: { gauge: Gauge; href: string; day: string; verdict: string }[]; day: string }) {
  if (list.length === 0) return <p class="quiet">{w.none}</p>;
  const judged = list.some((x) => x.verdict !== "");
  return (
    <table class="visits-table">
      <thead>
        <tr>
          <th scope="col">{deskWords.queue.instrument}</th>
          <th scope="col">{w.area}</th>
          {judged ? <th scope="col">{w.verdict}</th> : null}
          <th scope="col" class="number">
            {day}
          </th>
        </tr>
      </thead>
      <tbody>
        {list.map((x) => (
          <tr key={x.gauge.id}>
            <th scope="row">
              <a href={x.href}>{x.gauge.tag}</a> <span class="small quiet">{x.gauge.description}</span>
            </th>
            <td class="small">{x.gauge.area}</td>
            {judged ? <td>{isVerdict(x.verdict) ? <Mark verdict={x.verdict} /> : null}</td> : null}
            <td class="number">{showDate(x.day)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
