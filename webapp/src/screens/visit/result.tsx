import { findingOf, type FindingOf } from "../../records/finding";
import { BandChart } from "../../parts/band-chart";
import { Later } from "../../parts/later";
import { isVerdict, Mark } from "../../parts/mark";
import { readField } from "../../wire/read";
import { asNumber, object, type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { expandedOf, showTo } from "../../records/budget";
import { loadResults, loadWarnings } from "../../views/later";
import { OpenedBudget } from "../../views/opened";
import { Readings } from "../../views/readings";
import { readingsOf } from "../../records/sheet";
import { sentence } from "../../words/words";

const w = visitWords.result;

type Ends = NonNullable<NonNullable<FindingOf<"gauge">["gauge"]>["signal"]>;

/** ends writes the errors of zero and span of a transmitter. */
function ends(s: Ends, unit: string): string {
  const said = (error = 0, percent = 0) => `${showTo(error, 3)} ${unit}, ${showTo(percent, 3)} %`;
  return w.ends(said(s.zero, s.zero_percent), said(s.span, s.span_percent));
}

/** Result shows a closed run: the verdict, the chart, the table. */
export function Result({ visit, run }: { visit: RecordState; run: RecordState }) {
  const finding = object(run, "finding");
  const { gauge, verdict, reason, complete, warnings } = findingOf(finding, "gauge");
  const { results } = findingOf(finding, "leak"); // every kind of work except the gauge's has them
  const { low, high, unit } = readField("visit", visit, "item").range;
  const signal = gauge?.output_unit ?? "";
  const readings = readingsOf(finding);
  const expanded = expandedOf(finding);
  const stopped = readField("run", run, "closed").stopped;
  const label = visitWords.run.label[text(run, "label")] ?? text(run, "label");
  return (
    <section aria-label={w.title(label)}>
      <h2>{w.title(label)}</h2>
      {isVerdict(verdict) ? (
        <p>
          <Mark verdict={verdict} large /> <span class="quiet">{sentence(reason ?? "")}</span>
        </p>
      ) : null}
      {complete === true ? null : <p>{w.incomplete}</p>}
      {stopped ? <p>{w.stopped(stopped)}</p> : null}
      {results ? <Later key={run.id} load={loadResults} props={{ visit, run, finding }} /> : null}
      {readings.length > 0 && !results ? (
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
          {gauge?.signal === undefined ? null : <p>{ends(gauge.signal, signal)}</p>}
          <OpenedBudget visit={visit} run={run} />
        </>
      ) : null}
      {warnings?.[0] ? <Later key={`${run.id} warnings`} load={loadWarnings} props={{ finding }} /> : null}
    </section>
  );
}
