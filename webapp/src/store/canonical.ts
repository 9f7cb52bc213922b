import type { Json } from "../wire/records";

/**
 * canonical writes JSON in the one form of RFC 8785. Its strings and numbers are those of
 * JSON.stringify, and its names are in the order of their UTF-16 code units, which is how
 * JavaScript sorts. Refuses: RangeError for what is no JSON number, or half a character.
 */
export function canonical(v: Json): string {
  if (typeof v === "number" && !Number.isFinite(v)) throw new RangeError("no number of JSON");
  if (typeof v === "string" && /\p{Surrogate}/u.test(v)) throw new RangeError("half a character");
  if (v === null || typeof v !== "object") return JSON.stringify(v);
  if (Array.isArray(v)) return `[${v.map(canonical).join(",")}]`;
  const names = Object.keys(v).sort();
  return `{${names.map((n) => `${canonical(n)}:${canonical(v[n] ?? null)}`).join(",")}}`;
}
