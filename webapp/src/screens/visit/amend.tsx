import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { LinkError, link } from "../../link/link";
import { Button } from "../../parts/button";
import { download } from "../../parts/download";
import { Field } from "../../parts/field";
import { Later } from "../../parts/later";
import { byParent } from "../../store/store";
import { readField } from "../../wire/read";
import { asObject, asText, type Json, newId, object, type RecordState, stampOf, text, value } from "../../wire/records";
import { amendWords } from "../../words/amend";
import { visitWords } from "../../words/visit";
import { showDate, words } from "../../words/words";
import { Answer } from "./answer";
import { amount, instruction } from "../../views/instruct";
import { Complaint, put, useKeep } from "../../nav/keep";
import { kindOf } from "../../views/kinds";
import { type Entry, effective, inOrder, isApproved, type Step } from "../../records/run";
import { askEffective } from "../../records/rules";
import { evaluate } from "../../records/sheet";
import type { useCourse } from "../../views/steps";
import type { Typed } from "./typed";

const w = amendWords;
const loadTrace = () => import("../../views/trace/trace").then((m) => m.Trace);

type Form = (p: { visit: RecordState }) => JSX.Element;

/**
 * Components that the visit's own screens pass in. They are on the device already, and so stay out
 * of the script for rare cases.
 */
export type Lent = {
  Typed: typeof Typed;
  useCourse: typeof useCourse;
  identity: Form;
  standard: Form;
  surroundings: Form;
};

/**
 * papersOf lists the certificates among a visit's children by their numbers, each with the one that
 * replaced it.
 */
export function papersOf(children: RecordState[]): { paper: RecordState; by: RecordState | undefined }[] {
  const all = children
    .filter((c) => c.kind === "certificate")
    .sort((a, b) => (text(a, "number") < text(b, "number") ? -1 : 1));
  return all.map((paper) => ({ paper, by: all.find((c) => text(c, "replaces") === text(paper, "number")) }));
}

/**
 * Papers lists a visit's certificates. A certificate that was replaced, or is being corrected, says
 * so first.
 */
function Papers({ visit, runs }: { visit: RecordState; runs: RecordState[] }) {
  const [error, say] = useState<string | undefined>();
  const approval = visit.fields["approval"]?.heads[0];
  const fetched = async (c: RecordState) => {
    say(undefined);
    try {
      const r = await link.request(`/api/certificates/${c.id}.pdf`);
      if (!r.ok) throw new LinkError("server", r.status, "", String(r.status));
      download(`certificate-${text(c, "number")}.pdf`, await r.blob());
    } catch (e) {
      if (!(e instanceof LinkError)) console.error(e);
      say(w.offline);
    }
  };
  const stands = (c: RecordState) =>
    approval !== undefined &&
    (readField("visit", visit, "approval").certificate === c.id ||
      (c.fields["number"]?.heads[0]?.stamp ?? "") > approval.stamp);
  return (
    <section aria-label={w.papers}>
      <h2>{w.papers}</h2>
      <ul class="photos">
        {papersOf(runs).map(({ paper: c, by }) => (
          <li key={c.id} id={`certificate-${text(c, "number")}`}>
            {by ? (
              <p class="complaint">
                <a href={`#certificate-${text(by, "number")}`}>{w.replacedBy(text(by, "number"))}</a>
              </p>
            ) : isApproved(visit) ? (
              stands(c) ? null : (
                <p class="complaint">{w.anew}</p>
              )
            ) : (
              <p class="complaint">{w.amending}</p>
            )}
            <Button size="tall" onClick={() => void fetched(c)}>
              {w.fetch(text(c, "number"))}
            </Button>
            <p class="small quiet">
              {w.issued(showDate(text(c, "issued")))}
              {!by && isApproved(visit) && stands(c) ? `, ${w.inForce}` : ""}
            </p>
            {text(c, "replaces") === "" ? null : (
              <div class="small">
                <p>
                  <a href={`#certificate-${text(c, "replaces")}`}>{w.replaces(text(c, "replaces"))}</a>
                </p>
                <p>{w.why(text(c, "why"))}</p>
                <p>{w.different(text(c, "different"))}</p>
              </div>
            )}
          </li>
        ))}
      </ul>
      <Complaint error={error} />
    </section>
  );
}

/** withCapture gives a run as it will be with one more capture, written last. */
function withCapture(run: RecordState, field: string, capture: { [name: string]: Json }): RecordState {
  const head = { change: "", value: capture, author: "", device: "", wall: "", stamp: "~" };
  return { ...run, fields: { ...run.fields, [field]: { heads: [head], replaced: [] } } };
}

