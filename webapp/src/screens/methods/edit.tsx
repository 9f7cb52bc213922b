import { useState } from "preact/hooks";
import { Button } from "../../parts/button";
import { Check } from "../../parts/check";
import { Choice, Field } from "../../parts/field";
import { asText, list, object, type RecordState, text } from "../../wire/records";
import { methodsWords as w } from "../../words/methods";
import { Complaint, useKeep } from "../../nav/keep";
import { useLink } from "../../nav/status";
import { CautionBoxes, draftsOf, inForce, keepMethod, lacksReason, WhyChanged } from "../../forms/keep-method";
import {
  type By,
  type Doc,
  definitionOf,
  formOf,
  type MethodForm,
  type Rule,
  type SeriesForm,
  type Wrong,
} from "./methods-data";
import { Preview, tryOut, usualExample } from "./preview";
import { RuleChart } from "./rule-chart";

const nextSeries: SeriesForm = { direction: "up", remount: false, exercise: "", percents: "" };

type Put = <K extends keyof MethodForm>(name: K, v: MethodForm[K]) => void;

function SeriesList({ form, put, wrong }: { form: MethodForm; put: Put; wrong: Wrong | undefined }) {
  const change = (i: number, more: Partial<SeriesForm>) =>
    put(
      "series",
      form.series.map((s, n) => (n === i ? { ...s, ...more } : s)),
    );
  const bad = (field: string) => (wrong?.field === field ? { error: wrong.error } : {});
  return (
    <ol class="series">
      {form.series.map((s, i) => (
        <li key={i}>
          <Choice
            label={w.seriesDirection(i + 1)}
            value={s.direction}
            onChange={(direction) => change(i, { direction })}
            options={[
              ["up", w.direction.up],
              ["down", w.direction.down],
            ]}
          />
          {i > 0 ? (
            <Check label={w.remount(i + 1)} checked={s.remount} onChange={(remount) => change(i, { remount })} />
          ) : null}
          <div class="columns">
            <Field
              label={w.seriesExercise(i + 1)}
              value={s.exercise}
              inputMode="numeric"
              onInput={(exercise) => change(i, { exercise })}
              {...bad(`exercise ${i}`)}
            />
            <Field
              label={w.seriesPercents(i + 1)}
              value={s.percents}
              hint={w.allPoints}
              onInput={(percents) => change(i, { percents })}
              {...bad(`percents ${i}`)}
            />
          </div>
          {form.series.length > 1 ? (
            <Button
              kind="quiet"
              onClick={() =>
                put(
                  "series",
                  form.series.filter((_, n) => n !== i),
                )
              }
            >
              {w.removeSeries(i + 1)}
            </Button>
          ) : null}
        </li>
      ))}
      <li>
        <Button
          onClick={() =>
            put("series", [
              ...form.series,
              { ...nextSeries, direction: form.series.at(-1)?.direction === "up" ? "down" : "up" },
            ])
          }
        >
          {w.addSeries}
        </Button>
      </li>
    </ol>
  );
}

function Decision({ form, put, wrong }: { form: MethodForm; put: Put; wrong: Wrong | undefined }) {
  const field = (name: "guard_factor" | "min_probability" | "coverage" | "needed_ratio", hint?: string) => (
    <Field
      label={w[name]}
      value={form[name]}
      inputMode="decimal"
      onInput={(v) => put(name, v)}
      {...(hint === undefined ? {} : { hint })}
      {...(wrong?.field === name ? { error: wrong.error } : {})}
    />
  );
  return (
    <>
      <Choice
        label={w.decision}
        value={form.rule}
        onChange={(v) => put("rule", v)}
        options={Object.entries(w.rules) as [Rule, string][]}
      />
      {form.rule === "guarded" || form.rule === "guarded-four" ? field("guard_factor") : null}
      {form.rule === "probability" ? field("min_probability") : null}
      <div class="columns">
        {field("coverage", w.coverageHint)}
        {field("needed_ratio", w.ratioHint)}
      </div>
      <h2>{w.drawn}</h2>
      <RuleChart form={form} />
    </>
  );
}

