import { isVerdict, Mark } from "../../../parts/mark";
import { TraceChart } from "../../../parts/trace-chart";
import { asNumber, asObject, asText, type Json, type RecordState } from "../../../wire/records";
import { systemsWords } from "../../../words/systems";
import { showDecimal } from "../../../words/words";
import { shown } from "../figures";
import { instrumentOf } from "../sheet";
import type { Finding, Kind } from "./kind";

const w = systemsWords.burst;

type Doc = { [name: string]: Json };

const numbers = (v: Json | undefined): number[] => (Array.isArray(v) ? v.filter((x) => typeof x === "number") : []);
const unitOf = (visit: RecordState) => asText(instrumentOf(visit)["unit"]);

function discsOf(finding: Finding): Doc[] {
  const list = asObject(finding["burst"])["discs"];
  return Array.isArray(list) ? list.map(asObject) : [];
}

/** bounds gives the pressures between which a disc may burst. */
function bounds(finding: Finding): readonly [number, number] | undefined {
  const b = asObject(finding["burst"]);
  const marked = asNumber(b["marked"]);
  const tolerance = asNumber(b["tolerance"]);
  return marked === undefined || tolerance === undefined ? undefined : [marked - tolerance, marked + tolerance];
}

function Off({ disc, finding, unit }: { disc: Doc; finding: Finding; unit: string }) {
  const deviation = asNumber(disc["deviation"]);
  const percent = asNumber(disc["deviation_percent"]);
  const band = bounds(finding);
  return (
    <>
      {deviation === undefined ? null : <p>{w.off(`${shown(deviation)} ${unit}`, showDecimal(Number((percent ?? 0).toPrecision(3))))}</p>}
      {band ? <p class="quiet">{w.allowed(shown(band[0]), `${shown(band[1])} ${unit}`)}</p> : null}
      {disc["saturated"] === true ? <p class="caution">{w.full}</p> : null}
    </>
  );
}

/** Live is the peak as it is typed, against the marked pressure. */
const Live: NonNullable<Kind["Live"]> = ({ visit, step, finding }) => {
  const disc = discsOf(finding).find((d) => asText(d["step"]) === step.id);
  const peak = asNumber(disc?.["peak"]);
  if (!disc || peak === undefined) return null;
  const unit = unitOf(visit);
  return (
    <div class="decision" role="status">
      <p>
        {w.now} <strong>{`${shown(peak)} ${unit}`}</strong> {isVerdict(disc["verdict"]) ? <Mark verdict={disc["verdict"]} /> : null}
      </p>
      <Off disc={disc} finding={finding} unit={unit} />
    </div>
  );
};

function Disc({ disc, at: place, finding, unit }: { disc: Doc; at: number; finding: Finding; unit: string }) {
  const t = numbers(disc["t_s"]);
  const peak = asNumber(disc["peak"]);
  const name = w.disc(place, asText(disc["identity"]));
  const at = asNumber(disc["peak_t_s"]);
  const drop = asNumber(disc["drop_t_s"]);
  const p = numbers(disc["p"]);
  const raw = asNumber(disc["raw_maximum"]);
  const u = asNumber(disc["u_sampling"]);
  const lag = asNumber(disc["lag_error"]);
  const fallen = drop === undefined ? -1 : t.findIndex((x) => x >= drop);
  return (
    <section aria-label={name}>
      <h3>{name}</h3>
      <p>
        {isVerdict(disc["verdict"]) ? <Mark verdict={disc["verdict"]} /> : null} <strong>{peak === undefined ? "" : `${shown(peak)} ${unit}`}</strong>{" "}
        <span class="quiet">{asText(disc["reason"])}</span>
      </p>
      <Off disc={disc} finding={finding} unit={unit} />
      {disc["burst"] === false ? <p class="caution">{w.none}</p> : null}
      {raw !== undefined && peak !== undefined && raw > peak ? <p>{w.spike(`${shown(raw)} ${unit}`)}</p> : null}
      {u !== undefined && u > 0 ? <p class="quiet">{w.sampling(`${shown(u)} ${unit}`, lag !== undefined && lag > 0 ? `${shown(lag)} ${unit}` : "")}</p> : null}
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

/** Strip shows the discs of a lot on a line of pressure, with what is allowed. */
function Strip({ discs, finding, unit }: { discs: Doc[]; finding: Finding; unit: string }) {
  const peaks = discs.flatMap((d) => asNumber(d["peak"]) ?? []);
  const band = bounds(finding);
  const all = [...peaks, ...(band ?? [])];
  if (peaks.length < 2) return null;
  const low = Math.min(...all);
  const wide = Math.max(...all) - low || 1;
  const x = (p: number) => 24 + ((p - low) / wide) * (width - 48);
  return (
    <svg class="chart" viewBox={`0 0 ${width} 66`} role="img" aria-label={`${w.strip(peaks.length)}: ${peaks.map((p) => `${shown(p)} ${unit}`).join(", ")}`}>
      {band ? <rect class="band" x={x(band[0])} width={Math.max(2, x(band[1]) - x(band[0]))} y="6" height="34" /> : null}
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
  const b = asObject(finding["burst"]);
  const discs = discsOf(finding);
  const lot = asText(b["lot"]);
  return (
    <>
      {lot === "" ? null : <p>{w.lot(lot)}</p>}
      {asText(b["sentence"]) === "" ? null : <p>{asText(b["sentence"])}</p>}
      <Strip discs={discs} finding={finding} unit={unit} />
      {discs.map((disc, i) => (
        <Disc key={asText(disc["step"])} disc={disc} at={i + 1} finding={finding} unit={unit} />
      ))}
    </>
  );
};

/** What a burst test shows of its own. */
export const kind: Kind = { Live, Result };
