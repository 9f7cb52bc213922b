import { asNumber, asText, type Json, type RecordState, text, value } from "../wire/records";
import { readDecimal } from "../words/words";

type Typed = { [field: string]: string };

/** What a site may state about its gravity: the value itself, or where the site is. */
export const gravityFields = [
  { field: "gravity_m_s2", low: 9, high: 10 },
  { field: "latitude_deg", low: -90, high: 90 },
  { field: "height_m", low: -500, high: 9000 },
] as const;

/**
 * gravityOf gives the gravity for columns on a site; nothing if the site states nothing. A measured
 * value goes before a latitude.
 */
export function gravityOf(site: RecordState | null | undefined): { [name: string]: Json } {
  const said = (field: string): string => asText(value(site ?? undefined, field));
  if (asNumber(said("gravity_m_s2")) !== undefined) return { gravity_m_s2: said("gravity_m_s2") };
  if (asNumber(said("latitude_deg")) === undefined) return {};
  return {
    latitude_deg: said("latitude_deg"),
    ...(asNumber(said("height_m")) === undefined ? {} : { height_m: said("height_m") }),
  };
}

/**
 * readGravity reads what was typed about a site's gravity, empty fields as "". It names the first
 * field that does not fit.
 */
export function readGravity(typed: Typed): { values: Typed } | { field: string; low: number; high: number } {
  const values: Typed = {};
  for (const g of gravityFields) {
    const t = (typed[g.field] ?? "").trim();
    const read = t === "" ? "" : readDecimal(t);
    if (read === undefined || (read !== "" && !(Number(read) >= g.low && Number(read) <= g.high))) return g;
    values[g.field] = read;
  }
  return { values };
}

/** typedOf opens a site's record for typing. */
export function typedOf(site: RecordState): Typed {
  return Object.fromEntries(gravityFields.map((g) => [g.field, text(site, g.field)]));
}
