import { useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { Choice, Field } from "../../parts/field";
import { navigate } from "../../nav/route";
import { commit } from "../../store/store";
import { alike } from "../../wire/alike";
import { asObject, type Json, list, type RecordState, text } from "../../wire/records";
import { standardsWords as w } from "../../words/standards";
import { Complaint, useKeep } from "../../nav/keep";
import { keptOf } from "../../records/item";
import { cellOf, type Doc, formOf, labelOf, type RangeForm, readRange, terms, type Wrong } from "./standards-data";

const empty: RangeForm = formOf({ mode: "gauge" });
const modes = Object.entries(w.modes) as [keyof typeof w.modes, string][];
const media = Object.entries(w.media) as [keyof typeof w.media, string][];
const statuses = Object.entries(w.statuses) as [keyof typeof w.statuses, string][];

/**
 * checkRange asks the calculation whether it can work with a range. A refusal is named with its
 * field.
 */
export async function checkRange(range: Doc, lines: number[] = []): Promise<Wrong | undefined> {
  const { low = "0", high = "0" } = range;
  try {
    const { standard } = await keptOf(range);
    await call("standard", {
      unit: range["unit"] ?? "",
      ...(standard ?? { ranges: [{ low, high, absolute: "1" }] }), // without a specification, its ends are asked about
      points: [low],
      limit: "1",
    });
    return undefined;
  } catch (e) {
    if (!(e instanceof CalcError)) throw e;
    const cell = cellOf(e.field, e.message, lines);
    if (cell) return cell;
    const field = e.field.split(".").at(-1) ?? "";
    return { field, error: w.refused(labelOf(field), e.message) };
  }
}

function RangeFields({
  form,
  n,
  wrong,
  onChange,
}: {
  form: RangeForm;
  n: number;
  wrong: { field: string; error: string } | undefined;
  onChange: (f: RangeForm) => void;
}) {
  const bad = (field: string) => (wrong?.field === field ? { error: wrong.error } : {});
  return (
    <fieldset class="range-form">
      <legend>{w.range(n)}</legend>
      <div class="columns">
        <Field label={w.low} value={form.low} onInput={(low) => onChange({ ...form, low })} {...bad("low")} />
        <Field label={w.high} value={form.high} onInput={(high) => onChange({ ...form, high })} {...bad("high")} />
        <Field label={w.unit} value={form.unit} onInput={(unit) => onChange({ ...form, unit })} {...bad("unit")} />
      </div>
      <Choice
        label={w.mode}
        value={form.mode as keyof typeof w.modes}
        onChange={(mode) => onChange({ ...form, mode })}
        options={modes}
      />
      <p class="small quiet">{w.specHint}</p>
      <div class="columns">
        {terms.map((t) => (
          <Field
            key={t}
            label={labelOf(t)}
            value={form.terms[t] ?? ""}
            inputMode="decimal"
            {...(t === "absolute" || t === "drift_per_year" || t === "resolution"
              ? { unit: form.unit }
              : t === "max_rate"
                ? { unit: `${form.unit}/s` }
                : {})}
            onInput={(v) => onChange({ ...form, terms: { ...form.terms, [t]: v } })}
            {...bad(t)}
          />
        ))}
      </div>
    </fieldset>
  );
}

/**
 * EditStandard changes a standard's record, or begins a new one. It refuses impossible values at
 * their field.
 */
export function EditStandard({
  standard,
  onDone,
}: {
  standard: RecordState | undefined;
  onDone: (kept: boolean) => void;
}) {
  const [facts, setFacts] = useState<{ [name: string]: string }>(
    Object.fromEntries(
      ["name", "serial", "manufacturer", "model", "status", "medium", "cleaned_for_oxygen"].map((n) => [
        n,
        text(standard, n) || (n === "status" ? "in service" : ""),
      ]),
    ),
  );
  const [forms, setForms] = useState<RangeForm[]>(
    standard ? list(standard, "ranges").map((r) => formOf(asObject(r))) : [empty],
  );
  const [wrong, setWrong] = useState<{ at: number; field: string; error: string } | undefined>();
  const k = useKeep();
  const fact = (name: "name" | "serial" | "manufacturer" | "model") => (
    <Field
      label={w[name]}
      value={facts[name] ?? ""}
      onInput={(v) => setFacts({ ...facts, [name]: v })}
      {...(wrong?.at === -1 && wrong.field === name ? { error: wrong.error } : {})}
    />
  );
  const go = () =>
    k.keep(async () => {
      setWrong(undefined);
      if ((facts["name"] ?? "").trim() === "") return setWrong({ at: -1, field: "name", error: w.needed(w.name) });
      const ranges: Json[] = [];
      for (const [at, form] of forms.entries()) {
        const read = readRange(form);
        const bad = "error" in read ? read : await checkRange(read.range);
        if (bad) return setWrong({ at, ...bad });
        if ("range" in read) ranges.push(read.range);
      }
      const wanted: { [name: string]: Json } = {
        ...Object.fromEntries(Object.entries(facts).map(([n, v]) => [n, v.trim()])),
        ranges,
      };
      const set = Object.entries(wanted)
        .filter(([n, v]) => !alike(standard?.fields[n]?.heads[0]?.value ?? "", v))
        .map(([field, value]) => ({ field, value }));
      if (set.length > 0) {
        const made = await commit({
          ...(standard ? { record: standard.id } : {}),
          kind: "standard",
          site: standard?.site ?? "",
          parent: standard?.parent ?? "",
          set,
        });
        if (!standard) navigate(`/office/standard/${made.record.id}`);
      }
      onDone(true);
    });
  return (
    <section class="office-form" aria-label={standard ? w.change : w.add}>
      <h2>{standard ? w.change : w.add}</h2>
      {fact("name")}
      {fact("serial")}
      {fact("manufacturer")}
      {fact("model")}
      <Choice
        label={w.status}
        value={facts["status"] as keyof typeof w.statuses}
        onChange={(status) => setFacts({ ...facts, status })}
        options={statuses}
      />
      <Choice
        label={w.medium}
        value={facts["medium"] as keyof typeof w.media}
        onChange={(medium) => setFacts({ ...facts, medium })}
        options={media}
      />
      <Field
        label={w.cleaned}
        type="date"
        value={facts["cleaned_for_oxygen"] ?? ""}
        hint={w.cleanedHint}
        onInput={(v) => setFacts({ ...facts, cleaned_for_oxygen: v })}
      />
      {forms.map((form, i) => (
        <div key={i}>
          <RangeFields
            form={form}
            n={i + 1}
            wrong={wrong?.at === i ? wrong : undefined}
            onChange={(f) => setForms(forms.map((old, n) => (n === i ? f : old)))}
          />
          {forms.length > 1 ? (
            <Button kind="quiet" onClick={() => setForms(forms.filter((_, n) => n !== i))}>
              {w.removeRange(i + 1)}
            </Button>
          ) : null}
        </div>
      ))}
      <div class="buttons">
        <Button onClick={() => setForms([...forms, empty])}>{w.addRange}</Button>
      </div>
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={go}>
          {w.keep}
        </Button>
        <Button onClick={() => onDone(false)}>{w.cancel}</Button>
      </div>
    </section>
  );
}
