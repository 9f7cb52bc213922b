import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { commit, StoreError } from "../../store/store";
import type { RecordState } from "../../wire/records";
import { words } from "../../words/words";

const longest = 2000;

export type ChangeProps = { instrument: RecordState; field: string; name: string; value: string; onDone: () => void };

/** Change writes one of the few facts of an instrument that a person in front of it knows best. */
export function Change({ instrument, field, name, value, onDone }: ChangeProps) {
  const [text, setText] = useState(value);
  const [error, setError] = useState<string | undefined>();
  const [busy, setBusy] = useState(false);
  const w = words.instrument;
  const keep = () => {
    if (text.trim().length > longest) return setError(w.tooLong(longest));
    setBusy(true);
    setError(undefined);
    commit({
      record: instrument.id,
      kind: instrument.kind,
      site: instrument.site,
      parent: instrument.parent,
      set: [{ field, value: text.trim() }],
    })
      .then(onDone)
      .catch((e: unknown) => {
        console.error(e);
        setError(e instanceof StoreError && e.code === "full" ? w.full : w.notKept);
      })
      .finally(() => setBusy(false));
  };
  return (
    <div class="change">
      <Field
        label={name}
        value={text}
        onInput={setText}
        lines={field === "note" ? 3 : 1}
        {...(error === undefined ? {} : { error })}
      />
      <div class="buttons">
        <Button kind="main" disabled={busy} onClick={keep}>
          {w.keep}
        </Button>
        <Button kind="quiet" onClick={onDone}>
          {w.cancel}
        </Button>
      </div>
    </div>
  );
}
