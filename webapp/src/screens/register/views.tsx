import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Complaint, send, useAsk, useDoing } from "../../nav/asking";
import { type Look, readLook, writeLook } from "../../records/look";
import type { SavedView } from "../../records/office";
import { registerWords as w } from "../../words/register";
import { Fold } from "./filters";

/** Views lists a person's saved views of the register, and saves the present one. */
export function Views({ look, onLook }: { look: Look; onLook: (look: Look) => void }) {
  const asked = useAsk<{ views: SavedView[] }>("/api/office/views");
  const [name, setName] = useState("");
  const d = useDoing();
  const list = asked.reply?.views ?? [];
  const query = writeLook(look);
  const keep = (views: SavedView[]) =>
    d.run(async () => {
      await send("/api/office/views", { views }, "PUT");
      setName("");
      asked.again();
    });
  return (
    <Fold name={w.views} on={list.some((v) => v.query === query)}>
      <ul class="saved">
        {list.map((v) => (
          <li key={v.name}>
            <Button kind="quiet" pressed={v.query === query} onClick={() => onLook(readLook(v.query))}>
              {v.name}
            </Button>
            <Button
              kind="quiet"
              label={w.viewRemove(v.name)}
              disabled={d.busy}
              onClick={() => keep(list.filter((x) => x !== v))}
            >
              ×
            </Button>
          </li>
        ))}
      </ul>
      {list.length === 0 ? <p class="small quiet">{w.noViews}</p> : null}
      <Field label={w.viewName} value={name} onInput={setName} hint={w.viewHint} />
      <Button
        disabled={name.trim() === "" || d.busy || asked.reply === undefined}
        onClick={() => keep([...list.filter((v) => v.name !== name.trim()), { name: name.trim(), query }])}
      >
        {w.viewSave}
      </Button>
      <Complaint error={d.error ?? asked.error} />
    </Fold>
  );
}
