import { isVerdict, Mark } from "../../parts/mark";
import { budgetWords } from "../../words/budget";
import { visitWords } from "../../words/visit";
import { showDecimal } from "../../words/words";
import { showNear, showSmall } from "./budget-data";
import type { Reading } from "./sheet";

const w = visitWords.result;

/** Readings is the table of a run's readings: point, error, limit, expanded uncertainty and verdict. */
export function Readings({ label, readings, expanded, unit }: { label: string; readings: Reading[]; expanded: Map<number, number>; unit: string }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard
    <section class="scroll" tabIndex={0} aria-label={`${label}: ${w.table}`}>
      <table class="readings">
        <thead>
          <tr>
            <th scope="col">{`${w.point}, ${unit}`}</th>
            <th scope="col" class="number">
              {w.error}
            </th>
            <th scope="col" class="number">
              {w.limit}
            </th>
            {expanded.size > 0 ? (
              <th scope="col" class="number">
                <abbr title={budgetWords.uncertaintyTold}>{budgetWords.uncertainty}</abbr>
              </th>
            ) : null}
            <th scope="col">{w.verdict}</th>
          </tr>
        </thead>
        <tbody>
          {readings.map((r) => {
            const u = expanded.get(Number(r.point));
            return (
              <tr key={r.step}>
                <td>
                  {showNear(r.applied, u)} <span aria-hidden="true">{r.direction === "down" ? "\u2193" : "\u2191"}</span>
                  <span class="unseen">{r.direction === "down" ? w.down : w.up}</span>
                </td>
                <td class="number">{showNear(r.error, u)}</td>
                <td class="number">{`\u00b1 ${showDecimal(r.high)}`}</td>
                {expanded.size > 0 ? <td class="number">{showSmall(u)}</td> : null}
                <td>{isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}</td>
              </tr>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}
