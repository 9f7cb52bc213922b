import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { link } from "../../link/link";
import { Button } from "../../parts/button";
import { useKind, useRecord, useVisits } from "../../store/hooks";
import { readField, readValue } from "../../wire/read";
import { asNumber, asObject, asText, isOverdue, list, type RecordState, text, value } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { visitWords } from "../../words/visit";
import { sentence, showDate, showDateTime, showDecimal, words } from "../../words/words";
import { showRange } from "../../records/facts";
import { Facts, useAsk, Waiting } from "../../nav/asking";
import { RecordChanges } from "../../views/history";
import type { VisitReply } from "../../records/office";
import { localDay } from "../../records/stops";
import { showTo } from "../../records/budget";
import { useRules } from "../../nav/use-rules";
import { reported } from "../../records/rules";
import { Calibrate } from "./calibrate";
import { Care } from "./care";
import { CertificateForm } from "./certificate";
import { EditStandard } from "./edit";
import { StandardList } from "./list";
import { ReverseScreen } from "./reverse";
import { certificatesOf, type Doc, labelOf, type PointForm, terms, usePlaced } from "./standards-data";

/**
 * StandardsScreen is the office's list of standards, one of them, or what would change if one was
 * wrong.
 */
export function StandardsScreen({ id, part }: { id: string | undefined; part: string | undefined }) {
  if (id === undefined) return <StandardList />;
  return <OneStandard key={id} id={id} part={part} />;
}

function dueText(standard: RecordState): string {
  const due = text(standard, "due").slice(0, 10);
  if (due === "") return w.noDate;
  return isOverdue(due, localDay(new Date())) ? `${showDate(due)}, ${w.overdue}` : showDate(due);
}

/** Stated lists the specification of a range. */
function Stated({ range }: { range: Doc }) {
  const { unit } = readValue("range", range);
  const said = terms.filter((t) => range[t] !== undefined);
  const { points: kept } = range;
  const points = Array.isArray(kept) ? kept : [];
  const units: { [term: string]: string } = {
    of_reading_percent: "%",
    of_span_percent: "%",
    absolute: unit,
    stability_ppm: "ppm",
    drift_per_year: unit,
    resolution: unit,
    max_rate: `${unit}/s`,
  };
  return (
    <>
      <h3>{showRange(range)}</h3>
      <Facts
        facts={[
          ...(said.length === 0
            ? [["", w.noSpec] as [string, string]]
            : said.map(
                (t) => [labelOf(t), `${showDecimal(asText(range[t]))} ${units[t] ?? ""}`.trim()] as [string, string],
              )),
          [w.certificate, w.points(points.length)],
        ]}
      />
      {points.length > 0 ? <Points points={points.map(asObject)} unit={unit} of={showRange(range)} /> : null}
    </>
  );
}

