import { visitWords } from "../words/visit";
import { showDecimal } from "../words/words";

export type LimitBandProps = {
  error: number;
  /** The error as text. */
  shown: string;
  low: number;
  high: number;
  unit: string;
  inside: boolean;
  /** The error found here last time, and when. */
  last?: { error: number; shown: string; on: string } | undefined;
};

const middle = 160;
const half = 88;

/**
 * LimitBand draws one error in its limit band. An error outside the picture is an arrow at its
 * edge.
 */
export function LimitBand(p: LimitBandProps) {
  const reach = Math.max(Math.abs(p.low), Math.abs(p.high), Number.MIN_VALUE);
  const x = (v: number) => middle + (v / reach) * half;
  const at = x(p.error);
  const off = at < 12 ? -1 : at > 308 ? 1 : 0;
  const said = p.inside ? visitWords.band.inside : visitWords.band.outside;
  const last = p.last ? visitWords.band.last(p.last.on, `${p.last.shown} ${p.unit}`) : "";
  const label = [`${visitWords.band.error} ${p.shown} ${p.unit}`, said, last].filter(Boolean).join(", ");
  const was = p.last ? Math.min(308, Math.max(12, x(p.last.error))) : 0;
  return (
    <svg class="chart limit-band" viewBox="0 0 320 50" role="img" aria-label={label}>
      <rect class="band" x={x(p.low)} y="4" width={x(p.high) - x(p.low)} height="24" />
      <line class="limit" x1={x(p.low)} x2={x(p.low)} y1="0" y2="32" />
      <line class="limit" x1={x(p.high)} x2={x(p.high)} y1="0" y2="32" />
      <line class="zero" x1={middle} x2={middle} y1="4" y2="28" />
      {p.last ? (
        <g class="last">
          <path d={`M${was.toFixed(1)} 28l-6 8h12z`} />
          <text class="axis" x={Math.min(x(p.high) - 36, Math.max(x(p.low) + 36, was))} y="47" text-anchor="middle">
            {p.last.on}
          </text>
        </g>
      ) : null}
      {off === 0 ? <path class={p.inside ? "dot" : "dot hollow"} d={`M${at.toFixed(1)} 4l8 12l-8 12l-8 -12z`} /> : null}
      {off === -1 ? <path class="dot hollow" d="M4 16l14 -12v24z" /> : null}
      {off === 1 ? <path class="dot hollow" d="M316 16l-14 -12v24z" /> : null}
      <text class="axis" x={x(p.low)} y="47" text-anchor="middle">
        {showDecimal(p.low)}
      </text>
      <text class="axis" x={x(p.high)} y="47" text-anchor="middle">
        {showDecimal(p.high)}
      </text>
    </svg>
  );
}
