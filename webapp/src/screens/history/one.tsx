import { useState } from "preact/hooks";
import type { Outlook } from "../../records/figures-reply";
import { showShare, showTo } from "../../records/budget";
import { historyWords as w } from "../../words/history";
import { showDate, showDateTime, showDecimal } from "../../words/words";
import { Decide, open } from "./decide";
import { TestTable } from "./tests";
import { Reading, useRead } from "./waiting";

/** OneInstrument shows an instrument's results, its forecast, the advice and the decisions. */
export function OneInstrument({ id }: { id: string }) {
  const asked = useRead<Outlook>(`/api/office/advice/${id}`);
  const [said, say] = useState("");
  const o = asked.reply;
  if (!o || o.reading)
    return (
      <>
        <h1>{w.title}</h1>
        <Reading asked={asked} />
      </>
    );
  const a = o.advice;
  return (
    <>
      <h1>{w.outlook(o.tag)}</h1>
      <p>
        <a href="/office/figures">{w.title}</a> · <a href={`/instrument/${id}`}>{w.open}</a>
      </p>
      <div class="figures-one">
        <section>
          {a ? (
            <>
              <p class="lead">{`${w.months(a.interval)}: ${w.advise(a.action, a.months, showDate(a.new_due))}.`}</p>
              <p>{w.reasons[a.reason]}</p>
              {a.chance === null ? null : (
                <p>
                  {`${w.chanceOn(showDate(a.at), showShare(a.chance))}, ${w.chanceBy[a.by] ?? ""}`}
                  {a.new_chance === null || a.new_due === a.at
                    ? ""
                    : w.chanceAfter(showDate(a.new_due), showShare(a.new_chance))}
                  {". "}
                  {a.bound === "" ? "" : w.boundOn(showDate(a.bound))}
                </p>
              )}
              <p class="quiet small">{w.ruled[a.method]}</p>
            </>
          ) : (
            <p>{w.noAdvice}</p>
          )}
          <p role="status">{said}</p>
          {a && open(a) ? (
            <Decide
              rows={[a]}
              onDone={(n) => {
                say(`${w.done(n)} ${w.undo}`);
                asked.again();
              }}
            />
          ) : null}
        </section>
        <section>{o.point === "" ? <p class="quiet">{w.noForecast}</p> : <Course o={o} />}</section>
      </div>
      <h2>{w.tests}</h2>
      <TestTable rows={o.tests} tags={false} />
      {o.decisions.length === 0 ? null : (
        <>
          <h2>{w.decisions}</h2>
          <ul class="rows">
            {o.decisions.map((d) => (
              <li key={d.at}>
                <p>
                  <span class="lead">{`${d.accepted ? w.accepted : w.refused}: ${w.advise(d.action, d.months, showDate(d.due))}`}</span>
                  <br />
                  <span class="small quiet">{[showDateTime(d.at), d.by, w.months(d.was), d.why].join(" · ")}</span>
                </p>
              </li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}

const width = 640;
const height = 260;
const left = 64;
const right = width - 12;
const top = 12;
const bottom = height - 30;

/** Course draws the errors of the worst point over the years and the predicted band. */
function Course({ o }: { o: Outlook }) {
  const times = [...o.found, ...o.ahead].map((p) => Date.parse(p.date));
  const first = Math.min(...times);
  const last = Math.max(...times);
  const errors = [
    ...o.found.map((p) => p.error),
    ...o.ahead.flatMap((p) => [p.low, p.high]),
    o.limit * 1.1,
    -o.limit * 1.1,
  ];
  const tallest = Math.min(Math.max(...errors.map(Math.abs)), 4 * o.limit);
  const x = (date: string) => left + ((Date.parse(date) - first) / Math.max(last - first, 1)) * (right - left);
  const y = (e: number) =>
    (top + bottom) / 2 - (Math.max(-tallest, Math.min(tallest, e)) / tallest) * ((bottom - top) / 2);
  const path = (list: { date: string; e: number }[]) =>
    list.map((p) => `${x(p.date).toFixed(1)},${y(p.e).toFixed(1)}`).join(" ");
  const band = [
    ...o.ahead.map((p) => ({ date: p.date, e: p.high })),
    ...[...o.ahead].reverse().map((p) => ({ date: p.date, e: p.low })),
  ];
  const end = o.ahead.at(-1);
  const due = o.advice?.at ?? "";
  const named = w.chart(`${showDecimal(o.point)} ${o.unit}`);
  const spoken = o.found.map((p) => `${showDate(p.date)}: ${showTo(p.error, 2)}`).join("; ");
  return (
    <figure class="course">
      <figcaption class="small">{named}</figcaption>
      <svg class="chart" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={`${named}. ${spoken}`}>
        <polygon class="ahead" points={path(band)} />
        {[o.limit, 0, -o.limit].map((e) => (
          <g key={e}>
            <line class={e === 0 ? "zero" : "limit"} x1={left} x2={right} y1={y(e)} y2={y(e)} />
            <text class="axis" x={left - 6} y={y(e) + 4} text-anchor="end">
              {e === 0 ? "0" : `${e > 0 ? "+" : "\u2212"}${showTo(Math.abs(e), 2)}`}
            </text>
          </g>
        ))}
        {due !== "" && Date.parse(due) <= last ? (
          <g>
            <line class="due" x1={x(due)} x2={x(due)} y1={top} y2={bottom} />
            <text class="axis" x={x(due)} y={height - 8} text-anchor="middle">
              {showDate(due)}
            </text>
          </g>
        ) : null}
        <polyline class="trace down" points={path(o.ahead.map((p) => ({ date: p.date, e: p.mid })))} />
        {o.found.map((p) => (
          <circle key={`${p.date} ${p.error}`} class="dot" cx={x(p.date)} cy={y(p.error)} r="4" />
        ))}
        <text class="axis" x={left} y={height - 8}>
          {showDate(o.found[0]?.date ?? "")}
        </text>
        {end && Date.parse(due) < first + 0.8 * (last - first) ? (
          <text class="axis" x={right} y={height - 8} text-anchor="end">
            {showDate(end.date)}
          </text>
        ) : null}
      </svg>
    </figure>
  );
}
