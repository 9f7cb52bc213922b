import { CycleChart } from "../../parts/cycle-chart";
import { isVerdict, Mark } from "../../parts/mark";
import { TraceChart } from "../../parts/trace-chart";
import { useCalc } from "../../nav/use-calc";
import { readField } from "../../wire/read";
import type { RecordState } from "../../wire/records";
import { systemsWords } from "../../words/systems";
import { sentence, showDecimal } from "../../words/words";
import { type FindingOf, findingOf } from "../../records/finding";
import { shown } from "../../records/figures";
import type { Finding, Kind } from "./kind";

const w = systemsWords.switch;

type Contact = NonNullable<NonNullable<FindingOf<"switch">["switch"]>["contacts"]>[number];

const contactsOf = (finding: Finding): Contact[] => findingOf(finding, "switch").switch?.contacts ?? [];

const cyclesOf = (contact: Contact) =>
  (contact.cycles ?? []).map((c) => ({ set: c.set, reset: c.reset, band: c.dead_band }));

const unitOf = (visit: RecordState) => readField("visit", visit, "item").range.unit;

function Cycles({ contact, unit }: { contact: Contact; unit: string }) {
  const cycles = cyclesOf(contact);
  const { name = "", limit_low: low, limit_high: high } = contact;
  if (cycles.length === 0) return null;
  const list = (of: "set" | "reset") =>
    cycles.flatMap((c) => (c[of] === undefined ? [] : [`${shown(c[of])} ${unit}`])).join(", ");
  const cell = (v: number | undefined) => (v === undefined ? "" : shown(v));
  return (
    <>
      <CycleChart
        cycles={cycles}
        band={low === undefined || high === undefined ? undefined : [low, high]}
        unit={unit}
        label={w.chart(name, list("set"), list("reset"))}
      />
      <p class="quiet small">{w.legend}</p>
      <table class="heads" aria-label={w.table(name)}>
        <thead>
          <tr>
            <th scope="col">{w.cycle}</th>
            <th scope="col" class="number">{`${w.set}, ${unit}`}</th>
            <th scope="col" class="number">{`${w.reset}, ${unit}`}</th>
            <th scope="col" class="number">
              {w.band}
            </th>
          </tr>
        </thead>
        <tbody>
          {cycles.map((c, i) => (
            <tr key={i}>
              <td>{i + 1}</td>
              <td class="number">{cell(c.set)}</td>
              <td class="number">{cell(c.reset)}</td>
              <td class="number">{cell(c.band)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}

/** Live shows the cycles of a contact as they come. */
const Live: NonNullable<Kind["Live"]> = ({ visit, step, finding }) => {
  const all = contactsOf(finding);
  const at = Number(/k(\d+)/.exec(step.id)?.[1] ?? "1") - 1;
  const contact = all[at] ?? all[0];
  return contact ? (
    <div class="decision" role="status">
      <Cycles contact={contact} unit={unitOf(visit)} />
    </div>
  ) : null;
};

const statistics = ["set", "reset", "dead_band"] as const;

/**
 * figuresOf lists the figures of a contact, each with the larger one of which it may be the noise.
 */
function figuresOf(contact: Contact): { value: number; size: number }[] {
  const { first_set: first = 0, first_apart: apart = 0 } = contact;
  return [
    ...statistics.flatMap((name) => {
      const { mean = 0, min = 0, max = 0, sd = 0 } = contact[name] ?? {};
      return [mean, min, max, sd].map((value) => ({ value, size: mean }));
    }),
    { value: first, size: first },
    { value: apart, size: first },
  ];
}

function Statistics({ contact, unit }: { contact: Contact; unit: string }) {
  const { first_set: first, first_apart: apart } = contact;
  const figures = useCalc("figures", { results: figuresOf(contact) });
  if (!figures) return null;
  const of = (i: number) => `${showDecimal(figures.results[i]?.value ?? "")} ${unit}`;
  return (
    <>
      {statistics.map((name, n) => {
        const { mean, sd } = contact[name] ?? {};
        if (mean === undefined) return null;
        return (
          <p key={name}>
            {w.statistics(name === "dead_band" ? w.band : w[name], of(4 * n), of(4 * n + 1), of(4 * n + 2))}
            {sd === undefined ? "" : `, ${w.deviation(of(4 * n + 3))}`}
          </p>
        );
      })}
      {contact.first_sticks !== true && first !== undefined ? <p>{w.first(of(12))}</p> : null}
      {apart === undefined || contact.first_sticks !== true ? null : <p>{w.firstApart(of(13))}</p>}
    </>
  );
}

const Result: NonNullable<Kind["Result"]> = ({ visit, finding }) => {
  const unit = unitOf(visit);
  return (
    <>
      {findingOf(finding, "switch").switch?.locked === true ? <p class="caution">{w.locked}</p> : null}
      {contactsOf(finding).map((contact) => {
        const { name = "", t_s: t = [], p = [], safe = "", acts = "" } = contact;
        return (
          <section key={name} aria-label={name}>
            <h3>{name}</h3>
            <p>
              {isVerdict(contact.verdict) ? <Mark verdict={contact.verdict} /> : null}{" "}
              <span class="quiet">{sentence(contact.reason ?? "")}</span>
            </p>
            <p class="quiet">
              {[w.acts[acts] ?? "", safe === "" ? "" : w.safe(safe)].filter((s) => s !== "").join(". ")}
            </p>
            <Cycles contact={contact} unit={unit} />
            <Statistics contact={contact} unit={unit} />
            {t.length > 1 ? (
              <TraceChart
                t={t}
                p={p}
                unit={unit}
                label={w.trace(name)}
                marks={(contact.transitions ?? []).map((x) => ({
                  t: x.t_s ?? 0,
                  p: x.p_mid ?? 0,
                  name: x.to === 1 ? w.set : w.reset,
                }))}
              />
            ) : null}
          </section>
        );
      })}
    </>
  );
};

/** The parts that a switch test shows itself. */
export const kind: Kind = { Live, Result };
