import { useEffect, useState } from "preact/hooks";
import { call } from "../../calc/calc";
import { Button } from "../../parts/button";
import { TraceChart } from "../../parts/trace-chart";
import { asNumber, asObject, asText } from "../../wire/records";
import { because } from "../../words/course";
import { programmeWords as w } from "../../words/programme";
import { showDecimal } from "../../words/words";
import { type Dry, dryRun } from "./dry-run";
import { type Checked, unitOf } from "../../records/programme";
import { wayWords } from "../../words/way";

/** highest finds the highest pressure that a text names, to invent readings of its size. */
function highest(checked: Checked): number {
  const all = [...checked.text.matchAll(/(?:set|ramp|to) (-?[\d.]+(?:e[-+]?\d+)?)/gi)].map((m) =>
    Math.abs(Number(m[1])),
  );
  return Math.max(1e-9, ...all.filter(Number.isFinite));
}

async function base(unit: string, mode: string): Promise<number> {
  if (mode !== "absolute") return 0;
  return asNumber(asObject(await call("units", { quantity: "101325 Pa", to: unit }))["value"]) ?? 0;
}

/**
 * Drawing shows a programme's pressure over time with the limits, and a dry run with invented
 * readings.
 */
export function Drawing({ checked }: { checked: Checked }) {
  const [seed, setSeed] = useState(1);
  const [dry, set] = useState<Dry | undefined>();
  const { unit, mode } = unitOf(checked.text);
  const full = highest(checked);
  const { low, high, standardHigh: other, rate } = checked.limits;
  useEffect(() => {
    let here = true;
    set(undefined);
    base(unit, mode)
      .then((b) => dryRun(checked.text, unit, seed, full, rate > 0 ? rate : full / 15, b, () => here))
      .then(
        (d) => here && set(d),
        (e: unknown) => console.error(e),
      );
    return () => {
      here = false;
    };
  }, [checked.text, seed, rate]);
  if (!dry) return null;
  const end = dry.t.at(-1) ?? 0;
  return (
    <>
      <h2>{w.drawing}</h2>
      <TraceChart
        t={dry.t}
        p={dry.p}
        unit={unit}
        label={w.drawing}
        band={high > low ? [low, high] : undefined}
        allowed={
          Number.isFinite(other)
            ? [
                { t: 0, p: other },
                { t: end, p: other },
              ]
            : undefined
        }
      />
      <p class="small quiet">{w.drawingHint}</p>
      <section class="dry-run" aria-label={w.dry}>
        <h2>{w.dry}</h2>
        <p class="caution">{w.dryMark}</p>
        <ol class="small">
          {dry.rows.map((r) => (
            <li key={r.id}>
              {w.steps[r.do] ?? r.do} {r.name || r.text} {r.target === "" ? "" : `${showDecimal(r.target)} ${r.unit}`}
              {r.value === "" ? null : (
                <>
                  {" \u2192 "}
                  <em>{/^-?[\d.]/.test(r.value) ? `${showDecimal(r.value)} ${r.unit}` : r.value}</em>
                </>
              )}
            </li>
          ))}
        </ol>
        {dry.reasons.map((b, i) => (
          <p key={i} class="small">
            {because(b.reason, asText(b.taken))}
          </p>
        ))}
        {dry.stop === "" ? null : <p class="small">{wayWords.stopped(dry.stop)}</p>}
        {dry.finished ? null : <p class="small">{w.dryCut}</p>}
        <Button size="tall" onClick={() => setSeed(seed + 1)}>
          {w.drySeed(seed)}
        </Button>
      </section>
    </>
  );
}
