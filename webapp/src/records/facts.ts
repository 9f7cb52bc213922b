import { readField, readValue } from "../wire/read";
import { modeless } from "../wire/calculations.gen";
import { asObject, asText, type Json, type RecordState } from "../wire/records";
import { showDecimal, words } from "../words/words";

/**
 * showRange writes a range as people say it: 0 to 10 bar, gauge. A speed or an altitude is neither
 * gauge nor absolute.
 */
export function showRange(range: Json | undefined): string {
  const { low, high, unit, mode } = readValue("range", range);
  if (unit === "") return "";
  const shown = modeless.has(unit)
    ? ""
    : mode in words.instrument.mode
      ? words.instrument.mode[mode as keyof typeof words.instrument.mode]
      : mode;
  return `${showDecimal(low)} … ${showDecimal(high)} ${unit}${shown ? ` ${shown}` : ""}`;
}

/** showLimit writes an instrument's limit. Parts that it does not know are shown by their names. */
export function showLimit(limit: Json | undefined, unit: string): string {
  return Object.entries(asObject(limit))
    .filter(([, v]) => typeof v === "string" || typeof v === "number")
    .map(([name, v]) => {
      const n = showDecimal(asText(v));
      if (name === "absolute") return `± ${n} ${unit}`;
      const w = words.instrument.limits;
      if (name === "rule")
        return asText(v) in words.instrument.rules
          ? words.instrument.rules[v as keyof typeof words.instrument.rules]
          : "";
      return name in w ? w[name as keyof typeof w](n) : `${name.replaceAll("_", " ")} ${n}`;
    })
    .filter((part) => part !== "")
    .join(", ");
}

/** unitOf gives the unit of an instrument's range. */
export function unitOf(instrument: RecordState): string {
  return readField("instrument", instrument, "range").unit;
}
