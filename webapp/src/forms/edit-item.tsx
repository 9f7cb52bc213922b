import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { call } from "../calc/calc";
import { ask } from "../link/link";
import { Button } from "../parts/button";
import { Choice } from "../parts/field";
import { useKind } from "../store/hooks";
import { commit } from "../store/store";
import { newId, type RecordState, text, value } from "../wire/records";
import { contested } from "../records/contested";
import { useCalc } from "../nav/use-calc";
import { useContested } from "../nav/use-contested";
import { itemForm } from "../words/item-form";
import { kindsWords as w } from "../words/kinds";
import type { RegisterReply } from "../records/office";
import { Complaint } from "../nav/keep";
import { FormFields } from "./fields";
import { type Doc, documentOf } from "./form";
import { asked, changesOf, factsAsked, type Made, madeOf, settled, taken, untrue, usualItem } from "./item";
import { useForm } from "./use-form";

const labelLength = 10;

/** named asks the office for the instruments of the plant with a name. */
const named = async (name: string) =>
  ((await ask(`/api/office/register?name=${encodeURIComponent(name)}`)) as RegisterReply).instruments;

function factsOf(record: RecordState): Doc {
  const facts: Doc = {};
  for (const { name } of itemForm) {
    const v = value(record, name);
    if (v !== undefined && v !== null) facts[name] = v;
  }
  return facts;
}

/** EditItem changes the facts of an instrument, or adds one to the register. */
export function EditItem({
  instrument,
  onDone,
}: {
  instrument: RecordState | undefined;
  onDone: (said: ComponentChildren, made?: Made) => void;
}) {
  const sites = useKind("site") ?? [];
  const [site, setSite] = useState("");
  const { k, typed, wrong, change, refuse } = useForm(itemForm, instrument ? factsOf(instrument) : usualItem);
  useContested(instrument);
  const said = useCalc("facts", factsAsked(typed));
  const fields = itemForm.filter((f) => !instrument || !contested(instrument, f.name)); // contested fields are settled elsewhere
  const go = () =>
    k.keep(async () => {
      const { unused, mode } = await call("facts", factsAsked(typed));
      const read = documentOf(asked(fields, unused), typed);
      if ("error" in read) return refuse(read);
      const facts = settled(read.doc, instrument ? text(instrument, "kind") : "", mode);
      const bad = await untrue(facts, instrument ? value(instrument, "particulars") : undefined);
      if (bad) return refuse(bad);
      const double = await taken(instrument, facts, named);
      if (double) return refuse(double);
      const set = changesOf(instrument, facts).filter((c) => fields.some((f) => f.name === c.field));
      if (set.length === 0) return onDone(w.same);
      if (instrument) {
        await commit({
          record: instrument.id,
          kind: "instrument",
          site: instrument.site,
          parent: instrument.parent,
          set,
        });
        return onDone(w.kept);
      }
      const label = { field: "label", value: newId().slice(0, labelLength) };
      const { record } = await commit({ kind: "instrument", site, parent: "", set: [...set, label] });
      onDone(<a href={`/instrument/${record.id}`}>{w.added(String(facts["tag"]))}</a>, madeOf(record));
    });
  return (
    <section class="office-form method-form" aria-label={instrument ? w.changeItem : w.newItem}>
      <h2>{instrument ? w.changeItem : w.newItem}</h2>
      {instrument ? <p class="quiet">{w.itemHint}</p> : null}
      {instrument || sites.length === 0 ? null : (
        <Choice
          label={w.site}
          value={site}
          onChange={setSite}
          options={[["", w.noSite], ...sites.map((s) => [s.id, text(s, "name") || text(s, "code")] as const)]}
        />
      )}
      <FormFields fields={asked(fields, said?.unused ?? [])} typed={typed} onChange={change} wrong={wrong} />
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={go}>
          {w.itemKeep}
        </Button>
        <Button onClick={() => onDone("")}>{w.leave}</Button>
      </div>
    </section>
  );
}
