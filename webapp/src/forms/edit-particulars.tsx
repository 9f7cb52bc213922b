import { useState } from "preact/hooks";
import { Button } from "../parts/button";
import { useRecord } from "../store/hooks";
import { commit } from "../store/store";
import { alike } from "../wire/alike";
import { asText, object, type RecordState, text, value } from "../wire/records";
import { contested } from "../records/contested";
import { useContested } from "../nav/use-contested";
import { kindsWords as w } from "../words/kinds";
import { instrumentFor } from "../records/item";
import { Complaint } from "../nav/keep";
import { kindForms } from "../words/kind-forms";
import { FormFields } from "./fields";
import { type Doc, documentOf } from "./form";
import { tried } from "./trial";
import { useForm } from "./use-form";

/**
 * EditParticulars lets the office enter or change the particulars of an instrument that is no
 * gauge.
 */
export function EditParticulars({ instrument }: { instrument: RecordState }) {
  const [open, setOpen] = useState(false);
  const [said, say] = useState("");
  useContested(instrument);
  if (!kindForms[text(instrument, "kind")]) return null;
  if (open)
    return (
      <Form
        instrument={instrument}
        onDone={(t) => {
          setOpen(false);
          say(t);
        }}
      />
    );
  return (
    <div class="buttons">
      <p role="status">{said}</p>
      {contested(instrument, "particulars") ? (
        <a href={`/office/contested/${instrument.id}`}>{w.contested}</a>
      ) : (
        <Button onClick={() => setOpen(true)}>
          {value(instrument, "particulars") === undefined ? w.give : w.change}
        </Button>
      )}
    </div>
  );
}

function Form({ instrument, onDone }: { instrument: RecordState; onDone: (said: string) => void }) {
  const kind = text(instrument, "kind");
  const form = kindForms[kind];
  const had = object(instrument, "particulars");
  const { k, typed, wrong, change, clear, refuse } = useForm(form?.particulars ?? [], had);
  const method = useRecord(text(instrument, "method"));
  if (!form) return null;
  const go = () =>
    k.keep(async () => {
      clear();
      const read = documentOf(form.particulars, typed);
      if ("error" in read) return refuse(read);
      if (alike(read.doc, had)) return onDone(w.same);
      const given: Doc = method ? object(method, "definition") : {};
      const own = asText(given["kind"]) === kind;
      const definition = own ? given : form.usual;
      const refused = await tried(
        definition,
        { ...(await instrumentFor(instrument)), particulars: read.doc },
        form.method,
        form.particulars,
      );
      // Other faults of the instrument or its method do not count against what is typed here.
      if (refused?.of === "particulars") return refuse(refused);
      const { site, parent } = instrument;
      await commit({
        record: instrument.id,
        kind: instrument.kind,
        site,
        parent,
        set: [{ field: "particulars", value: read.doc }],
      });
      onDone(refused && own ? `${w.kept} ${refused.error}` : w.kept);
    });
  return (
    <section class="office-form method-form" aria-label={w.particulars}>
      <h3>{w.particulars}</h3>
      <FormFields fields={form.particulars} typed={typed} onChange={change} wrong={wrong} />
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={go}>
          {w.keep}
        </Button>
        <Button onClick={() => onDone("")}>{w.leave}</Button>
      </div>
    </section>
  );
}
