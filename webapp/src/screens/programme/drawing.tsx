import { useState } from "preact/hooks";
import { useCalc } from "../../nav/use-calc";
import { Button } from "../../parts/button";
import { TraceChart } from "../../parts/trace-chart";
import { because } from "../../words/course";
import { programmeWords as w } from "../../words/programme";
import { showDecimal } from "../../words/words";
import { type Checked, unitOf } from "../../records/programme";
import { wayWords } from "../../words/way";

/**
 * Drawing shows a programme's pressure over time with the limits, and a dry run with invented
 * readings.
 */
export function Drawing({ checked }: { checked: Checked }) {
  const [seed, setSeed] = useState(1);
  const { unit } = unitOf(checked.text);
  const { low, high, standardHigh: other, rate } = checked.limits;
  const asked = { programme: checked.text, seed, ...(rate > 0 ? { max_rate: rate } : {}) };
  const dry = useCalc("rehearse", asked);
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
              {w.steps[r.do] ?? r.do} {r.name ?? r.text} {r.target ? `${showDecimal(r.target)} ${r.unit ?? ""}` : ""}
              {r.value === undefined ? null : (
                <>
                  {" \u2192 "}
                  <em>{/^-?[\d.]/.test(r.value) ? `${showDecimal(r.value)} ${r.unit ?? ""}` : r.value}</em>
                </>
              )}
            </li>
          ))}
        </ol>
        {dry.branches.map((b, i) => (
          <p key={i} class="small">
            {because(b.reason, b.taken)}
          </p>
        ))}
        {dry.stop === undefined ? null : <p class="small">{wayWords.stopped(dry.stop)}</p>}
        {dry.finished ? null : <p class="small">{w.dryCut}</p>}
        <Button size="tall" onClick={() => setSeed(seed + 1)}>
          {w.drySeed(seed)}
        </Button>
      </section>
    </>
  );
}
