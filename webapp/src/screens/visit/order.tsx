import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Field } from "../../parts/field";
import { Complaint, put, useKeep } from "../../nav/keep";
import { readField } from "../../wire/read";
import type { RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";

const w = visitWords.order;

/** Order takes the customer's order number and the day on which the item was received. */
export function Order({ visit }: { visit: RecordState }) {
  const kept = readField("visit", visit, "order");
  const [number, setNumber] = useState(kept.number ?? "");
  const [received, setReceived] = useState(kept.received ?? "");
  const k = useKeep();
  const same = number.trim() === (kept.number ?? "") && received === (kept.received ?? "");
  return (
    <details class="opened">
      <summary>{w.title}</summary>
      <Field label={w.number} value={number} onInput={setNumber} />
      <Field label={w.received} type="date" value={received} onInput={setReceived} />
      <Complaint error={k.error} />
      <Button
        disabled={same || k.busy}
        onClick={() => k.keep(() => put(visit, { order: { number: number.trim(), received } }))}
      >
        {w.keep}
      </Button>
    </details>
  );
}
