import { CycleChart } from "../../../parts/cycle-chart";
import { isVerdict, Mark } from "../../../parts/mark";
import { TraceChart } from "../../../parts/trace-chart";
import { asNumber, asObject, asText, type Json, type RecordState } from "../../../wire/records";
import { systemsWords } from "../../../words/systems";
import { rounded, shown } from "../figures";
import { instrumentOf } from "../sheet";
import type { Finding, Kind } from "./kind";

const w = systemsWords.switch;

type Doc = { [name: string]: Json };

const objects = (v: Json | undefined): Doc[] => (Array.isArray(v) ? v.map(asObject) : []);
const numbers = (v: Json | undefined): number[] => (Array.isArray(v) ? v.filter((x) => typeof x === "number") : []);

function contactsOf(finding: Finding): Doc[] {
  return objects(asObject(finding["switch"])["contacts"]);
}

const cyclesOf = (contact: Doc) =>
  objects(contact["cycles"]).map((c) => ({ set: asNumber(c["set"]), reset: asNumber(c["reset"]), band: asNumber(c["dead_band"]) }));

const unitOf = (visit: RecordState) => asText(instrumentOf(visit)["unit"]);

function Cycles({ contact, unit }: { contact: Doc; unit: string }) {
  const cycles = cyclesOf(contact);
  const name = asText(contact["name"]);
  if (cycles.length === 0) return null;
  const nominal = asNumber(contact["nominal"]);
  const tolerance = asNumber(contact["tolerance"]);
  const list = (of: "set" | "reset") => cycles.flatMap((c) => (c[of] === undefined ? [] : [`${shown(c[of])} ${unit}`])).join(", ");
  const cell = (v: number | undefined) => (v === undefined ? "" : shown(v));
  return (
    <>
      <CycleChart
        cycles={cycles}
        band={nominal === undefined || tolerance === undefined ? undefined : [nominal - tolerance, nominal + tolerance]}
        unit={unit}
        label={w.chart(name, list("set"), list("reset"))}
      />
      <p class="quiet small">{w.legend}</p>
      <table aria-label={w.table(name)}>
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

/** Live is the cycles of a contact as they come. */
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

/** A deviation below this share of the mean comes of the arithmetic, not of the switch. */
const rounding = 1e-12;

function Statistics({ contact, unit }: { contact: Doc; unit: string }) {
  const first = asNumber(contact["first_set"]);
  const apart = asNumber(contact["first_apart"]);
  return (
    <>
      {(["set", "reset", "dead_band"] as const).map((name) => {
        const s = asObject(contact[name]);
        const at = (of: string) => asNumber(s[of]);
        if (at("mean") === undefined) return null;
        const mean = at("mean") ?? 0;
        const real = (v: number | undefined) => (Math.abs(v ?? 0) < Math.abs(mean) * rounding ? 0 : (v ?? 0)); // what differs by rounding alone does not differ
        const sd = at("sd");
        const of = (v: number | undefined) => `${shown(real(v))} ${unit}`;
        return (
          <p key={name}>
            {w.statistics(name === "dead_band" ? w.band : w[name], of(at("mean")), of(at("min")), of(at("max")))}
            {sd === undefined ? "" : `, ${w.deviation(of(sd))}`}
          </p>
        );
      })}
      {apart === undefined && first !== undefined ? <p>{w.first(`${shown(first)} ${unit}`)}</p> : null}
      {apart === undefined ? null : <p>{w.firstApart(`${shown(rounded(apart, { size: first }))} ${unit}`)}</p>}
    </>
  );
}

const Result: NonNullable<Kind["Result"]> = ({ visit, finding }) => {
  const unit = unitOf(visit);
  return (
    <>
      {asObject(finding["switch"])["locked"] === true ? <p class="caution">{w.locked}</p> : null}
      {contactsOf(finding).map((contact) => {
        const name = asText(contact["name"]);
        const t = numbers(contact["t_s"]);
        const safe = asText(contact["safe"]);
        return (
          <section key={name} aria-label={name}>
            <h3>{name}</h3>
            <p>
              {isVerdict(contact["verdict"]) ? <Mark verdict={contact["verdict"]} /> : null} <span class="quiet">{asText(contact["reason"])}</span>
            </p>
            <p class="quiet">{[w.acts[asText(contact["acts"])] ?? "", safe === "" ? "" : w.safe(safe)].filter((s) => s !== "").join(". ")}</p>
            <Cycles contact={contact} unit={unit} />
            <Statistics contact={contact} unit={unit} />
            {t.length > 1 ? (
              <TraceChart
                t={t}
                p={numbers(contact["p"])}
                unit={unit}
                label={w.trace(name)}
                marks={objects(contact["transitions"]).map((x) => ({
                  t: asNumber(x["t_s"]) ?? 0,
                  p: asNumber(x["p_mid"]) ?? 0,
                  name: asNumber(x["to"]) === 1 ? w.set : w.reset,
                }))}
              />
            ) : null}
          </section>
        );
      })}
    </>
  );
};

/** What a switch test shows of its own. */
export const kind: Kind = { Live, Result };
