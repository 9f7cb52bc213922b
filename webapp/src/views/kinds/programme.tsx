import { TraceChart } from "../../parts/trace-chart";
import { asNumber, asObject, asText, type Json, type RecordState } from "../../wire/records";
import { because } from "../../words/course";
import { useCourse } from "../steps";
import type { Finding, Kind } from "./kind";
import { wayWords } from "../../words/way";
import { sentence } from "../../words/words";

const list = (v: Json | undefined) => (Array.isArray(v) ? v.map(asObject) : []);

function Reasons({ reasons, flags }: { reasons: string[]; flags: string[] }) {
  return (
    <>
      <ol class="small">
        {reasons.map((r, i) => (
          <li key={i}>{r}</li>
        ))}
      </ol>
      {flags.map((f, i) => (
        <p key={i} class="caution small">
          {f}
        </p>
      ))}
    </>
  );
}

/** Way tells how the run came to where it is. */
function Way({ visit, run, brief }: { visit: RecordState; run: RecordState; brief: boolean }) {
  const course = useCourse(run, visit);
  if (brief || !course || course.reasons.length + course.flags.length === 0) return null;
  return (
    <details class="way">
      <summary>{wayWords.way(course.reasons.length, course.flags.length)}</summary>
      <Reasons reasons={course.reasons} flags={course.flags} />
    </details>
  );
}

/** pointsOf gives the readings of a finding that have a moment, in the unit of the programme. */
export function pointsOf(finding: Finding): {
  t: number[];
  p: number[];
  unit: string;
  out: { t: number; p: number; name: string }[];
} {
  const own = asObject(finding["programme"]);
  const unit = asText(own["unit"]);
  const reads = list(own["reads"]).filter((r) => asText(r["unit"]) === unit && asNumber(r["t_s"]) !== undefined);
  reads.sort((a, b) => (asNumber(a["t_s"]) ?? 0) - (asNumber(b["t_s"]) ?? 0));
  const at = (r: { [name: string]: Json }) => ({
    t: asNumber(r["t_s"]) ?? 0,
    p: asNumber(r["value"]) ?? 0,
    name: asText(r["name"]),
  });
  return {
    t: reads.map((r) => at(r).t),
    p: reads.map((r) => at(r).p),
    unit,
    out: reads.filter((r) => r["verdict"] === "fail").map(at),
  };
}

function Result({ finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  const own = asObject(finding["programme"]);
  const points = pointsOf(finding);
  const reasons = list(own["branches"]).map((b) => because(asText(b["reason"]), asText(b["taken"])));
  return (
    <>
      {points.t.length > 1 ? (
        <TraceChart t={points.t} p={points.p} unit={points.unit} label={wayWords.chart} marks={points.out} dots />
      ) : null}
      {asText(own["stop"]) === "" ? null : <p class="caution">{wayWords.stopped(sentence(asText(own["stop"])))}</p>}
      {reasons.length === 0 ? null : <Reasons reasons={reasons} flags={[]} />}
    </>
  );
}

export const kind: Kind = { Result, Aside: Way };