const whole = (run: RecordState) => readField("run", run, "closed").stopped === "";

/**
 * correct saves a correction of a closed run together with the resulting finding: neither is ever
 * there without the other.
 */
export async function correct(visit: RecordState, run: RecordState, capture: { [name: string]: Json }): Promise<void> {
  const field = `capture.${newId()}`;
  const corrected = withCapture(run, field, capture);
  await askEffective(visit, [corrected]);
  const finding = await evaluate(visit, effective(corrected), whole(run));
  await put(run, { [field]: capture, finding });
}

/** The fields of a visit that its runs are judged by. */
const judged = [
  "standard",
  "meter",
  "barometer",
  "surroundings",
  "head",
  "item",
  "identity",
  "condition",
  "cautions",
  "service",
];

/**
 * correctedSince says whether a field that the runs are judged by changed after the visit was
 * signed.
 */
export function correctedSince(visit: RecordState): boolean {
  const signed = stampOf(visit, "signature");
  return signed !== "" && judged.some((f) => stampOf(visit, f) > signed);
}

/**
 * renew evaluates the closed runs again if a field that they are judged by was corrected since the
 * visit was signed. It gives the runs as they are then.
 */
export async function renew(visit: RecordState, runs: RecordState[]): Promise<RecordState[]> {
  if (!correctedSince(visit)) return runs;
  for (const run of inOrder(visit, runs)) {
    if (value(run, "closed") === undefined) continue;
    await put(run, { finding: await evaluate(visit, effective(run), whole(run)) });
  }
  return byParent(visit.id);
}

/** Correcting takes the corrected form of one recorded value in a closed run. */
function Correcting({
  visit,
  run,
  step,
  entry,
  lent,
  onEnd,
}: {
  visit: RecordState;
  run: RecordState;
  step: Step;
  entry: Entry;
  lent: Lent;
  onEnd: () => void;
}) {
  const Typed = lent.Typed;
  const [reason, setReason] = useState("");
  const keepCapture = (c: { [name: string]: Json }) =>
    correct(visit, run, { ...c, at: entry.at, ...(entry.of === "answer" ? { reason: reason.trim() } : {}) });
  return (
    <div class="correcting">
      <h3>{visitWords.run.correctTitle(worded(entry, step))}</h3>
      {entry.of === "answer" ? (
        <>
          <Field label={visitWords.reason} value={reason} onInput={setReason} />
          {reason.trim() === "" ? (
            <>
              <p>{w.needReason}</p>
              <Button kind="quiet" size="tall" onClick={onEnd}>
                {visitWords.cancel}
              </Button>
            </>
          ) : (
            <Answer
              visit={visit}
              run={run}
              step={step}
              correcting={entry}
              onKept={onEnd}
              onSkip={onEnd}
              keepCapture={keepCapture}
            />
          )}
        </>
      ) : entry.of === "trace" ? (
        <Later
          load={loadTrace}
          props={{
            visit,
            run,
            step,
            kind: kindOf(visit),
            correcting: entry,
            keepCapture,
            onKept: onEnd,
            onBack: onEnd,
          }}
        />
      ) : (
        <Typed
          visit={visit}
          run={run}
          ask={{ step, of: entry.of, optional: false }}
          correcting={entry}
          early={false}
          onKept={onEnd}
          onSkip={onEnd}
          keepCapture={keepCapture}
        />
      )}
    </div>
  );
}

/** worded writes a recorded value, short: a logger's record by its file, a photo by a fixed text. */
function worded(e: Entry, step: Step | undefined): string {
  if (e.of === "trace") return asText(asObject(e.file)["name"]);
  return step?.as === "photo" ? visitWords.finish.photoKept : amount(e.value, e.unit);
}

const arrows: { [direction: string]: string } = { up: "\u2191", down: "\u2193" };

