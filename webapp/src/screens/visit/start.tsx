import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { useRecord } from "../../store/hooks";
import { asText, list, object, type RecordState, text } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { words } from "../../words/words";
import { showRange } from "../instrument/facts";
import { useDraft } from "./draft";
import { Complaint, put, useKeep } from "./keep";

const always = ["lock_out", "stand_aside", "vent"];

/** cautionCodes gives the codes that hold for every job, then those of the method and the instrument, each once. */
export function cautionCodes(method: RecordState | null | undefined, instrument: RecordState | null | undefined): string[] {
  const more = [...list(method ?? undefined, "cautions"), ...list(instrument ?? undefined, "cautions")].map((c) => asText(c).replaceAll(/[- ]/g, "_"));
  return [...new Set([...always, ...more])].filter((c) => c !== "");
}

/** Cautions has every caution ticked before the first pressure step. */
export function Cautions({ visit }: { visit: RecordState }) {
  const w = visitWords.cautions;
  const method = useRecord(asText(object(visit, "method")["id"]));
  const instrument = useRecord(text(visit, "instrument"));
  const [ticked, tick] = useState<string[]>([]);
  const k = useKeep();
  if (method === undefined || instrument === undefined) return <p class="quiet">{words.shell.loading}</p>;
  const codes = cautionCodes(method, instrument);
  const all = codes.every((c) => ticked.includes(c));
  return (
    <>
      <h1>{w.title}</h1>
      <p>{w.law}</p>
      <p class="quiet">{w.read}</p>
      <ul class="ticks">
        {codes.map((c) => (
          <li key={c}>
            <label>
              <input type="checkbox" checked={ticked.includes(c)} onChange={() => tick(ticked.includes(c) ? ticked.filter((t) => t !== c) : [...ticked, c])} />
              <span>{w.codes[c] ?? c.replaceAll("_", " ")}</span>
            </label>
          </li>
        ))}
      </ul>
      <Complaint error={k.error} />
      <Button
        kind="main"
        size="tall"
        wide
        disabled={!all || k.busy}
        onClick={() => k.keep(() => put(visit, { cautions: { codes, at: new Date().toISOString() } }))}
      >
        {w.go}
      </Button>
    </>
  );
}

/** Identity asks whether this is the instrument, and how it looks. */
export function Identity({ visit }: { visit: RecordState }) {
  const w = visitWords.identity;
  const item = object(visit, "item");
  const [same, setSame] = useState<"ok" | "differs" | undefined>();
  const [note, setNote] = useDraft(`${visit.id} differs`);
  const [sound, setSound] = useState<"ok" | "bad" | undefined>();
  const [seen, setSeen] = useDraft(`${visit.id} condition`);
  const k = useKeep();
  const go = () => {
    if (same === undefined) return k.say(w.chooseIdentity);
    if (same === "differs" && note.trim() === "") return k.say(w.needNote);
    if (sound === undefined) return k.say(w.chooseCondition);
    if (sound === "bad" && seen.trim() === "") return k.say(w.needCondition);
    k.keep(() => put(visit, { identity: { ok: same === "ok", note: note.trim() }, condition: { ok: sound === "ok", note: seen.trim() } }));
  };
  return (
    <>
      <h1>{w.title}</h1>
      <dl class="facts">
        <dt>{words.instrument.tag}</dt>
        <dd class="huge">{asText(item["tag"])}</dd>
        <dt>{words.instrument.serial}</dt>
        <dd class="huge">{asText(item["serial"])}</dd>
        <dt>{words.instrument.range}</dt>
        <dd>{showRange(item["range"])}</dd>
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
      {same === "differs" ? <Field label={w.note} value={note} onInput={setNote} lines={2} /> : null}
      <Choice
        label={w.condition}
        value={sound}
        onChange={setSound}
        options={[
          ["ok", w.sound],
          ["bad", w.unsound],
        ]}
      />
      {sound === "bad" ? <Field label={w.conditionNote} value={seen} onInput={setSeen} lines={2} /> : null}
      <Complaint error={k.error} />
      <Button kind="main" size="tall" wide disabled={k.busy} onClick={go}>
        {visitWords.next}
      </Button>
    </>
  );
}
