import { readField } from "../../wire/read";
import { useState } from "preact/hooks";
import { cautionWords } from "../../words/cautions";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { useRecord } from "../../store/hooks";
import { asText, type Json, list, type RecordState, text } from "../../wire/records";
import { stopWords } from "../../words/stops";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { showRange } from "../../records/facts";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "../../nav/keep";

const always = ["lock_out", "stand_aside", "vent"];

/**
 * cautionCodes gives the codes that hold for every job, then those of the method and the
 * instrument, each once.
 */
export function cautionCodes(
  method: RecordState | null | undefined,
  instrument: RecordState | null | undefined,
): string[] {
  const more = [...list(method ?? undefined, "cautions"), ...list(instrument ?? undefined, "cautions")].map((c) =>
    asText(c).replaceAll(/[- ]/g, "_"),
  );
  return [...new Set([...always, ...more])].filter((c) => c !== "");
}

type CautionsProps = {
  visit: RecordState;
  again?: boolean;
  /** The permit's number that another gauge of its manifold was given, "" for none. */
  permitOfSet?: string | undefined;
};

/**
 * Cautions has every caution ticked before the first pressure step. The permit's number is asked for
 * once where several gauges stand on one manifold.
 */
export function Cautions({ visit, again = false, permitOfSet }: CautionsProps) {
  const w = cautionWords;
  const method = useRecord(readField("visit", visit, "method").id);
  const instrument = useRecord(text(visit, "instrument"));
  const [ticked, tick] = useState<string[]>([]);
  const [right, setRight] = useDraft(`${visit.id} cautions put right`);
  const [permit, setPermit] = useDraft(
    `${visit.id} permit`,
    readField("visit", visit, "cautions").permit || permitOfSet,
  );
  const [ownPermit, setOwnPermit] = useState(permitOfSet === undefined);
  const k = useKeep();
  if (method === undefined || instrument === undefined) return <p class="quiet">{words.shell.loading}</p>;
  const codes = cautionCodes(method, instrument);
  const all = codes.every((c) => ticked.includes(c));
  const permitted: { permit?: string } = permit.trim() === "" ? {} : { permit: permit.trim() };
  const go = () => {
    if (again && right.trim() === "") return k.say(stopWords.needPutRight);
    k.keep(() =>
      put(visit, {
        cautions: {
          codes,
          met: true,
          at: new Date().toISOString(),
          ...permitted,
          ...(again ? { put_right: right.trim() } : {}),
        },
      }),
    );
  };
  const stop = () =>
    k.keep(() =>
      put(visit, {
        cautions: {
          codes,
          met: false,
          open: codes.filter((c) => !ticked.includes(c)),
          at: new Date().toISOString(),
          ...permitted,
        },
      }),
    );
  return (
    <>
      <h1>{w.title}</h1>
      <p>{w.law}</p>
      <p class="quiet">{w.read}</p>
      <ul class="ticks">
        {codes.map((c) => (
          <li key={c}>
            <label>
              <input
                type="checkbox"
                checked={ticked.includes(c)}
                onChange={() => tick(ticked.includes(c) ? ticked.filter((t) => t !== c) : [...ticked, c])}
              />
              <span>{w.codes[c] ?? c.replaceAll("_", " ")}</span>
            </label>
          </li>
        ))}
      </ul>
      {ownPermit ? (
        <Field label={w.permit} hint={w.permitHint} value={permit} onInput={setPermit} />
      ) : (
        <dl class="facts set-up">
          <dt>{w.permit}</dt>
          <dd>
            <span>
              <strong>{permit === "" ? w.permitNone : permit}</strong>
              <br />
              <span class="small quiet">{w.permitOfSet}</span>
            </span>
            <Button kind="quiet" label={w.permitChange} onClick={() => setOwnPermit(true)}>
              {visitWords.setUp.change}
            </Button>
          </dd>
        </dl>
      )}
      {again ? <Field label={stopWords.putRight} value={right} onInput={setRight} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={!all || k.busy} onClick={go}>
        {w.go}
      </Button>
      {again ? null : (
        <div class="visit-foot">
          <Button size="tall" wide disabled={all || k.busy} onClick={stop}>
            {stopWords.notAll}
          </Button>
        </div>
      )}
    </>
  );
}

/** Identity asks whether this is the instrument, and about its condition. */
export function Identity({ visit, again = false }: { visit: RecordState; again?: boolean }) {
  const w = stopWords.identity;
  const item = readField("visit", visit, "item");
  const [same, setSame] = useState<"ok" | "differs" | undefined>();
  const [note, setNote] = useDraft(`${visit.id} differs`);
  const [way, setWay] = useState<"wrong" | "exchanged" | "register" | undefined>();
  const [state, setState] = useState<"good" | "dirty" | "damaged" | undefined>();
  const [right, setRight] = useDraft(`${visit.id} identity put right`);
  const [seen, setSeen] = useDraft(`${visit.id} condition`);
  const k = useKeep();
  const go = () => {
    if (same === undefined) return k.say(w.chooseIdentity);
    if (same === "differs" && note.trim() === "") return k.say(w.needNote);
    if (same === "differs" && way === undefined) return k.say(w.chooseWay);
    if (state === undefined && (same === "ok" || way === "register")) return k.say(w.chooseCondition);
    if (state !== undefined && state !== "good" && seen.trim() === "") return k.say(w.needCondition);
    if (again && right.trim() === "") return k.say(stopWords.needPutRight);
    const said = {
      ok: same === "ok",
      note: same === "ok" ? "" : note.trim(),
      ...(same === "ok" || way === undefined ? {} : { way }),
    };
    const fields: { [name: string]: Json } = { identity: { ...said, ...(again ? { put_right: right.trim() } : {}) } };
    if (state !== undefined)
      fields["condition"] = { ok: state === "good", state, note: state === "good" ? "" : seen.trim() };
    k.keep(() => put(visit, fields));
  };
  return (
    <>
      <h1>{w.title}</h1>
      <dl class="facts">
        <dt>{words.instrument.tag}</dt>
        <dd class="huge">{item.tag}</dd>
        <dt>{words.instrument.serial}</dt>
        <dd class="huge">{item.serial}</dd>
        <dt>{words.instrument.range}</dt>
        <dd>{showRange(item.range)}</dd>
      </dl>
      <Choice
        label={w.same}
        value={same}
        onChange={setSame}
        options={[
          ["ok", w.ok],
          ["differs", w.differs],
        ]}
      />
      {same === "differs" ? (
        <>
          <Choice
            label={w.way}
            value={way}
            onChange={setWay}
            options={[
              ["wrong", w.wrong],
              ["exchanged", w.exchanged],
              ["register", w.register],
            ]}
          />
          <Field label={w.note} value={note} onInput={setNote} lines={2} />
        </>
      ) : null}
      {same === "differs" && (way === "wrong" || way === "exchanged") ? null : (
        <>
          <Choice
            label={w.condition}
            value={state}
            onChange={setState}
            options={[
              ["good", w.sound],
              ["dirty", w.dirty],
              ["damaged", w.damaged],
            ]}
          />
          {state !== undefined && state !== "good" ? (
            <Field label={w.conditionNote} value={seen} onInput={setSeen} lines={2} />
          ) : null}
        </>
      )}
      {again ? <Field label={stopWords.putRight} value={right} onInput={setRight} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {visitWords.next}
      </Button>
    </>
  );
}
