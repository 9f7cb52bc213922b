import { isVerdict, Mark } from "../parts/mark";
import { useCalc } from "../nav/use-calc";
import type { FiguresOutput } from "../wire/calculations.gen";
import type { RecordState } from "../wire/records";
import { visitWords } from "../words/visit";
import { sentence, showDecimal } from "../words/words";
import { type Result, resultsOf } from "../records/finding";
import { allowed, figuresAsked } from "../records/figures";
import type { Finding } from "./kinds/kind";
import { useOwn } from "./kinds";

const w = visitWords.result;

/** figureOf writes a result with its uncertainty and its unit, rounded by the calculation. */
function figureOf({ condition = "", unit = "" }: Result, figure: FiguresOutput["results"][number] | undefined): string {
  if (condition !== "") return condition; // in the calculation's own words
  if (figure === undefined) return "";
  const { value, expanded } = figure;
  return `${showDecimal(value)}${expanded === undefined ? "" : `\u00a0\u00b1\u00a0${showDecimal(expanded)}`} ${unit}`;
}

/**
 * Results is the table of a finding's results: each figure, its limit, its
 * uncertainty and its verdict.
 */
export function Results({ visit, finding }: { visit: RecordState; finding: Finding }) {
  const rows = resultsOf(finding);
  const figures = useCalc("figures", rows.length > 0 ? figuresAsked(rows, visit) : undefined);
  if (rows.length === 0) return null;
  const uncertain = rows.some((r) => r.expanded !== undefined);
  const sources = [...new Set(rows.map((r) => r.source ?? "").filter((t) => t !== ""))];
  return (
    <>
      {/* biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard */}
      <section class="wide-table result-table" tabIndex={0} aria-label={w.results}>
        <table>
          <thead>
            <tr>
              <th scope="col">{w.figure}</th>
              <th scope="col" class="number">
                {uncertain ? w.valueAndU : w.value}
                <span class="quiet small">{w.limit}</span>
              </th>
              <th scope="col">{w.verdict}</th>
            </tr>
          </thead>
          <tbody>
            {rows.map((r, i) => (
              <tr key={i}>
                <td>
                  {sentence(r.name ?? "")}
                  {r.reason ? <span class="quiet small">{` ${sentence(r.reason)}`}</span> : null}
                </td>
                <td class="number">
                  {figureOf(r, figures?.results[i])}
                  <span class="quiet small">{allowed(r.limit_low, r.limit_high)}</span>
                </td>
                <td>{isVerdict(r.verdict) ? <Mark verdict={r.verdict} /> : null}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </section>
      {sources.map((t) => (
        <p key={t} class="quiet small">
          {sentence(t)}
        </p>
      ))}
    </>
  );
}

/** OwnResult is the part that a visit's kind of work draws of a closed run. */
export function OwnResult({ visit, run, finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  const Own = useOwn(visit).Result;
  return Own ? <Own visit={visit} run={run} finding={finding} /> : null;
}

/** OwnResults is the result of a kind of work other than the gauge's: its drawing and the table. */
export function OwnResults({ visit, run, finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  return (
    <>
      <OwnResult visit={visit} run={run} finding={finding} />
      <Results visit={visit} finding={finding} />
    </>
  );
}
