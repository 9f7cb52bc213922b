import { useRef, useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { ask } from "../../link/link";
import { Button } from "../../parts/button";
import { download } from "../../parts/download";
import { Choice, Field } from "../../parts/field";
import { isVerdict, Mark } from "../../parts/mark";
import { readValue } from "../../wire/read";
import { asObject, type Json, list, type RecordState, text } from "../../wire/records";
import { deskWords } from "../../words/desk";
import { standardsWords } from "../../words/standards";
import { visitWords } from "../../words/visit";
import { showDate, showDecimal } from "../../words/words";
import { showRange } from "../../records/facts";
import { Complaint, send, useDoing } from "../../nav/asking";
import { navigate } from "../../nav/route";
import { PointsForm } from "./certificate";
import {
  csvOf,
  keyOf,
  notCalculated,
  type Outcome,
  outcomesOf,
  piecesOf,
  sorted,
  type Use,
  type UsesReply,
} from "./reverse-data";
import { checkRange } from "./edit";
import { type Placed, type PointForm, pointForms, readPoints, usePlaced, type Wrong } from "./standards-data";

const w = standardsWords.reverse;
const pieceSize = 100;
const shownAtFirst = 50;

/** fetchUses asks the office for every run that used the standard since a day, piece by piece. */
async function fetchUses(id: string, since: string, counted: (n: number) => void, signal: AbortSignal): Promise<Use[]> {
  const uses: Use[] = [];
  for (let after = ""; ; ) {
    signal.throwIfAborted();
    const reply = (await ask(`/api/office/standards/${id}/uses?since=${since}&after=${after}`)) as UsesReply;
    uses.push(...reply.uses);
    counted(uses.length);
    if (reply.after === "") return uses;
    after = reply.after;
  }
}

/**
 * sinceOf gives the day from which the certificate in force was not yet known: that of the
 * certificate before.
 */
function sinceOf(certificates: { calibrated: string }[]): string {
  return (certificates[1] ?? certificates[0])?.calibrated.slice(0, 10) ?? "";
}

type Result = { outcomes: Outcome[]; seconds: number };

/**
 * ofVisits says whether a refusal is about data kept in visits rather than about the points under
 * question.
 */
const ofVisits = (e: unknown): e is CalcError => e instanceof CalcError && !e.field.startsWith("after");

/** ReverseScreen shows which results would change if a standard's certificate was different. */
export function ReverseScreen({ standard }: { standard: RecordState }) {
  const known = usePlaced(standard);
  return known ? <Reverse key={standard.id} standard={standard} all={known.all} /> : null;
}

function Reverse({ standard, all: placed }: { standard: RecordState; all: Placed[] }) {
  const ranges = list(standard, "ranges").map(asObject);
  const [at, setAt] = useState("0");
  const range = ranges[Number(at)] ?? {};
  const certificates = placed.filter((c) => c.of === Number(at));
  const [since, setSince] = useState(sinceOf(certificates) || text(standard, "calibrated").slice(0, 10));
  const [before, setBefore] = useState("known");
  const [after, setAfter] = useState(certificates[0]?.id ?? "typed");
  const [typed, setTyped] = useState<PointForm[]>([{ applied: "", error: "", expanded: "", k: "2" }]);
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const [reason, setReason] = useState("");
  const [progress, setProgress] = useState("");
  const [result, setResult] = useState<Result | undefined>();
  const d = useDoing();
  const stop = useRef<AbortController | undefined>(undefined);
  const pointsOf = (id: string): Json[] => certificates.find((c) => c.id === id)?.points ?? [];
  const choices = certificates.map((c) => [c.id, `${c.number}, ${showDate(c.calibrated)}`] as const);
  const take = (v: string) => {
    const its = placed.filter((c) => c.of === Number(v));
    setAt(v);
    setSince(sinceOf(its) || since);
    setBefore("known");
    setAfter(its[0]?.id ?? "typed");
    setTyped([{ applied: "", error: "", expanded: "", k: "2" }]);
    setResult(undefined);
  };
  const go = () => {
    setWrong(undefined);
    setResult(undefined);
    const read = after === "typed" ? readPoints(typed) : { points: pointsOf(after), lines: [] };
    if ("error" in read) {
      setWrong(read);
      return d.say(read.error);
    }
    const mine = new AbortController();
    stop.current = mine;
    d.run(async () => {
      const refused = after === "typed" ? await checkRange({ ...range, points: read.points }, read.lines) : undefined;
      if (refused) {
        setWrong(refused);
        return d.say(refused.error);
      }
      const began = performance.now();
      try {
        const got = await fetchUses(standard.id, since, (n) => setProgress(w.reading(n)), mine.signal);
        const known = before === "known" ? undefined : pointsOf(before);
        const { ofRange, pieces } = await piecesOf(got, range, known, read.points, pieceSize);
        const unread = ofRange.filter((u) => u.unread !== "");
        const uses = ofRange.filter((u) => u.unread === "");
        const byKey = new Map(uses.map((u) => [keyOf(u), u]));
        const outcomes: Outcome[] = unread.map((u) => notCalculated(u, u.unread));
        for (const piece of pieces) {
          try {
            outcomes.push(...outcomesOf(await call("reverse", piece, mine.signal), byKey));
          } catch (e) {
            if (!ofVisits(e)) throw e;
            outcomes.push(...piece.affected.map((one) => notCalculated(byKey.get(one.id) as Use, e.message)));
          }
          setProgress(w.working(outcomes.length, uses.length));
        }
        const judged = new Set(outcomes.map((o) => keyOf(o.use)));
        outcomes.push(...uses.filter((u) => !judged.has(keyOf(u))).map((u) => notCalculated(u, w.noSpecification)));
        setResult({ outcomes: sorted(outcomes), seconds: (performance.now() - began) / 1000 });
      } catch (e) {
        if (!mine.signal.aborted) throw e;
      } finally {
        setProgress("");
      }
    });
  };
  const open = () => {
    setWrong(undefined);
    const read = after === "typed" ? readPoints(typed) : { points: pointsOf(after), lines: [] };
    if ("error" in read) {
      setWrong(read);
      return d.say(read.error);
    }
    d.run(async () => {
      const refused = after === "typed" ? await checkRange({ ...range, points: read.points }, read.lines) : undefined;
      if (refused) {
        setWrong(refused);
        return d.say(refused.error);
      }
      const { id } = (await send(`/api/office/standards/${standard.id}/lookbacks`, {
        range,
        since,
        reason,
        after: read.points,
        ...(before === "known" ? {} : { before: pointsOf(before) }),
      })) as { id: string };
      navigate(`/office/lookbacks/${id}`);
    });
  };
  const partly = after !== "typed" && certificates.find((c) => c.id === after)?.whole !== true;
  return (
    <>
      <h1>
        {w.title}{" "}
        <span class="quiet">{[text(standard, "name"), text(standard, "serial")].filter(Boolean).join(" ")}</span>
      </h1>
      <p>
        <a href={`/office/standard/${standard.id}`}>{text(standard, "name")}</a>
      </p>
      <p class="quiet">{w.hint}</p>
      <div class="office-form">
        {ranges.length > 1 ? (
          <Choice
            label={standardsWords.forRange}
            value={at}
            onChange={take}
            options={ranges.map((r, i) => [String(i), showRange(r)] as const)}
          />
        ) : null}
        <Field label={w.since} type="date" value={since} onInput={setSince} />
        <Choice
          label={w.before}
          value={before}
          onChange={setBefore}
          options={[["known", w.asKnown] as const, ...choices]}
        />
        <Choice
          label={w.after}
          value={after}
          onChange={(v) => {
            if (v === "typed" && pointsOf(after).length > 0) setTyped(pointForms(pointsOf(after)));
            setAfter(v);
          }}
          options={[...choices, ["typed", w.typed] as const]}
        />
        {after === "typed" ? (
          <PointsForm forms={typed} unit={readValue("range", range).unit} wrong={wrong} onChange={setTyped} />
        ) : null}
        {partly ? <p class="caution">{w.partly}</p> : null}
        <Complaint error={d.error} />
        <div class="buttons">
          <Button kind="main" disabled={d.busy} onClick={go}>
            {w.go}
          </Button>
          {d.busy ? <Button onClick={() => stop.current?.abort()}>{w.stop}</Button> : null}
        </div>
        <p class="small quiet">{deskWords.lookback.openHint}</p>
        <Field label={deskWords.lookback.reason} value={reason} onInput={setReason} lines={2} />
        <Button disabled={d.busy || reason.trim() === ""} onClick={open}>
          {deskWords.lookback.open}
        </Button>
      </div>
      <p role="status">{progress}</p>
      {result ? <Outcomes result={result} /> : null}
    </>
  );
}

function Outcomes({ result }: { result: Result }) {
  const [all, setAll] = useState(false);
  const { outcomes } = result;
  const changed = outcomes.filter((o) => o.changed).length;
  const faults = outcomes.filter((o) => o.fault !== "").length;
  const suspect = outcomes.filter((o) => o.taken.out > 0).length;
  const verdict = (v: string) => (isVerdict(v) ? <Mark verdict={v} /> : v);
  if (outcomes.length === 0) return <p role="status">{w.none}</p>;
  const shown = all ? outcomes : outcomes.slice(0, Math.max(shownAtFirst, changed));
  return (
    <section aria-label={w.changed}>
      <h2>{w.changed}</h2>
      <p role="status">
        {w.done(changed, outcomes.length, showDecimal(result.seconds.toFixed(1)))}{" "}
        {suspect < outcomes.length ? w.suspect(suspect) : ""} {faults > 0 ? w.faults(faults) : ""}
      </p>
      <Button onClick={() => download("standard-was-out.csv", new Blob([csvOf(outcomes)], { type: "text/csv" }))}>
        {w.save}
      </Button>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard */}
      <section class="wide-table" tabIndex={0} aria-label={w.title}>
        <table>
          <thead>
            <tr>
              <th scope="col">{w.instrument}</th>
              <th scope="col">{w.day}</th>
              <th scope="col">{w.run}</th>
              <th scope="col">{w.thought}</th>
              <th scope="col">{w.now}</th>
              <th scope="col">{w.taken}</th>
              <th scope="col">{w.readings}</th>
              <th scope="col" class="number">
                {w.worst}
              </th>
            </tr>
          </thead>
          <tbody>
            {shown.map((o) => (
              <tr key={`${o.use.visit} ${keyOf(o.use)}`}>
                <td>
                  <a href={`/office/visit/${o.use.visit}`}>{o.use.tag || o.use.visit.slice(0, 6)}</a>
                </td>
                <td>{showDate(o.use.started)}</td>
                <td>
                  {visitWords.run.label[o.use.label] ?? o.use.label}
                  {o.use.as === "standard" ? null : <span class="small quiet"> {visitWords.standard[o.use.as]}</span>}
                </td>
                {o.fault === "" ? (
                  <>
                    <td>{verdict(o.before.verdict)}</td>
                    <td>{o.changed ? <strong>{verdict(o.after.verdict)}</strong> : verdict(o.after.verdict)}</td>
                    <td>{o.taken.all === 0 ? "" : w.takenOf(o.taken.out, o.taken.all, o.taken.beyond)}</td>
                    <td>{o.readings === 0 ? "" : w.of(o.readings)}</td>
                    <td class="number">{`${o.before.ofLimit} \u2192 ${o.after.ofLimit}`}</td>
                  </>
                ) : (
                  <td colSpan={5}>{`${w.fault}: ${o.fault}`}</td>
                )}
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {shown.length < outcomes.length ? (
        <Button onClick={() => setAll(true)}>{w.more(outcomes.length - shown.length)}</Button>
      ) : null}
    </section>
  );
}
