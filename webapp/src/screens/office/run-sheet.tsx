import { findingOf } from "../../records/finding";
import { BandChart } from "../../parts/band-chart";
import { Later } from "../../parts/later";
import { isVerdict, Mark } from "../../parts/mark";
import { readField } from "../../wire/read";
import { asNumber, object, type RecordState, text, value } from "../../wire/records";
import { officeWords } from "../../words/office";
import { visitWords } from "../../words/visit";
import { sentence, showDecimal, showTime } from "../../words/words";
import { expandedOf } from "../../records/budget";
import { loadResults, loadWarnings } from "../../views/later";
import { OpenedBudget } from "../../views/opened";
import { Readings } from "../../views/readings";
import { stepsOf } from "../../records/run";
import { readingsOf } from "../../records/sheet";
import { type Typed, typedOf } from "../../records/office";

const w = officeWords.run;
const r = visitWords.result;

/** said writes what was captured: a number with its unit, or a text as it is. */
function said(c: Typed): string {
  return c.of === "answer" || c.of === "trace" ? c.value : `${showDecimal(c.value)} ${c.unit}`;
}

function Captures({ run, people }: { run: RecordState; people: { [id: string]: string } }) {
  const typed = typedOf(run);
  const steps = new Map(stepsOf(value(run, "plan")).map((s) => [s.id, s]));
  if (typed.length === 0) return <p class="quiet">{w.noCaptures}</p>;
  return (
    <details open={typed.some((c) => c.replacedBy !== "")}>
      <summary>{`${w.captures} (${typed.length})`}</summary>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard */}
      <section class="wide-table" tabIndex={0} aria-label={w.captures}>
        <table>
          <thead>
            <tr>
              <th scope="col">{w.step}</th>
              <th scope="col">{w.what}</th>
              <th scope="col" class="number">
                {w.reading}
              </th>
              <th scope="col">{w.at}</th>
              <th scope="col">{w.by}</th>
              <th scope="col">{w.stands}</th>
            </tr>
          </thead>
          <tbody>
            {typed.map((c) => {
              const step = steps.get(c.step);
              return (
                <tr key={c.id} class={c.replacedBy === "" ? undefined : "gone"}>
                  <td>
                    {step && step.target !== ""
                      ? `${showDecimal(step.target)} ${step.unit} ${w.direction[step.direction] ?? ""}`
                      : step?.text || c.step}
                  </td>
                  <td>{w.of[c.of] ?? c.of}</td>
                  <td class="number">{c.replacedBy === "" ? said(c) : <s>{said(c)}</s>}</td>
                  <td class="number">{showTime(c.at)}</td>
                  <td>{people[c.by] ?? c.by}</td>
                  <td>
                    {c.replacedBy === "" ? (c.corrects === "" ? "" : w.corrects(c.reason)) : w.replaced(c.reason)}
                  </td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </section>
    </details>
  );
}

/**
 * RunSheet shows a whole run: the verdict, the chart with its uncertainty, the readings, and
 * everything that was typed.
 */
export function RunSheet({
  visit,
  run,
  people,
}: {
  visit: RecordState;
  run: RecordState;
  people: { [id: string]: string };
}) {
  const finding = object(run, "finding");
  const { gauge, verdict, reason, complete, warnings } = findingOf(finding, "gauge");
  const { results } = findingOf(finding, "leak"); // every kind of work except the gauge's has them
  const signal = gauge?.output_unit ?? "";
  const { low, high, unit } = readField("visit", visit, "item").range;
  const readings = readingsOf(finding);
  const expanded = expandedOf(finding);
  const label = visitWords.run.label[text(run, "label")] ?? text(run, "label");
  const stopped = readField("run", run, "closed").stopped;
  return (
    <section class="run-sheet" aria-label={r.title(label)}>
      <h2>{r.title(label)}</h2>
      <p>
        {isVerdict(verdict) ? <Mark verdict={verdict} large /> : <span class="quiet">{w.noFinding}</span>}{" "}
        <span class="quiet">{sentence(reason ?? "")}</span>
      </p>
      {value(run, "closed") === undefined ? <p>{w.open}</p> : null}
      {stopped === "" ? null : <p>{w.stopped(stopped)}</p>}
      {readings.length > 0 && complete !== true ? <p>{w.notWhole}</p> : null}
      {readings.length > 0 ? (
        <div class="run-result">
          <BandChart
            points={readings.map((x) => ({
              applied: x.applied,
              error: x.error,
              direction: x.direction === "down" ? "down" : "up",
              uncertainty: expanded.get(Number(x.point)),
            }))}
            limits={readings.map((x) => ({ applied: x.applied, low: x.low, high: x.high }))}
            low={asNumber(low) ?? 0}
            high={asNumber(high) ?? 1}
            unit={unit}
            errorUnit={signal || unit}
          />
          <Readings label={label} readings={readings} expanded={expanded} unit={unit} signal={signal || unit} />
        </div>
      ) : null}
      {results ? <Later key={run.id} load={loadResults} props={{ visit, run, finding }} /> : null}
      {warnings?.[0] ? <Later key={`${run.id} warnings`} load={loadWarnings} props={{ finding }} /> : null}
      {expanded.size > 0 ? <OpenedBudget visit={visit} run={run} /> : null}
      <Captures run={run} people={people} />
    </section>
  );
}
