import { showDecimal } from "../words/words";

export type Cycle = { set?: number | undefined; reset?: number | undefined };
export type CycleChartProps = {
  cycles: Cycle[];
  /** The pressures between which the set point must lie. */
  band?: readonly [number, number] | undefined;
  unit: string;
  label: string;
};

const width = 340;
const left = 8;
const right = 332;
const row = 26;
const top = 12;

/** CycleChart draws each cycle's actuation and return on a line of pressure. */
export function CycleChart({ cycles, band, unit, label }: CycleChartProps) {
  const values = [...cycles.flatMap((c) => [c.set, c.reset]), ...(band ?? [])].filter((v) => v !== undefined);
  if (values.length === 0) return null;
  const low = Math.min(...values);
  const high = Math.max(...values);
  const wide = high - low || Math.abs(high) || 1;
  const x = (p: number) => left + 14 + ((p - low) / wide) * (right - left - 28);
  const bottom = top + cycles.length * row;
  return (
    <svg class="chart cycle-chart" viewBox={`0 0 ${width} ${bottom + 24}`} role="img" aria-label={label}>
      {band ? (
        <rect
          class="band"
          x={x(band[0])}
          width={Math.max(2, x(band[1]) - x(band[0]))}
          y={top - 6}
          height={bottom - top + 6}
        />
      ) : null}
      {band?.map((p) => (
        <line key={p} class="limit" x1={x(p)} x2={x(p)} y1={top - 6} y2={bottom} />
      ))}
      {cycles.map((c, i) => {
        const y = top + (i + 0.5) * row;
        return (
          <g key={i}>
            {c.set !== undefined && c.reset !== undefined ? (
              <line class="trace" x1={x(c.reset)} x2={x(c.set)} y1={y} y2={y} />
            ) : null}
            {c.set === undefined ? null : (
              <path class="dot" transform={`translate(${x(c.set).toFixed(1)} ${y})`} d="M-6 5h12l-6 -11z" />
            )}
            {c.reset === undefined ? null : (
              <path class="dot hollow" transform={`translate(${x(c.reset).toFixed(1)} ${y})`} d="M-6 -5h12l-6 11z" />
            )}
          </g>
        );
      })}
      <line class="zero" x1={left} x2={right} y1={bottom} y2={bottom} />
      <text class="axis" x={left} y={bottom + 18}>
        {showDecimal(low)}
      </text>
      <text class="axis" x={right} y={bottom + 18} text-anchor="end">{`${showDecimal(high)} ${unit}`}</text>
    </svg>
  );
}
