import { showDecimal } from "../words/words";

/** Place is one time with its pressure. */
export type Place = { t: number; p: number };

export type TraceChartProps = {
  /** Of equal length, with rising times. */
  t: readonly number[];
  p: readonly number[];
  unit: string;
  /** What the drawing shows, for screen readers. */
  label: string;
  /** A straight line through the trace. */
  line?: readonly [Place, Place] | undefined;
  /** The straight line that the limit allows. */
  allowed?: readonly [Place, Place] | undefined;
  /** Places named by a letter or a number. */
  marks?: readonly (Place & { name: string })[] | undefined;
  /** Pressures between which something is allowed. */
  band?: readonly [number, number] | undefined;
  /** The part that is used, which the drawing marks. */
  part?: readonly [number, number] | undefined;
  /** Single readings are drawn as dots. */
  dots?: boolean | undefined;
};

const width = 340;
const height = 200;
const left = 8;
const right = 332;
const top = 18;
const bottom = 158;
const most = 1200;

/**
 * fewer keeps the least and the greatest value of each group, so that a long trace is drawn with
 * its peaks.
 */
export function fewer(t: readonly number[], p: readonly number[], limit = most): Place[] {
  const at = (i: number): Place => ({ t: t[i] ?? 0, p: p[i] ?? 0 });
  if (t.length <= limit) return t.map((_, i) => at(i));
  const group = Math.ceil((2 * t.length) / limit);
  const out: Place[] = [];
  for (let from = 0; from < t.length; from += group) {
    let low = from;
    let high = from;
    for (let i = from; i < Math.min(t.length, from + group); i++) {
      if ((p[i] ?? 0) < (p[low] ?? 0)) low = i;
      if ((p[i] ?? 0) > (p[high] ?? 0)) high = i;
    }
    out.push(at(Math.min(low, high)));
    if (low !== high) out.push(at(Math.max(low, high)));
  }
  return out;
}

const figures = new Intl.NumberFormat("en", { maximumSignificantDigits: 6, useGrouping: false });

/** TraceChart draws pressure over time. */
export function TraceChart(c: TraceChartProps) {
  const places = fewer(c.t, c.p);
  const more = [...(c.line ?? []), ...(c.allowed ?? []), ...(c.marks ?? [])];
  const pressures = [...places.map((q) => q.p), ...more.map((q) => q.p), ...(c.band ?? [])];
  const low = pressures.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const high = pressures.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  const from = Math.min(places[0]?.t ?? 0, ...more.map((q) => q.t));
  const to = Math.max(places.at(-1)?.t ?? 1, ...more.map((q) => q.t));
  const tall = high - low || Math.abs(high) || 1;
  const x = (t: number) => left + ((t - from) / (to - from || 1)) * (right - left);
  const y = (p: number) => bottom - ((p - low + 0.04 * tall) / (1.08 * tall)) * (bottom - top);
  const at = (q: Place) => `${x(q.t).toFixed(1)},${y(q.p).toFixed(1)}`;
  const number = (v: number) => showDecimal(figures.format(v));
  return (
    <svg class="chart trace-chart" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={c.label}>
      {c.part ? (
        <rect
          class="band"
          x={x(c.part[0])}
          width={Math.max(1, x(c.part[1]) - x(c.part[0]))}
          y={top}
          height={bottom - top}
        />
      ) : null}
      {c.band ? (
        <rect
          class="band"
          x={left}
          width={right - left}
          y={y(c.band[1])}
          height={Math.max(1, y(c.band[0]) - y(c.band[1]))}
        />
      ) : null}
      {c.band?.map((p) => (
        <line key={p} class="limit" x1={left} x2={right} y1={y(p)} y2={y(p)} />
      ))}
      <line class="zero" x1={left} x2={right} y1={bottom} y2={bottom} />
      {c.allowed ? <polyline class="limit" points={c.allowed.map(at).join(" ")} /> : null}
      <polyline class="trace" points={places.map(at).join(" ")} />
      {c.dots ? places.map((q) => <circle key={q.t} class="dot" cx={x(q.t)} cy={y(q.p)} r="3" />) : null}
      {c.line ? <polyline class="fit" points={c.line.map(at).join(" ")} /> : null}
      {c.marks?.map((q, i) => (
        <g key={`${q.name} ${i}`} transform={`translate(${x(q.t).toFixed(1)} ${y(q.p).toFixed(1)})`}>
          <circle class="dot hollow" r="5" />
          <text
            class="axis"
            x={q.t > (from + to) / 2 ? -8 : 8}
            y="-8"
            text-anchor={q.t > (from + to) / 2 ? "end" : "start"}
          >
            {q.name}
          </text>
        </g>
      ))}
      <text class="axis" x={left} y="12">{`${number(high)} ${c.unit}`}</text>
      <text class="axis" x={left} y={bottom + 15}>{`${number(low)} ${c.unit}`}</text>
      <text class="axis" x={left} y={bottom + 33}>{`${number(from)} s`}</text>
      <text class="axis" x={right} y={bottom + 33} text-anchor="end">{`${number(to)} s`}</text>
    </svg>
  );
}
