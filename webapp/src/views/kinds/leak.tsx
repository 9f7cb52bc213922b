import { isVerdict, Mark } from "../../parts/mark";
import { type Place, TraceChart } from "../../parts/trace-chart";
import { systemsWords } from "../../words/systems";
import { visitWords } from "../../words/visit";
import { type FindingOf, findingOf } from "../../records/finding";
import { shown } from "../../records/figures";
import type { Finding, Kind } from "./kind";
import { sentence } from "../../words/words";

const w = systemsWords.leak;

type Phase = NonNullable<NonNullable<FindingOf<"leak">["leak"]>["phases"]>[number];

const phasesOf = (finding: Finding): Phase[] => findingOf(finding, "leak").leak?.phases ?? [];

function line(phase: Phase): readonly [Place, Place] | undefined {
  const [a, b] = phase.line?.t_s ?? [];
  const [p, q] = phase.line?.p ?? [];
  return a === undefined || b === undefined || p === undefined || q === undefined
    ? undefined
    : [
        { t: a, p },
        { t: b, p: q },
      ];
}

/** few writes a rate with three digits, which its uncertainty justifies. */
const few = (n: number | undefined) => shown(Number((n ?? 0).toPrecision(3)));

/** rateOf writes a phase's rate in the unit of its limit. */
function rateOf(phase: Phase): { rate: string; expanded: string; unit: string } {
  const flow = phase.rate_pa_m3_s;
  const unit = phase.unit_of_limit || (flow === undefined ? "Pa/s" : "Pa\u00b7m\u00b3/s");
  const value = unit.startsWith("Pa/s") ? phase.rate_pa_s : (flow ?? phase.rate_pa_s);
  return { rate: `${few(value)} ${unit}`, expanded: `${few(phase.expanded)} ${unit}`, unit };
}

const nameOf = (phase: Phase) => phase.name || (phase.phase ?? "");

function Drawing({ phase }: { phase: Phase }) {
  const { t_s: t = [], p = [] } = phase;
  if (t.length < 2) return null;
  const name = nameOf(phase);
  return (
    <TraceChart
      t={t}
      p={p}
      unit={phase.unit ?? ""}
      line={line(phase)}
      dots={t.length <= 60}
      label={w.chart(name, phase.n ?? t.length, rateOf(phase).rate)}
    />
  );
}

/**
 * Live says after each reading whether the verdict is certain already, how long it takes if not,
 * and what limits it.
 */
const Live: NonNullable<Kind["Live"]> = ({ step, finding }) => {
  const phase = phasesOf(finding).find((p) => p.step === step.id);
  if (!phase || (phase.n ?? 0) < 3) return <p class="quiet decision">{w.more}</p>;
  const { needed_s: needed, limited_by = "", verdict = "", certain_now } = phase.live ?? {};
  const by = w.by[limited_by];
  const rate = rateOf(phase);
  return (
    <div class="decision">
      <p role="status">
        {w.now}:{" "}
        <strong>
          {certain_now === true
            ? w.certain(systemsWords.verdicts[verdict] ?? verdict)
            : `${w.open}, ${needed === undefined ? w.never : w.wait(visitWords.seconds(Math.ceil(needed)))}`}
        </strong>
      </p>
      {by === undefined ? null : <p>{w.limits(by)}</p>}
      <p>{w.rate(rate.rate, rate.expanded)}</p>
      <Drawing phase={phase} />
    </div>
  );
};

function Facts({ phase }: { phase: Phase }) {
  const rate = rateOf(phase);
  const { limit, detection_limit: detection } = phase;
  const all: [number | undefined, string][] = [
    [phase.rate_pa_s, "Pa/s"],
    [phase.rate_pa_m3_s, "Pa\u00b7m\u00b3/s"],
    [phase.mbar_l_s, "mbar\u00b7L/s"],
    [phase.sccm, "sccm"],
    [phase.mol_s, "mol/s"],
  ];
  const others = all.flatMap(([value, unit]) =>
    value === undefined || unit === rate.unit ? [] : [`${few(value)} ${unit}`],
  );
  const rows: [string, string][] = [
    [`${w.facts.rate}, ${phase.mode === "rise" ? w.rise : w.decay}`, rate.rate],
    [w.facts.expanded, rate.expanded],
    ...(limit === undefined ? [] : [[w.facts.limit, `${shown(limit)} ${rate.unit}`] as [string, string]]),
    ...(detection === undefined ? [] : [[w.facts.detection, `${few(detection)} ${rate.unit}`] as [string, string]]),
    ...(["start", "end"] as const).flatMap((name) =>
      phase[name] === undefined
        ? []
        : [[w.facts[name], `${shown(phase[name] ?? 0)} ${phase.unit ?? ""}`] as [string, string]],
    ),
    ...(others.length === 0 ? [] : [[w.facts.others, others.join(" = ")] as [string, string]]),
  ];
  return (
    <dl class="facts">
      {rows.flatMap(([name, value]) => [<dt key={`${name} name`}>{name}</dt>, <dd key={name}>{value}</dd>])}
    </dl>
  );
}

const Result: NonNullable<Kind["Result"]> = ({ finding }) => (
  <>
    {phasesOf(finding).map((phase) => (
      <section key={phase.step} aria-label={phase.name ?? ""}>
        <h3>{nameOf(phase)}</h3>
        {isVerdict(phase.verdict) ? (
          <p>
            <Mark verdict={phase.verdict} /> <span class="quiet">{sentence(phase.reason ?? "")}</span>
          </p>
        ) : null}
        <Drawing phase={phase} />
        <Facts phase={phase} />
      </section>
    ))}
  </>
);

/** The parts that a leak test shows itself. */
export const kind: Kind = { Live, Result };
