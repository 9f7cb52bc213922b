import { useEffect, useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { useKind } from "../../store/hooks";
import { asText, type Json, type RecordState, text } from "../../wire/records";
import { budgetWords } from "../../words/budget";
import { visitWords } from "../../words/visit";
import { showDate, showDecimal, words } from "../../words/words";
import { showRange } from "../instrument/facts";
import { showSmall } from "./budget-data";
import { type Candidate, candidatesFor, type Demand, type Objection } from "./candidates";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "./keep";

const w = visitWords.standard;
const b = budgetWords.standard;

/** said writes in words what speaks against a standard. */
export function said(o: Objection, unit: string): string {
  const at = (point: string) => `${showDecimal(point)} ${unit}`;
  switch (o.kind) {
    case "out of date":
      return w.outOfDate(showDate(o.due));
    case "no date":
      return w.noDate;
    case "low":
      return w.low;
    case "high":
      return w.high;
    case "mode":
      return w.mode(o.mode);
    case "unit":
      return w.unit(o.unit);
    case "status":
      return w.status(o.status);
    case "no specification":
      return b.noSpecification;
    case "no statement":
      return b.noStatement(o.point === "" ? "" : at(o.point), o.why);
    case "programme":
      return w.programme(o.why);
    case "ratio":
      return b.tooLow(showSmall(o.ratio), showSmall(o.needed), at(o.point));
    default: {
      const never: never = o;
      return never;
    }
  }
}

/** Row is one candidate: what it is, how its ratio stands at the worst point, and why it is refused. */
function Row({ candidate: c, chosen, onChoose }: { candidate: Candidate; chosen: boolean; onChoose: () => void }) {
  const unit = asText(c.range["unit"]);
  const points = Array.isArray(c.range["points"]) ? c.range["points"].length : 0;
  return (
    <li>
      <label>
        <input type="radio" name="standard" checked={chosen} onChange={onChoose} />
        <span>
          <strong>{text(c.standard, "name")}</strong> {text(c.standard, "serial")}
          <br />
          {showRange(c.original)} <span class="quiet">{text(c.standard, "due") ? w.due(showDate(text(c.standard, "due"))) : ""}</span>
          {c.worst ? (
            <>
              <br />
              {b.ratio(showSmall(c.worst.ratio), `${showDecimal(c.worst.point)} ${unit}`)}
            </>
          ) : null}
          {points > 0 ? <span class="quiet"> {b.certified(points)}</span> : null}
          {c.objections.map((o) => (
            <span key={o.kind} class="why">
              {b.refused} {said(o, unit)}
            </span>
          ))}
        </span>
      </label>
    </li>
  );
}

/** ChooseStandard lists the standards with what speaks against each; a reason is asked for such a choice. */
export function ChooseStandard({ visit }: { visit: RecordState }) {
  const standards = useKind("standard");
  const [found, setFound] = useState<{ demand: Demand | undefined; list: Candidate[] } | undefined>();
  const [chosen, choose] = useState<string | undefined>();
  const [reason, setReason] = useDraft(`${visit.id} standard`);
  const k = useKeep();
  useEffect(() => {
    if (!standards) return;
    let here = true;
    const today = new Date().toISOString().slice(0, 10);
    candidatesFor(visit, standards, today).then(
      (c) => here && setFound(c),
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [standards]);
  if (!found) return <p class="quiet">{words.shell.loading}</p>;
  const key = (c: Candidate) => `${c.standard.id} ${c.index}`;
  const it = found.list.find((c) => key(c) === chosen);
  const go = () => {
    if (!it) return k.say(w.choose);
    const last = it.objections.at(-1);
    if (last?.kind === "programme") return k.say(w.programme(last.why));
    if (it.objections.length > 0 && reason.trim() === "") return k.say(w.needWhy);
    const snapshot: { [name: string]: Json } = { range: it.original };
    for (const f of ["name", "serial", "manufacturer", "model", "certificate_no", "calibrated", "due", "status"]) {
      const v = it.standard.fields[f]?.heads[0]?.value;
      if (v !== undefined) snapshot[f] = v;
    }
    k.keep(() => put(visit, { standard: { id: it.standard.id, range: it.range, snapshot, ...(it.objections.length > 0 ? { reason: reason.trim() } : {}) } }));
  };
  return (
    <>
      <h1>{w.title}</h1>
      {found.list.length === 0 ? (
        <p role="status">{w.none}</p>
      ) : (
        <p class="small quiet">{found.demand ? b.needed(showSmall(found.demand.needed)) : b.unknown}</p>
      )}
      <ul class="ticks standards">
        {found.list.map((c) => (
          <Row key={key(c)} candidate={c} chosen={key(c) === chosen} onChoose={() => choose(key(c))} />
        ))}
      </ul>
      {it && it.objections.length > 0 ? <Field label={w.why} value={reason} onInput={setReason} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy || found.list.length === 0} onClick={go}>
        {w.use}
      </Button>
    </>
  );
}