/** EditMethod changes a gauge method, or begins one. Saving makes a draft. */
export function EditMethod({
  method,
  start,
  onDone,
}: {
  method: RecordState | undefined;
  start: { name: string; definition: Doc } | undefined;
  onDone: (said: string) => void;
}) {
  const [name, setName] = useState(method ? text(method, "name") : (start?.name ?? ""));
  const [form, setForm] = useState<MethodForm>(
    formOf(method ? object(method, "definition") : (start?.definition ?? {})),
  );
  const [cautions, setCautions] = useState<string[]>(list(method, "cautions").map(asText));
  const [wrong, setWrong] = useState<Wrong | undefined>();
  const k = useKeep();
  const user = useLink().user?.id ?? "";
  const [why, setWhy] = useState(draftsOf(method).find((d) => d.user === user)?.why ?? "");
  const put: Put = (n, v) => setForm((old) => ({ ...old, [n]: v }));
  const bad = (field: string) => (wrong?.field === field ? { error: wrong.error } : {});
  const number = (
    n: "count" | "values" | "percents" | "cycles" | "exercise" | "exercise_hold_s" | "rest_s" | "hold_s" | "hold_top_s",
    unit?: string,
  ) => (
    <Field
      label={w[n]}
      value={form[n]}
      onInput={(v) => put(n, v)}
      inputMode={n === "values" ? "text" : "decimal"}
      {...(unit ? { unit } : {})}
      {...bad(n)}
    />
  );
  const go = () =>
    k.keep(async () => {
      setWrong(undefined);
      const refuse = (w: Wrong) => {
        setWrong(w);
        k.say(w.error);
      };
      if (name.trim() === "") return refuse({ field: "name", error: w.needed(w.name) });
      const read = definitionOf(form);
      if ("error" in read) return refuse(read);
      const tried = await tryOut(read.definition, usualExample);
      if ("error" in tried) return refuse(tried);
      const wanted = { name: name.trim(), definition: { ...read.definition, kind: "gauge" }, cautions };
      if (lacksReason(method, wanted, why)) return refuse({ field: "why", error: w.needed(w.why) });
      onDone(await keepMethod(method, user, wanted, why.trim()));
    });
  return (
    <section class="office-form method-form" aria-label={method ? w.edit : w.new}>
      <h2>{method ? w.edit : w.new}</h2>
      <p class="quiet">{w.changeHint}</p>
      <Field label={w.name} value={name} onInput={setName} {...bad("name")} />
      <Choice
        label={w.points}
        value={form.by}
        onChange={(v) => put("by", v)}
        options={Object.entries(w.pointsBy) as [By, string][]}
      />
      {number(form.by)}
      <Choice
        label={w.order}
        value={form.order}
        onChange={(v) =>
          setForm({
            ...form,
            order: v,
            series: form.series.length > 0 ? form.series : [nextSeries, { ...nextSeries, direction: "down" }],
          })
        }
        options={Object.entries(w.orders) as [MethodForm["order"], string][]}
      />
      {form.order === "plain" ? (
        <>
          <Choice
            label={w.directions}
            value={form.directions}
            onChange={(v) => put("directions", v)}
            options={[
              ["up", w.direction.up],
              ["up-down", w.direction["up-down"]],
            ]}
          />
          {number("cycles")}
        </>
      ) : (
        <SeriesList form={form} put={put} wrong={wrong} />
      )}
      <div class="columns">
        {number("exercise")}
        {number("exercise_hold_s", w.seconds)}
        {number("rest_s", w.seconds)}
        {number("hold_s", w.seconds)}
        {number("hold_top_s", w.seconds)}
      </div>
      <Check label={w.tap} checked={form.tap} onChange={(v) => put("tap", v)} />
      <Choice
        label={w.way}
        value={form.way}
        onChange={(v) => put("way", v)}
        options={Object.entries(w.ways) as [MethodForm["way"], string][]}
      />
      <Decision form={form} put={put} wrong={wrong} />
      <CautionBoxes cautions={cautions} onChange={setCautions} />
      <Preview form={form} />
      {inForce(method) ? <WhyChanged why={why} onInput={setWhy} {...bad("why")} /> : null}
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
