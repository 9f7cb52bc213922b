import { useEffect, useState } from "preact/hooks";
import { CalcError, call } from "../../calc/calc";
import { Field } from "../../parts/field";
import type { PreviewOutput } from "../../wire/calculations.gen";
import { methodsWords as w } from "../../words/methods";
import { readDecimal, showDecimal, words } from "../../words/words";
import { type Step, stepsOf } from "../../records/run";
import { type Doc, definitionOf, type MethodForm, type Wrong, wrongOf } from "./methods-data";

/** An instrument on which a method is tried. */
export type Example = { low: string; high: string; unit: string };

export const usualExample: Example = { low: "0", high: "10", unit: "bar" };

function instrument(e: Example): Doc {
  return {
    low: readDecimal(e.low) ?? e.low,
    high: readDecimal(e.high) ?? e.high,
    unit: e.unit.trim(),
    mode: "gauge",
    limit: { rule: "terms", of_span_percent: "1" },
  };
}

/**
 * tryOut asks the calculation for the plan of a method and whether it can judge by it. A refusal is
 * named with its field.
 */
export async function tryOut(definition: Doc, example: Example): Promise<{ plan: PreviewOutput } | Wrong> {
  try {
    const plan = await call("preview", { method: definition, instrument: instrument(example) });
    await call("evaluate", { method: definition, instrument: instrument(example), captures: [], complete: false });
    return { plan };
  } catch (e) {
    if (!(e instanceof CalcError)) throw e;
    return wrongOf(e.field, e.message);
  }
}

function worded(s: Step): string {
  const at = `${showDecimal(s.target)} ${s.unit}`;
  switch (s.do) {
    case "exercise":
      return w.step.exercise(at, s.count);
    case "vent":
      return w.step.vent;
    case "set":
      return w.step.set(at);
    case "hold":
      return w.step.hold(`${s.seconds} ${w.seconds}`);
    case "read":
      return w.step.read(at);
    default:
      return s.text || s.do;
  }
}

/** Preview shows a method's plan on an instrument: how many readings, how long, and every step. */
export function Preview({ form }: { form: MethodForm }) {
  const [example, setExample] = useState(usualExample);
  const [plan, setPlan] = useState<PreviewOutput | undefined>();
  const [error, setError] = useState("");
  const key = JSON.stringify([form, example]);
  useEffect(() => {
    let here = true;
    const t = setTimeout(() => {
      const read = definitionOf(form);
      if ("error" in read) return setError(read.error);
      tryOut(read.definition, example).then(
        (r) => {
          if (!here) return;
          if ("error" in r) return setError(r.error);
          setError("");
          setPlan(r.plan);
        },
        (e: unknown) => {
          console.error(e);
          if (here) setError(words.shell.broken);
        },
      );
    }, 200);
    return () => {
      here = false;
      clearTimeout(t);
    };
  }, [key]);
  const steps = stepsOf(plan);
  return (
    <section aria-label={w.preview}>
      <h2>{w.preview}</h2>
      <div class="columns">
        {(["low", "high", "unit"] as const).map((n) => (
          <Field
            key={n}
            label={`${w.example}: ${w[n].toLowerCase()}`}
            value={example[n]}
            onInput={(v) => setExample({ ...example, [n]: v })}
          />
        ))}
      </div>
      {error === "" ? null : (
        <p role="status" class="caution">
          {error}
        </p>
      )}
      {plan && error === "" ? (
        <>
          <p role="status">
            {w.sums(plan.readings, plan.screens, w.duration(Math.floor(plan.minutes / 60), plan.minutes % 60))}
          </p>
          <details class="opened">
            <summary>{w.steps}</summary>
            <ol class="plan-steps">
              {steps.map((s) => (
                <li key={s.id} class={s.do}>
                  {worded(s)}
                </li>
              ))}
            </ol>
          </details>
        </>
      ) : null}
    </section>
  );
}
