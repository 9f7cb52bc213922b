export { Surroundings } from "./surroundings";
import { useEffect, useState } from "preact/hooks";
import { said } from "../../views/objections";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { useKind } from "../../store/hooks";
import { asText, type RecordState, text, value } from "../../wire/records";
import { budgetWords } from "../../words/budget";
import { visitWords } from "../../words/visit";
import { sentence, showDate, showDecimal, words } from "../../words/words";
import { showRange } from "../../records/facts";
import { showSmall } from "../../records/budget";
import { type Candidate, candidatesFor, type Found, usedOf } from "../../records/candidates";
import { isFresh, SetUp } from "./set-up";
import { ChooseBeside } from "./meter";
import { useDraft } from "./draft";
import { lastChoice, rememberLast } from "./last";
import { Complaint, put, useKeep } from "../../nav/keep";

const w = visitWords.standard;
const b = budgetWords.standard;

/** Row is one candidate: what it is, its ratio at the worst point, and the objections to it. */
function Row({ candidate: c, chosen, onChoose }: { candidate: Candidate; chosen: boolean; onChoose: () => void }) {
  const unit = unitOf(c);
  const points = Array.isArray(c.range["points"]) ? c.range["points"].length : 0;
  return (
    <li>
      <label>
        <input type="radio" name="standard" checked={chosen} onChange={onChoose} />
        <span>
          <strong>{text(c.standard, "name")}</strong> {text(c.standard, "serial")}
          <br />
          {showRange(c.original)}{" "}
          <span class="quiet">{text(c.standard, "due") ? w.due(showDate(text(c.standard, "due"))) : ""}</span>
          {c.worst ? (
            <>
              <br />
              {b.ratio(showSmall(c.worst.ratio), `${showDecimal(c.worst.point)} ${unit}`)}
            </>
          ) : null}
          {points > 0 ? <span class="quiet"> {b.certified(points)}</span> : null}
          {c.barometer ? (
            <>
              <br />
              <span class="small quiet">{w.withBarometer}</span>
            </>
          ) : null}
          {c.objections.map((o) => (
            <span key={o.code} class="why">
              {b.refused} {said(o, unit)}
            </span>
          ))}
        </span>
      </label>
    </li>
  );
}

const serves = (c: Candidate) => c.objections.length === 0;
const unitOf = (c: Candidate) => asText(c.range["unit"]);
const key = (c: Candidate) => `${c.standard.id} ${c.index}`;

/**
 * ChooseStandard offers the suitable standard on one screen with everything that a visit will use.
 * Behind it are all standards with the objections to each; choosing one with objections needs a
 * reason. A visit without a manifold begins at once.
 */
export function ChooseStandard({ visit, alone = false }: { visit: RecordState; alone?: boolean }) {
  const standards = useKind("standard");
  const [found, setFound] = useState<Found | undefined>();
  const [folded, fold] = useState(true);
  const [chosen, choose] = useState<string | undefined>();
  const [reason, setReason] = useDraft(`${visit.id} standard`);
  const k = useKeep();
  const [meter, setMeter] = useState<Candidate | undefined>();
  const [air, setAir] = useState<Candidate | undefined>();
  useEffect(() => {
    if (!standards) return;
    let here = true;
    const today = new Date().toISOString().slice(0, 10);
    candidatesFor(visit, standards, today).then(
      (c) => {
        if (!here) return;
        const same = lastChoice("standard", 24 * 7);
        // The standard of the last stop comes first and is chosen if there are no objections;
        // otherwise the best is.
        const before = c.list.find((one) => serves(one) && key(one) === asText(same?.["key"]));
        const list = before ? [before, ...c.list.filter((one) => one !== before)] : c.list;
        setFound({ ...c, list });
        const first = list.find(serves);
        if (first) choose(key(first));
      },
      (e: unknown) => console.error(e),
    );
    return () => {
      here = false;
    };
  }, [standards]);
  if (!found) return <p class="quiet">{words.shell.loading}</p>;
  const best = found.list.find(serves);
  if (folded && best && standards && isFresh(visit))
    return (
      <SetUp
        visit={visit}
        found={found}
        standard={best}
        standards={standards}
        alone={alone}
        onOther={() => fold(false)}
      />
    );
  const it = found.list.find((c) => key(c) === chosen);
  const absolute = it?.barometer === true;
  const beside = [meter, absolute ? air : undefined].filter((c) => c !== undefined);
  const go = () => {
    if (!it) return k.say(w.choose);
    const last = it.objections.at(-1);
    if (last?.code === "programme") return k.say(w.programme(sentence(last.text ?? "")));
    // No reason can make a barred one a standard for this visit.
    const barred = [it, ...beside].find((c) => c.barred);
    if (barred) return k.say(`${w.cannot} ${barred.objections.map((o) => said(o, unitOf(barred))).join("; ")}`);
    if (absolute && !air) return k.say(w.needBarometer);
    if (![it, ...beside].every(serves) && reason.trim() === "") return k.say(w.needWhy);
    rememberLast("standard", { key: key(it) });
    k.keep(async () => {
      const why = reason.trim();
      return put(visit, {
        standard: await usedOf(it, why),
        ...(meter ? { meter: await usedOf(meter, why) } : {}),
        ...(absolute && air ? { barometer: await usedOf(air, why) } : {}),
        ...(!absolute && value(visit, "barometer") ? { barometer: null } : {}),
      });
    });
  };
  const good = found.list.filter(serves);
  const other = found.list.filter((c) => !serves(c));
  const rows = (list: Candidate[]) =>
    list.length === 0 ? null : (
      <ul class="ticks standards">
        {list.map((c) => (
          <Row key={key(c)} candidate={c} chosen={key(c) === chosen} onChoose={() => choose(key(c))} />
        ))}
      </ul>
    );
  return (
    <>
      <h1>{w.title}</h1>
      {found.list.length === 0 ? (
        <p role="status">{w.none}</p>
      ) : (
        <p class="small quiet">{found.demand ? b.needed(showSmall(found.demand.needed)) : b.unknown}</p>
      )}
      {rows(good)}
      {other.length === 0 ? null : good.length === 0 ? (
        rows(other)
      ) : (
        <details class="opened">
          <summary>{w.unsuitable(other.length)}</summary>
          {rows(other)}
        </details>
      )}
      {absolute && standards ? (
        <ChooseBeside as="barometer" visit={visit} standards={standards} onChoose={setAir} />
      ) : null}
      {found.meter && standards ? (
        <ChooseBeside as="meter" visit={visit} standards={standards} onChoose={setMeter} />
      ) : null}
      {[it, ...beside].some((c) => c && !serves(c)) ? (
        <Field label={w.why} value={reason} onInput={setReason} lines={2} />
      ) : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy || found.list.length === 0} onClick={go}>
        {w.use}
      </Button>
    </>
  );
}
