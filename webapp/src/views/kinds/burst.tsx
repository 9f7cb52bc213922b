import { isVerdict, Mark } from "../../parts/mark";
import { TraceChart } from "../../parts/trace-chart";
import { readField } from "../../wire/read";
import type { RecordState } from "../../wire/records";
import { systemsWords } from "../../words/systems";
import { sentence, showDecimal } from "../../words/words";
import { type FindingOf, findingOf } from "../../records/finding";
import { shown } from "../../records/figures";
import type { Finding, Kind } from "./kind";

const w = systemsWords.burst;

type Burst = NonNullable<FindingOf<"burst">["burst"]>;
type OneDisc = NonNullable<Burst["discs"]>[number];

const unitOf = (visit: RecordState) => readField("visit", visit, "item").range.unit;

const burstOf = (finding: Finding): Burst => findingOf(finding, "burst").burst ?? {};
const discsOf = (finding: Finding): OneDisc[] => burstOf(finding).discs ?? [];

/** bounds gives the pressures between which a disc may burst. */
function bounds(finding: Finding): readonly [number, number] | undefined {
  const { limit_low: low, limit_high: high } = burstOf(finding);
  return low === undefined || high === undefined ? undefined : [low, high];
}

function Off({ disc, finding, unit }: { disc: OneDisc; finding: Finding; unit: string }) {
  const { deviation, deviation_percent: percent } = disc;
  const band = bounds(finding);
  return (
    <>
      {deviation === undefined ? null : (
        <p>{w.off(`${shown(deviation)} ${unit}`, showDecimal(Number((percent ?? 0).toPrecision(3))))}</p>
      )}
      {band ? <p class="quiet">{w.allowed(shown(band[0]), `${shown(band[1])} ${unit}`)}</p> : null}
      {disc.saturated === true ? <p class="caution">{w.full}</p> : null}
    </>
  );
}

/** Live shows the peak while it is typed, against the marked pressure. */
const Live: NonNullable<Kind["Live"]> = ({ visit, step, finding }) => {
  const disc = discsOf(finding).find((d) => d.step === step.id);
  const peak = disc?.peak;
  if (!disc || peak === undefined) return null;
  const unit = unitOf(visit);
  return (
    <div class="decision" role="status">
      <p>
        {w.now} <strong>{`${shown(peak)} ${unit}`}</strong>{" "}
        {isVerdict(disc.verdict) ? <Mark verdict={disc.verdict} /> : null}
      </p>
      <Off disc={disc} finding={finding} unit={unit} />
    </div>
  );
};

function Disc({ disc, at: place, finding, unit }: { disc: OneDisc; at: number; finding: Finding; unit: string }) {
  const {
    t_s: t = [],
    p = [],
    peak,
    identity = "",
    peak_t_s: at,
    drop_t_s: drop,
    raw_maximum: raw,
    u_sampling: u,
    lag_error: lag,
  } = disc;
  const name = w.disc(place, identity);
  const fallen = drop === undefined ? -1 : t.findIndex((x) => x >= drop);
  return (
    <section aria-label={name}>
      <h3>{name}</h3>
      <p>
        {isVerdict(disc.verdict) ? <Mark verdict={disc.verdict} /> : null}{" "}
        <strong>{peak === undefined ? "" : `${shown(peak)} ${unit}`}</strong>{" "}
        <span class="quiet">{sentence(disc.reason ?? "")}</span>
      </p>
      <Off disc={disc} finding={finding} unit={unit} />
      {disc.burst === false ? <p class="caution">{w.none}</p> : null}
      {raw !== undefined && peak !== undefined && raw > peak ? <p>{w.spike(`${shown(raw)} ${unit}`)}</p> : null}
      {u !== undefined && u > 0 ? (
        <p class="quiet">
          {w.sampling(`${shown(u)} ${unit}`, lag !== undefined && lag > 0 ? `${shown(lag)} ${unit}` : "")}
        </p>
      ) : null}
      {t.length > 1 ? (
        <TraceChart
          t={t}
          p={p}
          unit={unit}
          band={bounds(finding)}
          label={w.chart(name, `${shown(peak ?? 0)} ${unit}`)}
          marks={[
            ...(at === undefined || peak === undefined ? [] : [{ t: at, p: peak, name: w.peak }]),
            ...(fallen < 0 ? [] : [{ t: t[fallen] ?? 0, p: p[fallen] ?? 0, name: w.drop }]),
          ]}
        />
      ) : null}
    </section>
  );
}

const width = 340;

/** Strip shows the discs of a lot on a line of pressure, with the allowed range. */
function Strip({ discs, finding, unit }: { discs: OneDisc[]; finding: Finding; unit: string }) {
  const peaks = discs.flatMap((d) => d.peak ?? []);
  const band = bounds(finding);
  const all = [...peaks, ...(band ?? [])];
  if (peaks.length < 2) return null;
  const low = Math.min(...all);
  const wide = Math.max(...all) - low || 1;
  const x = (p: number) => 24 + ((p - low) / wide) * (width - 48);
  return (
    <svg
      class="chart"
      viewBox={`0 0 ${width} 66`}
      role="img"
      aria-label={`${w.strip(peaks.length)}: ${peaks.map((p) => `${shown(p)} ${unit}`).join(", ")}`}
    >
      {band ? (
        <rect class="band" x={x(band[0])} width={Math.max(2, x(band[1]) - x(band[0]))} y="6" height="34" />
      ) : null}
      {band?.map((p) => (
        <line key={p} class="limit" x1={x(p)} x2={x(p)} y1="4" y2="42" />
      ))}
      <line class="zero" x1="8" x2={width - 8} y1="42" y2="42" />
      {peaks.map((p, i) => (
        <circle key={i} class="dot hollow" cx={x(p)} cy={14 + ((i * 9) % 24)} r="4.5" />
      ))}
      <text class="axis" x="8" y="58">
        {shown(low)}
      </text>
      <text class="axis" x={width - 8} y="58" text-anchor="end">{`${shown(low + wide)} ${unit}`}</text>
    </svg>
  );
}

const Result: NonNullable<Kind["Result"]> = ({ visit, finding }) => {
  const unit = unitOf(visit);
  const { lot = "", sentence: told = "" } = burstOf(finding);
  const discs = discsOf(finding);
  return (
    <>
      {lot === "" ? null : <p>{w.lot(lot)}</p>}
      {told === "" ? null : <p>{sentence(told)}</p>}
      <Strip discs={discs} finding={finding} unit={unit} />
      {discs.map((disc, i) => (
        <Disc key={disc.step} disc={disc} at={i + 1} finding={finding} unit={unit} />
      ))}
    </>
  );
};

/** The parts that a burst test shows itself. */
export const kind: Kind = { Live, Result };
