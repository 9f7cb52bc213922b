import { useEffect, useState } from "preact/hooks";
import { cautionWords } from "../words/cautions";
import { CalcError, call } from "../calc/calc";
import { readField } from "../wire/read";
import { asNumber, asObject, type Json, type RecordState, text } from "../wire/records";
import { programmeWords as w } from "../words/programme";
import { visitWords } from "../words/visit";
import { words } from "../words/words";
import { amount, instruction } from "./instruct";
import { type Step, stepsOf } from "../records/run";
import { asText } from "../wire/records";
import { instrumentFor } from "../records/item";
import { cautionsOf, type Doc } from "../records/programme";

/**
 * needsOf gives what a plan needs besides the instrument: the highest pressure, a vacuum, a
 * standard, a thermometer and so on.
 */
export function needsOf(steps: Step[], mode: string): string[] {
  const n = w.needsList;
  const targets = steps.filter(
    (s) => ["set", "ramp", "exercise"].includes(s.do) && s.target !== "" && Number.isFinite(Number(s.target)),
  );
  const order = [...targets].sort((a, b) => Number(a.target) - Number(b.target));
  const low = order[0];
  const high = order.at(-1);
  const asked = (s: Step) => asText(s.plan["text"]).toLowerCase();
  const asks = (what: RegExp) =>
    steps.some((s) => (s.do === "read" || s.do === "ask") && (what.test(s.unit) || what.test(asked(s))));
  return [
    high && Number(high.target) > 0 ? n.pressure(amount(high.target, high.unit)) : "",
    low && mode !== "absolute" && Number(low.target) < 0 ? n.vacuum(amount(low.target, low.unit)) : "",
    steps.some((s) => s.do === "read" && (s.of === "applied" || s.of === "indicated")) ? n.standard : "",
    asks(/°C|degC|temperature|thermometer/) ? n.thermometer : "",
    asks(/^hPa$|barometer/) ? n.barometer : "",
    steps.some((s) => s.as === "photo") ? n.camera : "",
    steps.some((s) => s.many || s.trace) ? n.logger : "",
    steps.some((s) => s.do === "ramp" && s.until === "drop") ? n.shield : "",
  ].filter((x) => x !== "");
}

/**
 * PlanPreview shows a method's plan on an instrument, for any kind of work: its steps, their time,
 * its cautions and what it needs.
 */
export function PlanPreview({
  method,
  definition,
  instrument,
}: {
  method: RecordState | undefined;
  definition: Doc;
  instrument: RecordState;
}) {
  const [plan, set] = useState<Doc | string | undefined>();
  const key = JSON.stringify([definition, instrument.id]);
  useEffect(() => {
    let here = true;
    const plan = async () => call("expand", { method: definition, instrument: await instrumentFor(instrument) });
    plan().then(
      (p: Json) => here && set(asObject(p)),
      (e: unknown) => {
        if (!(e instanceof CalcError)) console.error(e);
        if (here) set(e instanceof CalcError ? e.message : words.shell.broken);
      },
    );
    return () => {
      here = false;
    };
  }, [key]);
  if (plan === undefined) return null;
  if (typeof plan === "string") return <p class="caution">{w.unplanned(plan)}</p>;
  const steps = stepsOf(plan);
  const range = readField("instrument", instrument, "range");
  const top = amount(range.high, range.unit);
  const needs = needsOf(steps, range.mode);
  const cautions = [...cautionsOf(method), ...cautionsOf(instrument)];
  return (
    <section aria-label={w.preview}>
      <h2>
        {w.preview} <span class="quiet">{text(instrument, "tag")}</span>
      </h2>
      <p>
        {w.previewSums(
          steps.length,
          steps.filter((s) => s.do === "read").length,
          visitWords.seconds(Math.round(asNumber(plan["duration_s"]) ?? 0)),
        )}
      </p>
      {needs.length === 0 ? null : (
        <p>
          {w.needs}: {needs.join(", ")}
        </p>
      )}
      {cautions.length === 0 ? null : (
        <ul>
          {[...new Set(cautions)].map((c) => (
            <li key={c}>{cautionWords.codes[c] ?? c.replaceAll("_", " ")}</li>
          ))}
        </ul>
      )}
      <ol class="plan-steps">
        {steps.map((s) => (
          <li key={s.id} class={s.do}>
            {instruction(s, top)}
          </li>
        ))}
      </ol>
    </section>
  );
}
