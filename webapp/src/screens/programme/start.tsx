import { useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Field } from "../../parts/field";
import { navigate } from "../../nav/route";
import { useLink } from "../../nav/status";
import { useRegister } from "../../store/hooks";
import { record } from "../../store/store";
import { outOfService, type RecordState, text } from "../../wire/records";
import { programmeWords as w } from "../../words/programme";
import { sentence, words } from "../../words/words";
import { showRange } from "../../records/facts";
import { beginVisit, itemOf } from "../../records/item";
import type { Doc } from "../../records/programme";

const most = 6;

/** Start runs a programme on an instrument of this device, which it is checked against first. */
export function Start({
  method,
  version,
  name,
  definition,
}: {
  method: string;
  version: number;
  name: string;
  definition: Doc;
}) {
  const user = useLink().user;
  const [tag, setTag] = useState("");
  const [error, say] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const so = useRegister(tag.trim(), most);
  const start = async (instrument: RecordState) => {
    if (outOfService(instrument))
      return say(
        w.refusedHere(text(instrument, "tag"), `${sentence(text(instrument, "status"))}, ${words.instrument.retired}`),
      );
    const { item, instrument: taken } = await itemOf(instrument);
    try {
      await call("expand", { method: definition, instrument: taken });
    } catch (e) {
      if (!(e instanceof CalcError)) throw e;
      return say(w.refusedHere(text(instrument, "tag"), e.message));
    }
    const begun = { id: method, version, name, definition };
    navigate(`/visit/${await beginVisit(instrument, begun, item, user?.id ?? "")}`);
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
