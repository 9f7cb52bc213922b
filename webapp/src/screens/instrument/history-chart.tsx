import { isVerdict, MarkShape } from "../../parts/mark";
import type { PastOutput } from "../../wire/calculations.gen";
import { showDate, words } from "../../words/words";

/** One finished visit: the worst as-found error as a share of the limit. */
type Past = PastOutput["shares"][number];

const width = 340;
const height = 170;

/** HistoryChart draws the worst as-found error over the years against the limit. */
export function HistoryChart({ past }: { past: Past[] }) {
  const w = words.instrument;
  const sorted = past.flatMap(({ started: at, fraction, of_limit, verdict }) =>
    isVerdict(verdict) ? [{ at, fraction, of_limit, verdict }] : [],
  );
  const first = sorted[0];
  const last = sorted[sorted.length - 1];
  if (!first || !last) return <p class="quiet">{w.historyBare}</p>;
  const from = Date.parse(first.at);
  const span = Math.max(Date.parse(last.at) - from, 1);
  const tallest = Math.max(1.15, ...sorted.map((p) => Math.abs(p.fraction) * 1.15));
  const x = (at: string) => (sorted.length === 1 ? width / 2 : 52 + ((Date.parse(at) - from) / span) * (width - 72));
  const y = (f: number) => 140 - (Math.abs(f) / tallest) * 126;
  const spoken = sorted
    .map((p) => `${showDate(p.at)}: ${w.percent(p.of_limit)}, ${words.verdict[p.verdict]}`)
    .join("; ");
  const year = (iso: string) => String(new Date(Date.parse(iso)).getFullYear());
  return (
    <figure class="history">
      <svg class="chart" viewBox={`0 0 ${width} ${height}`} role="img" aria-label={`${w.history}. ${spoken}`}>
        <rect class="band" x="40" y={y(1)} width={width - 40} height={140 - y(1)} />
        <line class="limit" x1="40" x2={width} y1={y(1)} y2={y(1)} />
        <line class="zero" x1="40" x2={width} y1="140" y2="140" />
        <text class="axis" x="34" y={y(1) + 4} text-anchor="end">
          {w.percent("100")}
        </text>
        <text class="axis" x="34" y="144" text-anchor="end">
          0
        </text>
        <polyline
          class="trace"
          points={sorted.map((p) => `${x(p.at).toFixed(1)},${y(p.fraction).toFixed(1)}`).join(" ")}
        />
        {sorted.map((p) => (
          <g
            key={p.at}
            class="past"
            transform={`translate(${(x(p.at) - 7).toFixed(1)} ${(y(p.fraction) - 7).toFixed(1)}) scale(.58)`}
          >
            <circle class="clear" cx="12" cy="12" r="13" />
            <MarkShape verdict={p.verdict} />
          </g>
        ))}
        <text class="axis" x={x(first.at)} y="162" text-anchor="middle">
          {year(first.at)}
        </text>
        {year(last.at) !== year(first.at) ? (
          <text class="axis" x={x(last.at)} y="162" text-anchor="middle">
            {year(last.at)}
          </text>
        ) : null}
      </svg>
      <figcaption class="small quiet">{w.historyAxis}</figcaption>
    </figure>
  );
}
