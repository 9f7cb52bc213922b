import { isVerdict, Mark } from "../../parts/mark";
import { asNumber, asObject, asText, type RecordState } from "../../wire/records";
import { visitWords } from "../../words/visit";
import { showDecimal } from "../../words/words";
import type { Finding } from "./kinds/kind";
import { useOwn } from "./kinds";

const w = visitWords.result;

const digits = new Intl.NumberFormat("en", { maximumSignificantDigits: 6, useGrouping: false, notation: "standard" });

/** shown writes a calculated number with six figures; very small and very large ones with a power of ten. */
export function shown(n: number): string {
  if (n === 0) return "0";
  const size = Math.abs(n);
  if (size >= 1e-4 && size < 1e9) return showDecimal(digits.format(n));
  const [mantissa, power] = n.toExponential(3).split("e");
  return `${showDecimal(Number(mantissa))}\u00a0\u00b7\u00a010^${showDecimal(Number(power))}`;
}

/** allowed says between which limits a result may lie. */
export function allowed(low: number | undefined, high: number | undefined): string {
  if (low === undefined && high === undefined) return "";
  if (low === undefined) return `\u2264 ${shown(high ?? 0)}`;
  if (high === undefined) return `\u2265 ${shown(low)}`;
  return low === -high ? `\u00b1 ${shown(high)}` : `${shown(low)} \u2026 ${shown(high)}`;
}

/** Results is the table of a finding's results: each figure, what it is held against, its uncertainty and its verdict. */
export function Results({ finding }: { finding: Finding }) {
  const list = finding["results"];
  if (!Array.isArray(list) || list.length === 0) return null;
  const rows = list.map(asObject);
  const uncertain = rows.some((r) => asNumber(r["expanded"]) !== undefined);
  const sources = [...new Set(rows.map((r) => asText(r["source"])).filter((t) => t !== ""))];
  return (
    <>
      <table aria-label={w.results}>
        <thead>
          <tr>
            <th scope="col">{w.figure}</th>
            <th scope="col" class="number">
              {w.value}
            </th>
            {uncertain ? (
              <th scope="col" class="number">
                U
              </th>
            ) : null}
            <th scope="col" class="number">
              {w.limit}
            </th>
            <th scope="col" />
          </tr>
        </thead>
        <tbody>
          {rows.map((r) => (
            <tr key={asText(r["name"])}>
              <td>
                {asText(r["name"])}
                {asText(r["reason"]) ? <span class="quiet small">{` ${asText(r["reason"])}`}</span> : null}
              </td>
              <td class="number">{`${shown(asNumber(r["value"]) ?? 0)} ${asText(r["unit"])}`}</td>
              {uncertain ? <td class="number">{asNumber(r["expanded"]) === undefined ? "" : shown(asNumber(r["expanded"]) ?? 0)}</td> : null}
              <td class="number">{allowed(asNumber(r["limit_low"]), asNumber(r["limit_high"]))}</td>
              <td>{isVerdict(r["verdict"]) ? <Mark verdict={r["verdict"]} /> : null}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {sources.map((t) => (
        <p key={t} class="quiet small">
          {t}
        </p>
      ))}
    </>
  );
}

/** OwnResult is what a visit's kind of work draws of a closed run. */
export function OwnResult({ visit, run, finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  const Own = useOwn(visit).Result;
  return Own ? <Own visit={visit} run={run} finding={finding} /> : null;
}

/** OwnResults is what the result of a kind of work other than the gauge's shows: its drawing and the table. */
export function OwnResults({ visit, run, finding }: { visit: RecordState; run: RecordState; finding: Finding }) {
  return (
    <>
      <OwnResult visit={visit} run={run} finding={finding} />
      <Results finding={finding} />
    </>
  );
}
