import { asObject, asText, type Json, object, type RecordState } from "../../wire/records";
import { showDecimal, words } from "../../words/words";

/** showRange writes a range as people say it: 0 to 10 bar, gauge. */
export function showRange(range: Json | undefined): string {
  const r = asObject(range);
  if (asText(r["unit"]) === "") return "";
  const mode = asText(r["mode"]);
  const shown = mode in words.instrument.mode ? words.instrument.mode[mode as keyof typeof words.instrument.mode] : mode;
  return `${showDecimal(asText(r["low"]))} … ${showDecimal(asText(r["high"]))} ${asText(r["unit"])}${shown ? ` ${shown}` : ""}`;
}

/** showLimit writes an instrument's limit; parts it does not know are shown as they are named. */
export function showLimit(limit: Json | undefined, unit: string): string {
  return Object.entries(asObject(limit))
    .filter(([, v]) => typeof v === "string" || typeof v === "number")
    .map(([name, v]) => {
      const n = showDecimal(asText(v));
      if (name === "absolute") return `± ${n} ${unit}`;
      const w = words.instrument.limits;
      if (name === "rule") return asText(v) in words.instrument.rules ? words.instrument.rules[v as keyof typeof words.instrument.rules] : "";
      return name in w ? w[name as keyof typeof w](n) : `${name.replaceAll("_", " ")} ${n}`;
    })
    .filter((part) => part !== "")
    .join(", ");
}

/** identity copies what a visit keeps of an instrument, as it was at that time. */
export function identity(instrument: RecordState): { [name: string]: Json } {
  const copy: { [name: string]: Json } = { instrument: instrument.id };
  for (const field of [
    "tag",
    "serial",
    "description",
    "kind",
    "manufacturer",
    "model",
    "range",
    "resolution",
    "limit",
    "output",
    "temperature_coefficient_percent_per_k",
    "reference_temperature_c",
    "particulars",
    "medium",
    "area",
    "place",
  ]) {
    const v = instrument.fields[field]?.heads[0]?.value;
    if (v !== undefined) copy[field] = v;
  }
  return copy;
}

/** unitOf gives the unit of an instrument's range. */
export function unitOf(instrument: RecordState): string {
  return asText(object(instrument, "range")["unit"]);
}
