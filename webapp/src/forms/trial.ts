import { CalcError, call } from "../calc/calc";
import type { Json, RecordState } from "../wire/records";
import { kindsWords as w } from "../words/kinds";
import { type Doc, type Field, placed, type Wrong } from "./form";

/**
 * What the calculation refuses about a method on an instrument: which of the two is wrong, and the
 * field, named in words.
 */
export type Refused = Wrong & { of: "method" | "particulars" | "instrument" };

/** refusalOf finds the form's field that a refusal is about. */
export function refusalOf(
  field: string,
  message: string,
  method: readonly Field[],
  particulars: readonly Field[],
): Refused {
  for (const [of, start, fields] of [
    ["particulars", "instrument.particulars.", particulars],
    ["method", "method.", method],
  ] as const) {
    if (!field.startsWith(start)) continue;
    const at = placed(fields, field.slice(start.length));
    return { of, path: at.path, error: `${at.label}: ${message}` };
  }
  return {
    of: "instrument",
    path: field.replace(/^instrument\./, ""),
    error: w.unfit(`${field === "" ? "" : `${field.replace(/^instrument\./, "").replaceAll("_", " ")}: `}${message}`),
  };
}

/**
 * tried makes the plan of a method on an instrument, and evaluates it without a reading; undefined
 * if both succeed.
 */
export async function tried(
  definition: Doc,
  instrument: Doc,
  method: readonly Field[],
  particulars: readonly Field[],
): Promise<Refused | undefined> {
  try {
    await call("expand", { method: definition, instrument });
    await call("evaluate", { method: definition, instrument, captures: [], complete: false });
    return undefined;
  } catch (e) {
    if (!(e instanceof CalcError)) throw e;
    return refusalOf(e.field, e.message, method, particulars);
  }
}

/** recordOf wraps an instrument's document as a record, for code that draws plans of records. */
export function recordOf(instrument: Doc, tag: string): RecordState {
  const { low, high, unit, mode, ...rest } = instrument;
  const range: Doc = Object.fromEntries(
    Object.entries({ low, high, unit, mode }).filter(([, v]) => v !== undefined),
  ) as Doc;
  const head = (value: Json) => ({
    heads: [{ change: "", value, author: "", device: "", wall: "", stamp: "" }],
    replaced: [],
  });
  return {
    id: JSON.stringify(instrument),
    kind: "instrument",
    site: "",
    parent: "",
    fields: {
      tag: head(tag),
      range: head(range),
      ...Object.fromEntries(Object.entries(rest).map(([n, v]) => [n, head(v as Json)])),
    },
  };
}
