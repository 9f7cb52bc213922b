import { showDecimal, words } from "../words/words";

/** One reading in the chart; all in the instrument's unit. */
export type BandPoint = {
  applied: number;
  error: number;
  direction?: "up" | "down" | undefined;
  /** Expanded uncertainty, half the length of the bar. */
  uncertainty?: number | undefined;
  /** Drawn larger: the reading being typed. */
  current?: boolean | undefined;
};
export type BandEdge = { applied: number; low: number; high: number };

export type BandChartProps = {
  points: BandPoint[];
  /** The limits at some pressures, drawn as straight lines between them. */
  limits: BandEdge[];
  low: number;
  high: number;
  unit: string;
  /** For a transmitter, the unit of its signal. */
  errorUnit: string;
};

const width = 340;
const height = 180;
const left = 8;
const right = 332;
const top = 10;
const bottom = 152;

/** BandChart draws error against pressure inside the limit band, with uncertainty bars. */
export function BandChart(p: BandChartProps) {
  const span = p.high - p.low || 1;
  const tallest = Math.max(
    ...p.limits.flatMap((l) => [Math.abs(l.low), Math.abs(l.high)]),
    ...p.points.map((q) => Math.abs(q.error) + (q.uncertainty ?? 0)),
    Number.MIN_VALUE,
  );
  const x = (v: number) => left + 8 + ((v - p.low) / span) * (right - left - 16);
  const y = (v: number) => (top + bottom) / 2 - (v / (tallest * 1.15)) * ((bottom - top) / 2);
  const edges = [...p.limits].sort((a, b) => a.applied - b.applied);
  const path = (side: "low" | "high") => edges.map((e) => `${x(e.applied).toFixed(1)},${y(e[side]).toFixed(1)}`);
  const described = p.points
    .map((q) => words.chart.point(`${showDecimal(q.applied)} ${p.unit}`, `${showDecimal(q.error)} ${p.errorUnit}`))
    .join("; ");
  const lines = (["up", "down"] as const).map((d) =>
    p.points
      .filter((q) => q.direction === d)
      .sort((a, b) => a.applied - b.applied)
      .map((q) => `${x(q.applied).toFixed(1)},${y(q.error).toFixed(1)}`)
      .join(" "),
  );
  return (
    <svg
      class="chart band-chart"
      viewBox={`0 0 ${width} ${height}`}
      role="img"
      aria-label={`${words.chart.band}. ${described}`}
    >
      {edges.length > 1 ? (
        <polygon class="band" points={[...path("high"), ...path("low").reverse()].join(" ")} />
      ) : null}
      {edges.length > 1 ? <polyline class="limit" points={path("high").join(" ")} /> : null}
      {edges.length > 1 ? <polyline class="limit" points={path("low").join(" ")} /> : null}
      <line class="zero" x1={left} x2={right} y1={y(0)} y2={y(0)} />
      {lines.map((l, i) =>
        l.includes(" ") ? (
          <polyline key={i === 0 ? "up" : "down"} class={i === 0 ? "trace up" : "trace down"} points={l} />
        ) : null,
      )}
      {p.points.map((q, i) => (
        <g
          key={`${q.applied} ${q.direction ?? ""} ${i}`}
          transform={`translate(${x(q.applied).toFixed(1)} ${y(q.error).toFixed(1)})`}
          class={q.current ? "now" : ""}
        >
          {q.uncertainty ? <line class="bar" y1={y(q.uncertainty) - y(0)} y2={y(-q.uncertainty) - y(0)} /> : null}
          {q.direction === "down" ? (
            <path class="dot hollow" d="M-5 -4h10l-5 9z" />
          ) : (
            <path class="dot" d="M-5 4h10l-5 -9z" />
          )}
        </g>
      ))}
      <text class="axis" x={x(p.low)} y={height - 8} text-anchor="start">
        {showDecimal(p.low)}
      </text>
      <text class="axis" x={x(p.high)} y={height - 8} text-anchor="end">
        {`${showDecimal(p.high)} ${p.unit}`}
      </text>
    </svg>
  );
}
