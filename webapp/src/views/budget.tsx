import { findingOf } from "../records/finding";
import { useState } from "preact/hooks";
import { useCalc } from "../nav/use-calc";
import { readField } from "../wire/read";
import { type Json, object, type RecordState, value } from "../wire/records";
import { budgetWords } from "../words/budget";
import { showDecimal } from "../words/words";
import { budgetsOf, type Line, type PointBudget, showShare, showSmall, showTo } from "../records/budget";

const w = budgetWords;
const c = w.corrections;

function Terms({ lines, unit, label }: { lines: Line[]; unit: string; label: string }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="wide-table budget" tabIndex={0} aria-label={label}>
      <table>
        <thead>
          <tr>
            <th scope="col">{w.columns.name}</th>
            <th scope="col" class="number">{`${w.columns.value}, ${unit}`}</th>
            <th scope="col">{w.columns.shape}</th>
            <th scope="col" class="number">
              {w.columns.sensitivity}
            </th>
            <th scope="col" class="number">{`${w.columns.contribution}, ${unit}`}</th>
            <th scope="col" class="number">
              {w.columns.share}
            </th>
            <th scope="col">{w.columns.from}</th>
          </tr>
        </thead>
        <tbody>
          {lines.map((l) => (
            <tr key={l.term}>
              <th scope="row">{w.terms[l.term] ?? l.term}</th>
              <td class="number">{showSmall(l.value)}</td>
              <td>{`${w.shapes[l.shape] ?? l.shape}, ${showTo(l.divisor, 3)}`}</td>
              <td class="number">{showTo(l.sensitivity, 3)}</td>
              <td class="number">{showSmall(l.contribution)}</td>
              <td class="number">
                <span class="share" style={{ "--share": String(l.share) }}>
                  {showShare(l.share)}
                </span>
              </td>
              <td class="small">{w.from(l.from)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Point({ budget: p, unit, signal }: { budget: PointBudget; unit: string; signal: string }) {
  const facts = [
    w.sum(`${showSmall(p.expanded)} ${signal}`, showTo(p.k, 3)),
    p.dof === undefined ? "" : w.dof(showTo(p.dof, 2)),
    p.ratio === undefined ? "" : w.ratio(showSmall(p.ratio)),
    p.probability === undefined ? "" : w.probability(showShare(p.probability)),
    p.risk === undefined ? "" : w.risk(showShare(p.risk)),
  ].filter((t) => t !== "");
  const name = w.point(`${showDecimal(p.point)} ${unit}`);
  return (
    <>
      <h3>{name}</h3>
      <p>{facts.join("; ")}</p>
      <Terms lines={p.lines} unit={signal} label={name} />
    </>
  );
}

/** Corrections shows the corrections of the typed pressures, with their size, each once. */
function Corrections({ finding, unit }: { finding: { [name: string]: Json }; unit: string }) {
  const { air_density_kg_m3: air, temperature_allowance_percent: wider } = findingOf(finding, "gauge").gauge ?? {};
  const done = useCalc("corrections", { finding, unit });
  if (!done) return null;
  const { points: moved, split, head: one, head_low: low, head_high: high } = done;
  const signed = (x: number) => `${x > 0 ? "+" : ""}${showTo(x, 4)}`;
  const size = (x: number) => `${signed(x)} ${unit}`;
  const notes = [
    one === undefined ? "" : c.head(size(one)),
    low === undefined || high === undefined ? "" : c.headBetween(size(low), size(high)),
    one === undefined && low === undefined ? "" : air === undefined ? c.noAir : c.air(showTo(air, 4)),
    wider === undefined || wider === 0 ? "" : c.temperature(showSmall(wider)),
  ].filter((t) => t !== "");
  return (
    <>
      <h3>{w.sizes}</h3>
      {notes.length === 0 && moved.length === 0 ? <p>{c.none}</p> : <p class="small quiet">{c.once}</p>}
      {notes.map((t) => (
        <p key={t}>{t}</p>
      ))}
      {moved.length === 0 ? null : (
        // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
        <section class="wide-table" tabIndex={0} aria-label={w.sizes}>
          <table>
            <thead>
              <tr>
                <th scope="col" class="number">
                  {c.typed}
                </th>
                <th scope="col" class="number">{`${c.judged}, ${unit}`}</th>
                <th scope="col" class="number">{`${c.difference}, ${unit}`}</th>
                {split ? (
                  <>
                    <th scope="col" class="number">
                      {c.ofHead}
                    </th>
                    <th scope="col" class="number">
                      {c.ofCertificate}
                    </th>
                  </>
                ) : null}
              </tr>
            </thead>
            <tbody>
              {moved.map((m) => (
                <tr key={m.point}>
                  <td class="number">{showDecimal(m.typed)}</td>
                  <td class="number">{showTo(m.judged, 7)}</td>
                  <td class="number">{signed(m.total)}</td>
                  {split ? (
                    <>
                      <td class="number">{signed(m.level)}</td>
                      <td class="number">{signed(m.certificate)}</td>
                    </>
                  ) : null}
                </tr>
              ))}
            </tbody>
          </table>
        </section>
      )}
    </>
  );
}

/**
 * Budget shows line by line where the uncertainty of each point comes from, and what was corrected.
 */
export function Budget({ visit, run }: { visit: RecordState; run: RecordState }) {
  const finding = object(run, "finding");
  const { unit } = readField("visit", visit, "item").range;
  const { gauge } = findingOf(finding, "gauge");
  const signal = gauge?.output_unit || unit;
  const budgets = budgetsOf(finding);
  const worst = budgets.reduce<PointBudget | undefined>(
    (a, b) => (a === undefined || (b.ratio ?? 1e9) < (a.ratio ?? 1e9) ? b : a),
    undefined,
  );
  const [chosen, choose] = useState(worst?.point);
  const it = budgets.find((p) => p.point === chosen);
  const risk = gauge?.decision?.risk_at_limit;
  if (value(run, "finding") === undefined) return null;
  return (
    <div class="budgets">
      {budgets.length === 0 ? <p>{w.none}</p> : null}
      {budgets.length > 1 ? (
        <fieldset class="choice points">
          <legend>{`${w.open}, ${unit}`}</legend>
          {budgets.map((p) => (
            <label key={p.point} class={p.point === chosen ? "chosen" : ""}>
              <input
                type="radio"
                name={`budget ${run.id}`}
                checked={p.point === chosen}
                onChange={() => choose(p.point)}
              />
              <span>{showDecimal(p.point)}</span>
            </label>
          ))}
        </fieldset>
      ) : null}
      {it ? <Point budget={it} unit={unit} signal={signal} /> : null}
      {risk === undefined ? null : <p>{w.riskAtLimit(showShare(risk))}</p>}
      <Corrections finding={finding} unit={unit} />
    </div>
  );
}
