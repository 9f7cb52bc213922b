import { useEffect, useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Button } from "../../parts/button";
import type { DriftOutput } from "../../wire/calculations.gen";
import { byKind } from "../../store/store";
import { asText, type RecordState, text, value } from "../../wire/records";
import { outlookWords as w } from "../../words/outlook";
import { sentence, showDate, showDecimal, words } from "../../words/words";
import { localDay } from "../../records/stops";
import { showShare, showTo } from "../../records/budget";
import { unitOf } from "../../records/facts";
import { courseOf, type History, kinOf, pastOf } from "./outlook-data";

const width = 340;
const height = 150;
const left = 8;
const right = 332;
const top = 10;
const bottom = 122;

/** Outlook shows what an instrument's past suggests for its next years and its interval. */
export function Outlook({ instrument, visits }: { instrument: RecordState; visits: RecordState[] }) {
  const [drift, setDrift] = useState<DriftOutput | "little" | undefined>();
  const [action, setAction] = useState("");
  const today = localDay(new Date());
  const due = text(instrument, "due").slice(0, 10);
  const ahead = due > today;
  const at = ahead ? due : today;
  const [history, setHistory] = useState<History>([]);
  const past = pastOf(visits);
  useEffect(() => {
    let here = true;
    const months = asText(value(instrument, "interval_months"));
    const ask = async () => {
      const { history, found_fraction: fraction } = await call("past", past);
      if (!here) return;
      setHistory(history);
      if (history.length === 0) return;
      const last = fraction === undefined ? {} : { found_fraction: String(fraction) };
      try {
        const got = await call("drift", {
          history,
          at,
          ...(months === "" || fraction === undefined ? {} : { interval_months: months, ...last }),
        });
        if (!here) return;
        setDrift(got);
        setAction(
          got.advice === undefined
            ? ""
            : w.advice(
                got.advice,
                got.advice_reason ?? "",
                got.advice_method ?? "",
                showDecimal(String(got.advice_months ?? "")),
                showDate(got.due ?? ""),
              ),
        );
      } catch (e) {
        if (!(e instanceof CalcError)) throw e;
        // There is too little history for a forecast; only the last result tells something.
        const said = fraction === undefined || months === "" ? undefined : await call("interval", { ...last, months });
        if (!here) return;
        setDrift("little");
        setAction(
          said === undefined
            ? ""
            : w.advice(said.action ?? "", said.reason ?? "", "last", showDecimal(String(said.months ?? "")), ""),
        );
      }
    };
    ask().catch((e: unknown) => console.error(e));
    return () => {
      here = false;
    };
  }, [JSON.stringify(past), at]);
  if (history.length === 0) return null; // the results of this kind of work are no errors at points
  return (
    <section aria-label={w.title}>
      <h2>{w.title}</h2>
      {drift === undefined ? (
        <p class="quiet">{words.shell.loading}</p>
      ) : drift === "little" ? (
        <p class="quiet">{w.little}</p>
      ) : null}
      {drift !== undefined && drift !== "little" ? (
        <Forecast drift={drift} history={history} at={at} today={today} unit={unitOf(instrument)} />
      ) : null}
      <Interval instrument={instrument} action={action} />
    </section>
  );
}

function Forecast({
  drift,
  history,
  at,
  today,
  unit,
}: {
  drift: DriftOutput;
  history: History;
  at: string;
  today: string;
  unit: string;
}) {
  const point = drift.point;
  const named = `${showDecimal(point)} ${unit}`;
  const size = (x: number | undefined) => `${showTo(x, 2)} ${unit}`;
  const due = drift.due ?? "";
  const duePoint = `${showDecimal(String(drift.due_point ?? ""))} ${unit}`;
  const warnings = drift.warnings.map((x) => sentence(x.message));
  // A probability from too few results decides nothing, and would contradict the advice, which
  // does.
  const out = drift.advice_method === "last" && drift.advice_reason === "little" ? undefined : drift.probability_out;
  return (
    <>
      <p>
        {[
          w.expected(showDate(at), named, size(drift.predicted)),
          w.band(size(drift.predicted_low), size(drift.predicted_high)),
          w.slope(size(drift.slope_per_year)),
        ].join(", ")}
        {out === undefined ? "" : `; ${w.outside(showShare(out))}`}.
      </p>
      {due === "" || out === undefined ? null : (
        <p>
          <strong>{due > today ? w.due(showDate(due), duePoint) : w.past(showDate(due), duePoint)}</strong>
        </p>
      )}
      <Course
        history={history}
        point={point}
        named={named}
        at={at}
        low={drift.predicted_low}
        high={drift.predicted_high}
        middle={drift.predicted}
        unit={unit}
      />
      {warnings.map((x) => (
        <p key={x} class="small quiet">
          {`${w.warning}: ${x}`}
        </p>
      ))}
    </>
  );
}

