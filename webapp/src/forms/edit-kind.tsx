import { useEffect, useState } from "preact/hooks";
import { Button } from "../parts/button";
import { Choice, Field as Box } from "../parts/field";
import { useLive } from "../store/hooks";
import { keyTo } from "../store/shelf";
import { byKey } from "../store/store";
import { asText, list, object, type RecordState, text } from "../wire/records";
import { kindsWords as w } from "../words/kinds";
import { methodsWords } from "../words/methods";
import { readDecimal } from "../words/words";
import { CautionBoxes, draftsOf, inForce, keepMethod, lacksReason, WhyChanged } from "./keep-method";
import { instrumentFor } from "../records/item";
import { PlanPreview } from "../views/plan-preview";
import { Complaint } from "../nav/keep";
import { useLink } from "../nav/status";
import { kindForms } from "../words/kind-forms";
import { FormFields } from "./fields";
import { type Doc, documentOf } from "./form";
import { recordOf, tried } from "./trial";
import { useForm } from "./use-form";

const usualCautions: { [kind: string]: string[] } = {
  leak: ["lock_out", "stand_aside", "stored_energy", "vent", "vacuum"],
  switch: ["lock_out", "vent"],
  burst: ["stand_aside", "stored_energy", "vent"],
};
const flight = ["flight", "vacuum"];

const unsteady = 250;

/**
 * EditKind changes a method for another kind of work than a gauge's, or begins one. Saving makes a
 * draft.
 */
export function EditKind({
  method,
  kind,
  onDone,
}: {
  method: RecordState | undefined;
  kind: string;
  onDone: (said: string) => void;
}) {
  const form = kindForms[kind];
  const [name, setName] = useState(method ? text(method, "name") : "");
  const { k, typed, wrong, change, clear, refuse } = useForm(
    form?.method ?? [],
    method ? object(method, "definition") : (form?.usual ?? {}),
  );
  const [cautions, setCautions] = useState(
    method ? list(method, "cautions").map(asText) : (usualCautions[kind] ?? flight),
  );
  const [example, setExample] = useState(form?.example ?? { low: "0", high: "10", unit: "bar" });
  const [shown, show] = useState<Doc | undefined>();
  const [own] =
    useLive(
      () => (method ? byKey(keyTo.method(method.id), 1) : Promise.resolve([])),
      (n) => n.kinds.includes("instrument"),
      [method?.id],
    ) ?? [];
  const user = useLink().user?.id ?? "";
  const [why, setWhy] = useState(draftsOf(method).find((d) => d.user === user)?.why ?? "");
  const typical: Doc = {
    low: readDecimal(example.low) ?? example.low,
    high: readDecimal(example.high) ?? example.high,
    unit: example.unit.trim(),
    ...(example.mode ? { mode: example.mode } : {}),
    particulars: form?.parts(example.high) ?? {},
  };
  const trial = async (): Promise<Doc> => (own ? instrumentFor(own) : typical);
  const key = JSON.stringify([typed, own ?? typical]);
  useEffect(() => {
    let here = true;
    const t = setTimeout(() => {
      const read = documentOf(form?.method ?? [], typed);
      if ("error" in read) return show(undefined);
      trial()
        .then((instrument) => tried(read.doc, instrument, form?.method ?? [], form?.particulars ?? []))
        .then(
          (refused) => here && show(refused ? undefined : read.doc),
          (e: unknown) => console.error(e),
        );
    }, unsteady);
    return () => {
      here = false;
      clearTimeout(t);
    };
  }, [key]);
  if (!form) return null;
  const named = (t: string) => {
    setName(t);
    clear();
  };
  const go = () =>
    k.keep(async () => {
      clear();
      if (name.trim() === "") return refuse({ path: "name", error: w.needed(methodsWords.name) });
      const read = documentOf(form.method, typed);
      if ("error" in read) return refuse(read);
      const refused = await tried(read.doc, await trial(), form.method, form.particulars);
      if (refused) return refuse({ path: refused.of === "method" ? refused.path : refused.of, error: refused.error });
      const wanted = { name: name.trim(), definition: { ...read.doc, kind }, cautions };
      if (lacksReason(method, wanted, why)) return refuse({ path: "why", error: w.needed(methodsWords.why) });
      onDone(await keepMethod(method, user, wanted, why.trim()));
    });
  return (
    <section class="office-form method-form" aria-label={method ? methodsWords.edit : w.title(w.kinds[kind] ?? kind)}>
      <h2>{method ? methodsWords.edit : w.title(w.kinds[kind] ?? kind)}</h2>
      <p class="quiet">{method ? methodsWords.changeHint : w.usual}</p>
      <Box
        label={methodsWords.name}
        value={name}
        onInput={named}
        {...(wrong?.path === "name" ? { error: wrong.error } : {})}
      />
      {form.particulars.some((f) => f.name === "subscale") ? <p class="caution">{w.remembered}</p> : null}
      <FormFields fields={form.method} typed={typed} onChange={change} wrong={wrong} />
      <CautionBoxes cautions={cautions} onChange={setCautions} />
      {own ? (
        <p class="quiet">{w.tried(text(own, "tag"))}</p>
      ) : (
        <section aria-label={w.triedOn}>
          <h3>{w.triedOn}</h3>
          <div class="columns">
            {(["low", "high", "unit"] as const).map((n) => (
              <Box key={n} label={w[n]} value={example[n]} onInput={(v) => setExample({ ...example, [n]: v })} />
            ))}
          </div>
          {example.mode === undefined ? null : (
            <Choice
              label={w.mode}
              value={example.mode}
              options={w.modes}
              onChange={(mode) => setExample({ ...example, mode })}
            />
          )}
        </section>
      )}
      {inForce(method) ? (
        <WhyChanged why={why} onInput={setWhy} {...(wrong?.path === "why" ? { error: wrong.error } : {})} />
      ) : null}
      <Complaint error={k.error} />
      <div class="buttons">
        <Button kind="main" disabled={k.busy} onClick={go}>
          {methodsWords.keep}
        </Button>
        <Button onClick={() => onDone("")}>{methodsWords.leave}</Button>
      </div>
      {shown ? (
        <PlanPreview
          key={JSON.stringify(shown)}
          method={undefined}
          definition={shown}
          instrument={own ?? recordOf(typical, "")}
        />
      ) : null}
    </section>
  );
}
