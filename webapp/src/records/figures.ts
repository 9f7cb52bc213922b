import type { FiguresInput } from "../wire/calculations.gen";
import { readField } from "../wire/read";
import { asNumber, type RecordState } from "../wire/records";
import type { Result } from "./finding";
import { showDecimal } from "../words/words";

const digits = new Intl.NumberFormat("en", { maximumSignificantDigits: 6, useGrouping: false, notation: "standard" });

/**
 * shown writes a calculated number with six digits; very small and very large numbers with a power
 * of ten.
 */
export function shown(n: number): string {
  if (n === 0) return "0";
  const size = Math.abs(n);
  if (size >= 1e-4 && size < 1e9) return showDecimal(digits.format(n));
  const [mantissa, power] = n.toExponential(3).split("e");
  return showDecimal(`${Number(mantissa)}e${power}`);
}

/**
 * figuresAsked writes the input of figures for the results of a finding, in the instrument's range.
 */
export function figuresAsked(results: readonly Result[], visit: RecordState): FiguresInput {
  const { range, resolution } = readField("visit", visit, "item");
  const high = asNumber(range.high);
  return {
    results: results.map(({ value = 0, expanded, limit_low, limit_high, unit = "" }) => ({
      value,
      ...(expanded === undefined ? {} : { expanded }),
      ...(limit_low === undefined ? {} : { limit_low }),
      ...(limit_high === undefined ? {} : { limit_high }),
      unit,
    })),
    instrument: { unit: range.unit, resolution, ...(high === undefined ? {} : { high }) },
  };
}

/** allowed writes the limits of a result. */
export function allowed(low: number | undefined, high: number | undefined): string {
  if (low === undefined && high === undefined) return "";
  if (low === undefined) return `\u2264 ${shown(high ?? 0)}`;
  if (high === undefined) return `\u2265 ${shown(low)}`;
  return low === -high ? `\u00b1 ${shown(high)}` : `${shown(low)} \u2026 ${shown(high)}`;
}
