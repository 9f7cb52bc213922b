import { showDecimal } from "../../words/words";

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
