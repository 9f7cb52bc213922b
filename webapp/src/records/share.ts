import { asNumber, asObject, asText, type Json } from "../wire/records";

/**
 * shareOf gives how much of its limit a finding's results take up at most; undefined where none has
 * a limit.
 */
export function shareOf(results: Json | undefined): number | undefined {
  if (!Array.isArray(results)) return undefined;
  const shares = results.map(asObject).flatMap((r) => {
    const v = asNumber(r["value"]);
    const low = asNumber(r["limit_low"]);
    const high = asNumber(r["limit_high"]);
    if (v === undefined || asText(r["verdict"]) === "") return [];
    if (low !== undefined && high !== undefined && high > low)
      return [Math.abs(v - (low + high) / 2) / ((high - low) / 2)];
    if (high !== undefined && high > 0) return [Math.max(0, v) / high];
    if (low !== undefined && low > 0 && v > 0) return [low / v];
    return [];
  });
  return shares.length > 0 ? Math.max(...shares) : undefined;
}
