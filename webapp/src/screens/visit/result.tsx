import { useState } from "preact/hooks";
import { BandChart } from "../../parts/band-chart";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { isVerdict, Mark } from "../../parts/mark";
import { asNumber, asText, type Json, object, type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { expandedOf } from "./budget-data";
import { useDraft } from "./draft";
import { loadResults, loadWarnings } from "./later";
import { Complaint, put, useKeep } from "./keep";
import { OpenedBudget } from "./opened";
import { Readings } from "./readings";
import { instrumentOf, readingsOf } from "./sheet";

const w = visitWords.result;

/** Result shows a closed run: the word, the chart, the table. */
export function Result({ visit, run }: { visit: RecordState; run: RecordState }) {
  const finding = object(run, "finding");
  const item = instrumentOf(visit);
  const unit = asText(item["unit"]);
  const readings = readingsOf(finding);
  const expanded = expandedOf(finding);
  const stopped = asText(object(run, "closed")["stopped"]);
  const label = visitWords.run.label[text(run, "label")] ?? text(run, "label");
  return (
    <section aria-label={w.title(label)}>
      <h2>{w.title(label)}</h2>
      {isVerdict(finding["verdict"]) ? (
        <p>
          <Mark verdict={finding["verdict"]} large /> <span class="quiet">{asText(finding["reason"])}</span>
        </p>
      ) : null}
      {finding["complete"] === true ? null : <p>{w.incomplete}</p>}
      {stopped ? <p>{w.stopped(stopped)}</p> : null}
      {Array.isArray(finding["results"]) ? <Later key={run.id} load={loadResults} props={{ visit, run, finding }} /> : null}
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
            low={asNumber(item["low"]) ?? 0}
            high={asNumber(item["high"]) ?? 1}
            unit={unit}
          />
          <Readings label={label} readings={readings} expanded={expanded} unit={unit} />
          <OpenedBudget visit={visit} run={run} />
        </>
      ) : null}
      {(finding["warnings"] as Json[] | undefined)?.[0] ? <Later key={`${run.id} warnings`} load={loadWarnings} props={{ finding }} /> : null}
    </section>
  );
}

/** Adjusted shows the as-found result and asks whether the instrument was adjusted; the run before it stays closed. */
export function Adjusted({ visit, run, onRepeat }: { visit: RecordState; run: RecordState; onRepeat: (() => void) | undefined }) {
  const [done, setDone] = useState<"yes" | "no" | undefined>();
  const [note, setNote] = useDraft(`${visit.id} adjusted`);
  const k = useKeep();
  const go = () => {
    if (done === "yes" && note.trim() === "") return k.say(w.needAdjust);
    k.keep(() => put(visit, { adjusted: { done: done === "yes", note: note.trim() } }));
  };
  return (
    <>
      <h1>{w.heading}</h1>
      <Result visit={visit} run={run} />
      <Choice
        label={w.adjusted}
        value={done}
        onChange={setDone}
        options={[
          ["no", w.no],
          ["yes", w.yes],
        ]}
      />
      {done === "yes" ? <Field label={w.adjustNote} value={note} onInput={setNote} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={done === undefined || k.busy} onClick={go}>
        {visitWords.next}
      </Button>
      <div class="visit-foot">{onRepeat ? <Button onClick={onRepeat}>{visitWords.finish.repeat}</Button> : null}</div>
    </>
  );
}
