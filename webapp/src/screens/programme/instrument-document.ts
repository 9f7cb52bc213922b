import { object, type RecordState, value } from "../../wire/records";
import type { Doc } from "./programme-data";

/** instrumentFor writes an instrument's record as the calculation wants it. */
export function instrumentFor(instrument: RecordState): Doc {
  const range = object(instrument, "range");
  const doc: Doc = {};
  for (const name of ["low", "high", "unit", "mode"]) if (range[name] !== undefined) doc[name] = range[name];
  for (const name of ["resolution", "limit", "output", "temperature_coefficient_percent_per_k", "reference_temperature_c", "particulars"]) {
    const v = value(instrument, name);
    if (v !== undefined) doc[name] = v;
  }
  return doc;
}
