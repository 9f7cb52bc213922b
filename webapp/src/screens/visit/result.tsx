import { BandChart } from "../../parts/band-chart";
import { Later } from "../../parts/later";
import { isVerdict, Mark } from "../../parts/mark";
import { readField } from "../../wire/read";
import { asNumber, asObject, asText, type Json, object, type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { expandedOf, showTo } from "../../records/budget";
import { loadResults, loadWarnings } from "../../views/later";
import { OpenedBudget } from "../../views/opened";
import { Readings } from "../../views/readings";
import { readingsOf } from "../../records/sheet";
import { sentence } from "../../words/words";

const w = visitWords.result;

/** ends writes the errors of zero and span of a transmitter. */
function ends(s: { [name: string]: Json }, unit: string): string {
  const said = (name: string) =>
    `${showTo(asNumber(s[name]) ?? 0, 3)} ${unit}, ${showTo(asNumber(s[`${name}_percent`]) ?? 0, 3)} %`;
  return w.ends(said("zero"), said("span"));
}

/** Result shows a closed run: the word, the chart, the table. */
export function Result({ visit, run }: { visit: RecordState; run: RecordState }) {
  const finding = object(run, "finding");
  const { low, high, unit } = readField("visit", visit, "item").range;
  const gauge = asObject(finding["gauge"]);
  const signal = asText(gauge["output_unit"]);
  const readings = readingsOf(finding);
  const expanded = expandedOf(finding);
  const stopped = asText(object(run, "closed")["stopped"]);
  const label = visitWords.run.label[text(run, "label")] ?? text(run, "label");
  return (
    <section aria-label={w.title(label)}>
      <h2>{w.title(label)}</h2>
      {isVerdict(finding["verdict"]) ? (
        <p>
          <Mark verdict={finding["verdict"]} large /> <span class="quiet">{sentence(asText(finding["reason"]))}</span>
        </p>
      ) : null}
      {finding["complete"] === true ? null : <p>{w.incomplete}</p>}
      {stopped ? <p>{w.stopped(stopped)}</p> : null}
      {Array.isArray(finding["results"]) ? (
        <Later key={run.id} load={loadResults} props={{ visit, run, finding }} />
      ) : null}
      {readings.length > 0 && !Array.isArray(finding["results"]) ? (
        <>
          <BandChart
            points={readings.map((r) => ({
              applied: r.applied,
              error: r.error,
              direction: r.direction === "down" ? "down" : "up",
              uncertainty: expanded.get(Number(r.point)),
            }))}
            limits={readings.map((r) => ({ applied: r.applied, low: r.low, high: r.high }))}
            low={asNumber(low) ?? 0}
            high={asNumber(high) ?? 1}
            unit={unit}
            errorUnit={signal || unit}
          />
          <Readings label={label} readings={readings} expanded={expanded} unit={unit} signal={signal || unit} />
          {gauge["signal"] === undefined ? null : <p>{ends(asObject(gauge["signal"]), signal)}</p>}
          <OpenedBudget visit={visit} run={run} />
        </>
      ) : null}
      {(finding["warnings"] as Json[] | undefined)?.[0] ? (
        <Later key={`${run.id} warnings`} load={loadWarnings} props={{ finding }} />
      ) : null}
    </section>
  );
}