/** Recorded lists the values in a closed run, each of which can be corrected. */
function Recorded({ visit, run, lent }: { visit: RecordState; run: RecordState; lent: Lent }) {
  const course = lent.useCourse(run, visit);
  const [correcting, start] = useState<Entry | undefined>();
  if (!course) return <p class="quiet">{words.shell.loading}</p>;
  const steps = new Map(course.steps.map((s) => [s.id, s]));
  const { high, unit } = readField("visit", visit, "item").range;
  const top = amount(high, unit);
  const place = (e: Entry) => course.steps.findIndex((s) => s.id === e.step);
  const entries = effective(run)
    .filter((e) => steps.has(e.step))
    .sort((a, b) => place(a) - place(b));
  const label = visitWords.run.label[text(run, "label")] ?? text(run, "label");
  const step = correcting ? steps.get(correcting.step) : undefined;
  if (correcting && step)
    return (
      <Correcting
        key={correcting.id}
        visit={visit}
        run={run}
        step={step}
        entry={correcting}
        lent={lent}
        onEnd={() => start(undefined)}
      />
    );
  return (
    <details class="opened">
      <summary>
        {label}: {w.open(entries.length)}
      </summary>
      <ul class="before">
        {entries.map((e) => (
          <li key={e.id}>
            <span>
              {instruction(steps.get(e.step) as Step, top)} {arrows[steps.get(e.step)?.direction ?? ""] ?? ""}{" "}
              {"\u2192"} <strong>{worded(e, steps.get(e.step))}</strong>{" "}
              <span class="quiet small">
                {visitWords.run.ofs[e.of] ?? e.of}
                {e.of === "trace" || steps.get(e.step)?.as === "photo"
                  ? ""
                  : e.earlier.map((x) => `, ${w.was(amount(x.value, x.unit))}`).join("")}
              </span>
            </span>
            <Button onClick={() => start(e)}>{w.correct}</Button>
          </li>
        ))}
      </ul>
    </details>
  );
}

const names = ["tag", "serial", "description", "manufacturer", "model"];

/** Item corrects the words by which a visit names its instrument. */
function Item({ visit }: { visit: RecordState }) {
  const item = object(visit, "item");
  const [typed, type] = useState<{ [name: string]: string }>(
    Object.fromEntries(names.map((n) => [n, asText(item[n])])),
  );
  const k = useKeep();
  const go = () =>
    k.keep(() =>
      put(visit, { item: { ...item, ...Object.fromEntries(names.map((n) => [n, (typed[n] ?? "").trim()])) } }),
    );
  return (
    <>
      <h3>{w.item}</h3>
      <p>{w.itemHint}</p>
      {names.map((n) => (
        <Field key={n} label={w.fields[n] ?? n} value={typed[n] ?? ""} onInput={(v) => type({ ...typed, [n]: v })} />
      ))}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {w.keep}
      </Button>
    </>
  );
}

type Part = "item" | "identity" | "standard" | "surroundings";

/** Corrections offers the possible corrections of a visit that the office sent back or reopened. */
function Corrections({ visit, runs, lent }: { visit: RecordState; runs: RecordState[]; lent: Lent }) {
  const [part, open] = useState<Part | undefined>();
  const change = part ? visit.fields[part]?.heads[0]?.change : undefined;
  const at = useRef(change);
  useEffect(() => {
    if (part && change !== at.current) open(undefined); // it was saved
  }, [change]);
  const show = (p: Part) => {
    at.current = visit.fields[p]?.heads[0]?.change;
    open(p);
  };
  const Form: Form = part === undefined || part === "item" ? Item : lent[part];
  return (
    <section class="corrections" aria-label={w.title}>
      <h2>{w.title}</h2>
      {part ? (
        <>
          <Form visit={visit} />
          <Button kind="quiet" size="tall" onClick={() => open(undefined)}>
            {w.back}
          </Button>
        </>
      ) : (
        <>
          <p class="quiet">{w.hint}</p>
          {inOrder(visit, runs)
            .filter((r) => value(r, "closed") !== undefined)
            .map((r) => (
              <Recorded key={r.id} visit={visit} run={r} lent={lent} />
            ))}
          <h3>{w.parts}</h3>
          <div class="buttons">
            {(["item", "identity", "standard", "surroundings"] as Part[]).map((p) => (
              <Button key={p} size="tall" onClick={() => show(p)}>
                {w[p]}
              </Button>
            ))}
          </div>
        </>
      )}
    </section>
  );
}

/**
 * Amend has what is seldom needed of a visit: its certificates and, with the passed-in screens, its
 * corrections.
 */
export function Amend({ visit, runs, lent }: { visit: RecordState; runs: RecordState[]; lent?: Lent }) {
  return (
    <>
      {runs.some((r) => r.kind === "certificate") ? <Papers visit={visit} runs={runs} /> : null}
      {lent ? <Corrections visit={visit} runs={runs} lent={lent} /> : null}
    </>
  );
}
