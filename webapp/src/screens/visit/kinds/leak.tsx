import { isVerdict, Mark } from "../../../parts/mark";
import { type Place, TraceChart } from "../../../parts/trace-chart";
import { asNumber, asObject, asText, type Json } from "../../../wire/records";
import { systemsWords } from "../../../words/systems";
import { visitWords } from "../../../words/visit";
import { shown } from "../figures";
import type { Finding, Kind } from "./kind";

const w = systemsWords.leak;

type Doc = { [name: string]: Json };

const numbers = (v: Json | undefined): number[] => (Array.isArray(v) ? v.filter((x) => typeof x === "number") : []);

function phasesOf(finding: Finding): Doc[] {
  const list = asObject(finding["leak"])["phases"];
  return Array.isArray(list) ? list.map(asObject) : [];
}

function line(phase: Doc): readonly [Place, Place] | undefined {
  const l = asObject(phase["line"]);
  const [a, b] = numbers(l["t_s"]);
  const [p, q] = numbers(l["p"]);
  return a === undefined || b === undefined || p === undefined || q === undefined
    ? undefined
    : [
        { t: a, p },
        { t: b, p: q },
      ];
}

/** few writes a rate with the three figures that its uncertainty lets stand. */
const few = (n: number | undefined) => shown(Number((n ?? 0).toPrecision(3)));

/** rateOf writes a phase's rate in the unit in which it is judged. */
function rateOf(phase: Doc): { rate: string; expanded: string; unit: string } {
  const flow = asNumber(phase["rate_pa_m3_s"]);
  const unit = asText(phase["unit_of_limit"]) || (flow === undefined ? "Pa/s" : "Pa\u00b7m\u00b3/s");
  const value = unit.startsWith("Pa/s") ? asNumber(phase["rate_pa_s"]) : (flow ?? asNumber(phase["rate_pa_s"]));
  return { rate: `${few(value)} ${unit}`, expanded: `${few(asNumber(phase["expanded"]))} ${unit}`, unit };
}

function Drawing({ phase }: { phase: Doc }) {
  const t = numbers(phase["t_s"]);
  const p = numbers(phase["p"]);
  if (t.length < 2) return null;
  const name = asText(phase["name"]) || asText(phase["phase"]);
  return (
    <TraceChart
      t={t}
      p={p}
      unit={asText(phase["unit"])}
      line={line(phase)}
      dots={t.length <= 60}
      label={w.chart(name, asNumber(phase["n"]) ?? t.length, rateOf(phase).rate)}
    />
  );
}

/** Live says after each reading whether the verdict is certain already, how long it takes if not, and what limits it. */
const Live: NonNullable<Kind["Live"]> = ({ step, finding }) => {
  const phase = phasesOf(finding).find((p) => asText(p["step"]) === step.id);
  if (!phase || (asNumber(phase["n"]) ?? 0) < 3) return <p class="quiet decision">{w.more}</p>;
  const live = asObject(phase["live"]);
  const needed = asNumber(live["needed_s"]);
  const by = w.by[asText(live["limited_by"])];
  const rate = rateOf(phase);
  const verdict = asText(live["verdict"]);
  return (
    <div class="decision">
      <p role="status">
        {w.now}:{" "}
        <strong>
          {live["certain_now"] === true
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

function Facts({ phase }: { phase: Doc }) {
  const rate = rateOf(phase);
  const at = (name: string) => asNumber(phase[name]);
  const limit = at("limit");
  const others = [
    ["rate_pa_s", "Pa/s"],
    ["rate_pa_m3_s", "Pa\u00b7m\u00b3/s"],
    ["mbar_l_s", "mbar\u00b7L/s"],
    ["sccm", "sccm"],
    ["mol_s", "mol/s"],
  ].flatMap(([name, unit]) => (at(name ?? "") === undefined || unit === rate.unit ? [] : [`${few(at(name ?? ""))} ${unit}`]));
  const rows: [string, string][] = [
    [`${w.facts.rate}, ${asText(phase["mode"]) === "rise" ? w.rise : w.decay}`, rate.rate],
    [w.facts.expanded, rate.expanded],
    ...(limit === undefined ? [] : [[w.facts.limit, `${shown(limit)} ${rate.unit}`] as [string, string]]),
    ...(at("detection_limit") === undefined ? [] : [[w.facts.detection, `${few(at("detection_limit"))} ${rate.unit}`] as [string, string]]),
    ...(["start", "end"] as const).flatMap((name) =>
      at(name) === undefined ? [] : [[w.facts[name], `${shown(at(name) ?? 0)} ${asText(phase["unit"])}`] as [string, string]],
    ),
    ...(others.length === 0 ? [] : [[w.facts.others, others.join(" = ")] as [string, string]]),
  ];
  return <dl class="facts">{rows.flatMap(([name, value]) => [<dt key={`${name} name`}>{name}</dt>, <dd key={name}>{value}</dd>])}</dl>;
}

const Result: NonNullable<Kind["Result"]> = ({ finding }) => (
  <>
    {phasesOf(finding).map((phase) => (
      <section key={asText(phase["step"])} aria-label={asText(phase["name"])}>
        <h3>{asText(phase["name"]) || asText(phase["phase"])}</h3>
        {isVerdict(phase["verdict"]) ? (
          <p>
            <Mark verdict={phase["verdict"]} /> <span class="quiet">{asText(phase["reason"])}</span>
          </p>
        ) : null}
        <Drawing phase={phase} />
        <Facts phase={phase} />
      </section>
    ))}
  </>
);

/** What a leak test shows of its own. */
export const kind: Kind = { Live, Result };
