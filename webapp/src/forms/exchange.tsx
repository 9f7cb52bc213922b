import { useState } from "preact/hooks";
import { link } from "../link/link";
import { Complaint, send, useDoing } from "../nav/asking";
import { navigate } from "../nav/route";
import { Button } from "../parts/button";
import { Field } from "../parts/field";
import { exchangeWords as w } from "../words/exchange";

/** Exchange replaces an instrument by another one, and leads to the new one. */
export function Exchange({ id, onDone }: { id: string; onDone: () => void }) {
  const [typed, type] = useState({ serial: "", manufacturer: "", model: "" });
  const d = useDoing();
  const set = (name: keyof typeof typed) => (v: string) => type({ ...typed, [name]: v });
  const go = () =>
    d.run(async () => {
      const now = (await send(`/api/office/instruments/${id}/exchange`, typed)) as { id: string };
      await link.sync(); // fetches what was written at the office
      navigate(`/instrument/${now.id}`);
      onDone();
    });
  return (
    <section aria-label={w.title}>
      <h3>{w.title}</h3>
      <p class="quiet">{w.hint}</p>
      <Field label={w.serial} value={typed.serial} required onInput={set("serial")} />
      <Field label={w.manufacturer} value={typed.manufacturer} onInput={set("manufacturer")} />
      <Field label={w.model} value={typed.model} onInput={set("model")} />
      <p class="small quiet">{w.same}</p>
      <Complaint error={d.error} />
      <div class="buttons">
        <Button kind="main" disabled={d.busy || typed.serial.trim() === ""} onClick={go}>
          {w.go}
        </Button>
        <Button onClick={onDone}>{w.cancel}</Button>
      </div>
    </section>
  );
}