/** Points is the table of a certificate's points. */
export function Points({ points, unit, of }: { points: Doc[]; unit: string; of: string }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="wide-table narrow" tabIndex={0} aria-label={`${w.pointsTable}, ${of}`}>
      <table>
        <thead>
          <tr>
            {[`${w.applied}, ${unit}`, w.error, w.expanded, w.k].map((h) => (
              <th key={h} scope="col" class="number">
                {h}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {points.map((p) => (
            <tr key={asText(p["applied"])}>
              {["applied", "error", "expanded", "k"].map((n) => (
                <td key={n} class="number">
                  {showDecimal(asText(p[n]))}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

type Entering = {
  prefill: { number: string; calibrated: string; at: number; points: PointForm[] } | undefined;
  said: string;
};

function OneStandard({ id, part }: { id: string; part: string | undefined }) {
  const standard = useRecord(id);
  const [editing, edit] = useState(false);
  const [entering, enter] = useState<Entering | undefined>();
  const [calibrating, calibrate] = useState(false);
  const [said, say] = useState("");
  if (standard === undefined) return <p class="quiet">{words.shell.loading}</p>;
  if (standard === null) return <p>{w.missing}</p>;
  if (part === "reverse") return <ReverseScreen standard={standard} />;
  const ranges = list(standard, "ranges").map(asObject);
  const done = (kept: boolean) => {
    edit(false);
    enter(undefined);
    say(kept ? w.kept : "");
  };
  const busy = editing || entering !== undefined || calibrating;
  return (
    <>
      <h1>
        {text(standard, "name")} <span class="quiet">{text(standard, "serial")}</span>
      </h1>
      <p role="status">{said}</p>
      {entering ? (
        <CertificateForm
          standard={standard}
          ranges={ranges}
          prefill={entering.prefill}
          said={entering.said}
          onDone={done}
        />
      ) : null}
      {editing ? <EditStandard standard={standard} onDone={done} /> : null}
      {calibrating ? <Calibrate standard={standard} ranges={ranges} onDone={() => calibrate(false)} /> : null}
      {busy ? null : (
        <>
          <div class="buttons">
            <Button onClick={() => enter({ prefill: undefined, said: "" })}>{w.newCertificate}</Button>
            <Button onClick={() => calibrate(true)}>{w.calibrate}</Button>
            <Button onClick={() => edit(true)}>{w.change}</Button>
          </div>
          <p>
            <a href={`/office/standard/${id}/reverse`}>{w.reverse.link}</a>
          </p>
          <Care standard={standard} ranges={ranges} />
          <h2>{w.facts}</h2>
          <Facts
            facts={[
              [w.manufacturer, text(standard, "manufacturer")],
              [w.model, text(standard, "model")],
              [w.certificateNo, text(standard, "certificate_no")],
              [w.calibrated, showDate(text(standard, "calibrated"))],
              [w.dueOn, dueText(standard)],
              [w.status, sentence(text(standard, "status"))],
              [w.medium, w.media[text(standard, "medium") as keyof typeof w.media] ?? ""],
              [w.cleaned, showDate(text(standard, "cleaned_for_oxygen")) || w.notCleaned],
            ]}
          />
          <h2>{w.ranges}</h2>
          {ranges.map((r) => (
            <Stated key={showRange(r)} range={r} />
          ))}
          <Certificates standard={standard} />
          <OwnVisits
            standard={standard}
            onTake={(prefill) => {
              say("");
              enter({ prefill, said: w.taken });
            }}
          />
          <h2>{w.changes}</h2>
          <RecordChanges record={standard} />
        </>
      )}
    </>
  );
}

function Certificates({ standard }: { standard: RecordState }) {
  const people = useKind("person");
  const all = usePlaced(standard)?.all ?? certificatesOf(standard);
  const name = (id: string) =>
    text(
      people?.find((p) => p.id === id),
      "name",
    ) || id;
  return (
    <>
      <h2>{w.history}</h2>
      {all.length === 0 ? <p class="quiet">{w.noCertificates}</p> : null}
      <ul class="rows certificates">
        {all.map((c) => (
          <li key={c.id}>
            <details>
              <summary>
                <span class="lead">{c.number}</span> {showDate(c.calibrated)}
                <span class="small quiet"> {[showRange(c.range), w.points(c.points.length)].join(" · ")}</span>
              </summary>
              <p class="small">
                {[
                  c.by === "" ? "" : `${w.by}: ${c.by}`,
                  `${w.due} ${showDate(c.due)}`,
                  w.entered(name(c.author), showDateTime(c.wall)),
                ]
                  .filter(Boolean)
                  .join("; ")}
              </p>
              <Points
                points={c.points}
                unit={readValue("range", c.range).unit}
                of={`${c.number}, ${showRange(c.range)}`}
              />
            </details>
          </li>
        ))}
      </ul>
    </>
  );
}

function OwnVisits({
  standard,
  onTake,
}: {
  standard: RecordState;
  onTake: (prefill: NonNullable<Entering["prefill"]>) => void;
}) {
  const visits = useVisits(standard.id);
  useEffect(() => link.nudge(), []); // fetches the office's latest decisions
  const [wanted, want] = useState<string | undefined>();
  if (!visits || visits.length === 0) return null;
  const sorted = [...visits].sort((a, b) => (text(a, "started") < text(b, "started") ? 1 : -1));
  return (
    <>
      <h2>{w.visits}</h2>
      <ul class="rows">
        {sorted.map((v) => (
          <li key={v.id} class="own-visit">
            <a href={value(v, "signature") === undefined ? `/visit/${v.id}` : `/office/visit/${v.id}`}>
              <span>
                <span class="lead">{showDate(text(v, "started"))}</span> {readField("visit", v, "method").name}
                <br />
                <span class="small quiet">{showRange(readField("visit", v, "item").range)}</span>
              </span>
            </a>
            {value(v, "approval") === undefined ? (
              <span class="small quiet">{w.approvedOnly}</span>
            ) : (
              <Button onClick={() => want(v.id)}>{w.takeOver}</Button>
            )}
          </li>
        ))}
      </ul>
      {wanted === undefined ? null : <Take key={wanted} visit={wanted} standard={standard} onTake={onTake} />}
    </>
  );
}

/** Take fetches an approved visit with its runs and offers its points as a certificate. */
function Take({
  visit,
  standard,
  onTake,
}: {
  visit: string;
  standard: RecordState;
  onTake: (prefill: NonNullable<Entering["prefill"]>) => void;
}) {
  const asked = useAsk<VisitReply>(`/api/office/visits/${visit}`);
  const reply = asked.reply;
  const ruled = useRules(reply?.visit, reply?.runs);
  if (!reply || !ruled) return <Waiting asked={asked} />;
  if (ruled === "fails") return <p role="alert">{visitWords.rulesFail}</p>;
  const spoke = reported(ruled.visit, ruled.runs);
  const run = spoke.left ?? spoke.found;
  return <TakePoints standard={standard} reply={reply} run={run} onTake={onTake} />;
}

/** TakePoints offers the points of a run as those of a certificate. */
function TakePoints({
  standard,
  reply,
  run,
  onTake,
}: {
  standard: RecordState;
  reply: VisitReply;
  run: RecordState | undefined;
  onTake: (prefill: NonNullable<Entering["prefill"]>) => void;
}) {
  const range = readField("visit", reply.visit, "item").range;
  const known = usePlaced(standard, range);
  const [points, set] = useState<PointForm[] | undefined>();
  useEffect(() => {
    let here = true;
    call("stated", { points: readField("run", run, "finding").points }).then(
      (p) => here && set(p.points),
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [run]);
  if (!points || !known) return null;
  if (points.length === 0) return <p role="alert">{w.noPoints}</p>;
  const go = () =>
    onTake({
      number: reply.certificates[0]?.number ?? "",
      calibrated: localDay(new Date(text(reply.visit, "started"))),
      at: Math.max(0, known.of),
      points,
    });
  return (
    <p>
      {w.points(points.length)}, {w.expanded} {showTo(Math.max(...points.map((p) => asNumber(p.expanded) ?? 0)), 2)}{" "}
      {range.unit}{" "}
      <Button kind="main" onClick={go}>
        {w.takeOver}
      </Button>
    </p>
  );
}
