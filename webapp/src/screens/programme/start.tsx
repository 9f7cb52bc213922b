import { useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Field } from "../../parts/field";
import { navigate } from "../../shell/route";
import { useLink } from "../../shell/status";
import { useRegister } from "../../store/hooks";
import { commit, record } from "../../store/store";
import { type RecordState, text } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { identity, showRange } from "../instrument/facts";
import { instrumentFor } from "./instrument-document";
import type { Doc } from "./programme-data";

const most = 6;

/** Start runs a programme on an instrument of this device, which it is checked against first. */
export function Start({ method, version, name, definition }: { method: string; version: number; name: string; definition: Doc }) {
  const user = useLink().user;
  const [tag, setTag] = useState("");
  const [error, say] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const so = useRegister(tag.trim(), most);
  const start = async (instrument: RecordState) => {
    try {
      await call("expand", { method: definition, instrument: instrumentFor(instrument) });
    } catch (e) {
      if (!(e instanceof CalcError)) throw e;
      return say(w.refusedHere(text(instrument, "tag"), e.message));
    }
    const made = await commit({
      kind: "visit",
      site: instrument.site,
      parent: instrument.id,
      set: [
        { field: "instrument", value: instrument.id },
        { field: "method", value: { id: method, version, name, definition } },
        { field: "item", value: identity(instrument) },
        { field: "started", value: new Date().toISOString() },
        { field: "person", value: user?.id ?? "" },
      ],
    });
    navigate(`/visit/${made.record.id}`);
  };
  const go = (id: string) => {
    setBusy(true);
    say(undefined);
    record(id)
      .then((instrument) => instrument && start(instrument))
      .catch((e: unknown) => {
        console.error(e);
        say(String(e));
      })
      .finally(() => setBusy(false));
  };
  return (
    <section aria-label={w.start}>
      <h2>{w.start}</h2>
      <Field label={w.startTag} value={tag} onInput={setTag} type="search" />
      {error === undefined ? null : (
        <p class="complaint" role="alert">
          {error}
        </p>
      )}
      {so && so.looked === so.all && so.found === 0 ? <p>{w.startNone}</p> : null}
      <ul class="rows">
        {so?.rows.map((i) => (
          <li key={i.id}>
            <button type="button" class="step-row" disabled={busy} onClick={() => go(i.id)}>
              <strong>{w.startHere(i.tag)}</strong> <span class="quiet">{showRange(i.range)}</span>
            </button>
          </li>
        ))}
      </ul>
    </section>
  );
}
