import { visitWords } from "../words/visit";
import { showDecimal, showError } from "../words/words";

export type LimitBandProps = { error: number; low: number; high: number; unit: string; inside: boolean };

const middle = 160;
const half = 88;

/** LimitBand draws one error in its limit band; what lies beyond the picture is an arrow at its edge. */
export function LimitBand(p: LimitBandProps) {
  const reach = Math.max(Math.abs(p.low), Math.abs(p.high), Number.MIN_VALUE);
  const x = (v: number) => middle + (v / reach) * half;
  const at = x(p.error);
  const off = at < 12 ? -1 : at > 308 ? 1 : 0;
  const said = p.inside ? visitWords.band.inside : visitWords.band.outside;
  const label = `${visitWords.band.error} ${showError(p.error, reach)} ${p.unit}, ${said}`;
  return (
    <svg class="chart limit-band" viewBox="0 0 320 64" role="img" aria-label={label}>
      <rect class="band" x={x(p.low)} y="8" width={x(p.high) - x(p.low)} height="28" />
      <line class="limit" x1={x(p.low)} x2={x(p.low)} y1="4" y2="40" />
      <line class="limit" x1={x(p.high)} x2={x(p.high)} y1="4" y2="40" />
      <line class="zero" x1={middle} x2={middle} y1="8" y2="36" />
      {off === 0 ? <path class={p.inside ? "dot" : "dot hollow"} d={`M${at.toFixed(1)} 10l8 12l-8 12l-8 -12z`} /> : null}
      {off === -1 ? <path class="dot hollow" d="M4 22l14 -12v24z" /> : null}
      {off === 1 ? <path class="dot hollow" d="M316 22l-14 -12v24z" /> : null}
      <text class="axis" x={x(p.low)} y="58" text-anchor="middle">
        {showDecimal(p.low)}
      </text>
      <text class="axis" x={x(p.high)} y="58" text-anchor="middle">
        {showDecimal(p.high)}
      </text>
    </svg>
  );
}
