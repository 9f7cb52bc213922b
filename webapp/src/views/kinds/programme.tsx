import { findingOf } from "../../records/finding";
import { TraceChart } from "../../parts/trace-chart";
import type { RecordState } from "../../wire/records";
import { because } from "../../words/course";
import { useCourse } from "../steps";
import type { Finding, Kind } from "./kind";
import { wayWords } from "../../words/way";
import { sentence } from "../../words/words";

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

/** Way shows how the run came to its present step. */
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

/** pointsOf gives the readings of a finding that have a time, in the unit of the programme. */
export function pointsOf(finding: Finding): {
  t: number[];
  p: number[];
  unit: string;
  out: { t: number; p: number; name: string }[];
} {
  const { unit = "", reads = [] } = findingOf(finding, "programme").programme ?? {};
  const timed = reads
    .flatMap((r) =>
      r.unit === unit && r.t_s !== undefined
        ? [{ t: r.t_s, p: r.value ?? 0, name: r.name ?? "", failed: r.verdict === "fail" }]
        : [],
    )
    .sort((a, b) => a.t - b.t);
  return {
    t: timed.map((r) => r.t),
    p: timed.map((r) => r.p),
    unit,
    out: timed.flatMap(({ failed, ...at }) => (failed ? [at] : [])),
  };
}

function Result({ finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  const { branches = [], stop = "" } = findingOf(finding, "programme").programme ?? {};
  const points = pointsOf(finding);
  const reasons = branches.map((b) => because(b.reason ?? "", b.taken ?? ""));
  return (
    <>
      {points.t.length > 1 ? (
        <TraceChart t={points.t} p={points.p} unit={points.unit} label={wayWords.chart} marks={points.out} dots />
      ) : null}
      {stop === "" ? null : <p class="caution">{wayWords.stopped(sentence(stop))}</p>}
      {reasons.length === 0 ? null : <Reasons reasons={reasons} flags={[]} />}
    </>
  );
}

export const kind: Kind = { Result, Aside: Way };