type CourseProps = {
  history: History;
  point: number;
  named: string;
  at: string;
  low: number;
  high: number;
  middle: number;
  unit: string;
};

function Course({ history, point, named, at, low, high, middle, unit }: CourseProps) {
  const { spots, limit } = courseOf(history, point);
  const first = spots[0];
  const last = spots.at(-1);
  if (!first || !last) return null;
  const end = Date.parse(at);
  const span = Math.max(end - first.at, 1);
  const tallest =
    Math.max(limit ?? 0, Math.abs(low), Math.abs(high), ...spots.map((s) => Math.abs(s.error)), Number.MIN_VALUE) * 1.1;
  const x = (t: number) => left + 14 + ((t - first.at) / span) * (right - left - 34);
  const y = (e: number) => (top + bottom) / 2 - (e / tallest) * ((bottom - top) / 2);
  const year = (t: number) => String(new Date(t).getFullYear());
  const spoken = spots
    .map((s) => `${showDate(new Date(s.at).toISOString())}: ${showTo(s.error, 2)} ${unit}`)
    .join("; ");
  return (
    <svg
      class="chart"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={`${w.chart(named)}. ${spoken}; ${w.now}: ${showTo(low, 2)} … ${showTo(high, 2)} ${unit}`}
    >
      {limit === undefined ? null : (
        <>
          <rect class="band" x={left} y={y(limit)} width={right - left} height={y(-limit) - y(limit)} />
          <line class="limit" x1={left} x2={right} y1={y(limit)} y2={y(limit)} />
          <line class="limit" x1={left} x2={right} y1={y(-limit)} y2={y(-limit)} />
        </>
      )}
      <line class="zero" x1={left} x2={right} y1={y(0)} y2={y(0)} />
      <polyline class="trace" points={spots.map((s) => `${x(s.at).toFixed(1)},${y(s.error).toFixed(1)}`).join(" ")} />
      <line class="trace down" x1={x(last.at)} y1={y(last.error)} x2={x(end)} y2={y(middle)} />
      {spots.map((s) => (
        <circle key={s.at} class="dot" cx={x(s.at)} cy={y(s.error)} r="4" />
      ))}
      <g>
        <line class="bar" x1={x(end)} x2={x(end)} y1={y(high)} y2={y(low)} />
        <line class="bar" x1={x(end) - 5} x2={x(end) + 5} y1={y(high)} y2={y(high)} />
        <line class="bar" x1={x(end) - 5} x2={x(end) + 5} y1={y(low)} y2={y(low)} />
        <circle class="dot hollow" cx={x(end)} cy={y(middle)} r="4" />
      </g>
      <text class="axis" x={left} y={height - 8}>
        {year(first.at)}
      </text>
      <text class="axis" x={right} y={height - 8} text-anchor="end">
        {`${year(end)}, ${w.now}`}
      </text>
    </svg>
  );
}

function Interval({ instrument, action }: { instrument: RecordState; action: string }) {
  const [said, say] = useState<string[]>([]);
  const [busy, setBusy] = useState(false);
  const months = asText(value(instrument, "interval_months"));
  if (action === "" || months === "") return null;
  const look = async () => {
    const counted = await call("kin", kinOf(instrument, await byKind("instrument"), await byKind("visit")));
    const lines = [w.counted(counted.passed, counted.of)];
    if (!counted.enough) lines.push(w.fewKin);
    say(lines);
  };
  const go = () => {
    setBusy(true);
    look()
      .catch((e: unknown) => {
        console.error(e);
        say([words.shell.broken]);
      })
      .finally(() => setBusy(false));
  };
  return (
    <>
      <h3>{w.interval}</h3>
      <p>
        {w.present(showDecimal(months))} {action}
      </p>
      {said.length === 0 ? (
        <Button disabled={busy} onClick={go}>
          {w.kin}
        </Button>
      ) : (
        <div role="status">
          {said.map((t) => (
            <p key={t}>{t}</p>
          ))}
        </div>
      )}
    </>
  );
}
