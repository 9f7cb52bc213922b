import { showDecimal } from "../words/words";

const digits = new Intl.NumberFormat("en", { maximumSignificantDigits: 6, useGrouping: false, notation: "standard" });

/**
 * shown writes a calculated number with six figures; very small and very large ones with a power of
 * ten.
 */
export function shown(n: number): string {
  if (n === 0) return "0";
  const size = Math.abs(n);
  if (size >= 1e-4 && size < 1e9) return showDecimal(digits.format(n));
  const [mantissa, power] = n.toExponential(3).split("e");
  return showDecimal(`${Number(mantissa)}e${power}`);
}

/** What a result may be rounded by. */
export type Grain = {
  expanded?: number | undefined;
  limits?: (number | undefined)[];
  resolution?: string | undefined;
  size?: number | undefined;
};

/**
 * rounded takes off what a number's uncertainty (two figures of it), else the resolution (one
 * figure more) says nothing about, and what is only the noise of
 * calculating in binary, beside its limits. For showing only: the document keeps the whole number.
 */
export function rounded(n: number, by: Grain): number {
  const u = by.expanded ?? 0;
  const places = by.resolution ? (by.resolution.split(".")[1] ?? "").length + 1 : undefined;
  const digits = u > 0 ? 1 - Math.floor(Math.log10(u)) : places;
  const limits = (by.limits ?? []).filter((l) => l !== undefined);
  if (digits !== undefined) {
    const step = 10 ** -digits;
    const near = Math.round(n / step) * step || 0;
    if (limits.every((l) => Math.sign(near - l) === Math.sign(n - l))) return near; // never on the other side of a limit, nor on it
  }
  return Math.abs(n) < Math.max(by.size ?? 0, ...limits.map(Math.abs)) * 1e-9 ? 0 : n;
}

/** allowed says between which limits a result may lie. */
export function allowed(low: number | undefined, high: number | undefined): string {
  if (low === undefined && high === undefined) return "";
  if (low === undefined) return `\u2264 ${shown(high ?? 0)}`;
  if (high === undefined) return `\u2265 ${shown(low)}`;
  return low === -high ? `\u00b1 ${shown(high)}` : `${shown(low)} \u2026 ${shown(high)}`;
}
