/** Any JSON value, as it is sent. */
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

export type Kind = "site" | "person" | "instrument" | "standard" | "method" | "round" | "visit" | "run" | "certificate";

/** One field written by a change, with the heads its writer had before it. */
export type Setting = { field: string; value: Json; sees: string[] };

/** One edit or addition: the unit of sync. */
export type Change = {
  v: 1;
  id: string;
  device: string;
  seq: number;
  author: string;
  wall: string;
  stamp: string;
  record: string;
  kind: string;
  site: string;
  parent: string;
  set: Setting[];
};

export type Head = { change: string; value: Json; author: string; device: string; wall: string; stamp: string };
export type FieldState = { heads: Head[]; replaced: string[] };

/** The merged state of all known changes to one record. */
export type RecordState = {
  id: string;
  kind: string;
  site: string;
  parent: string;
  fields: { [name: string]: FieldState };
};

/**
 * heads gives the values of a field that nobody has replaced, latest stamp first; none if the field
 * was never written.
 */
export function heads(record: RecordState | undefined, field: string): Head[] {
  return record?.fields[field]?.heads ?? [];
}

/** value gives the latest value of a field, or undefined if it was never written. */
export function value(record: RecordState | undefined, field: string): Json | undefined {
  return heads(record, field)[0]?.value;
}

/** latest gives the latest value of every field of a record. */
export function latest(record: RecordState): { [field: string]: Json } {
  const values: { [field: string]: Json } = {};
  for (const [field, { heads }] of Object.entries(record.fields)) if (heads[0]) values[field] = heads[0].value;
  return values;
}

/** text gives a field as text, "" if it is absent or not text. */
export function text(record: RecordState | undefined, field: string): string {
  const v = value(record, field);
  return typeof v === "string" ? v : "";
}

/** object gives a field as an object, {} if it is absent or not an object. */
export function object(record: RecordState | undefined, field: string): { [key: string]: Json } {
  return asObject(value(record, field));
}

/** list gives a field as a list, [] if it is absent or not a list. */
export function list(record: RecordState | undefined, field: string): Json[] {
  const v = value(record, field);
  return Array.isArray(v) ? v : [];
}

/** asObject narrows a JSON value to an object, {} for anything else. */
export function asObject(v: Json | undefined): { [key: string]: Json } {
  return v !== null && typeof v === "object" && !Array.isArray(v) ? v : {};
}

/** asText narrows a JSON value to text; a number is written out, anything else is "". */
export function asText(v: Json | undefined): string {
  if (typeof v === "string") return v;
  return typeof v === "number" ? String(v) : "";
}

/** asNumber reads a number or a decimal string; undefined for anything else. */
export function asNumber(v: Json | undefined): number | undefined {
  if (typeof v !== "number" && typeof v !== "string") return undefined;
  if (v === "") return undefined;
  const n = Number(v);
  return Number.isFinite(n) ? n : undefined;
}

/** many lists the fields NAME.ID of a record as [ID, latest value], by stamp of the first writing. */
export function many(record: RecordState | undefined, name: string): [string, Json][] {
  const prefix = `${name}.`;
  const found: [string, Json, string][] = [];
  for (const [field, state] of Object.entries(record?.fields ?? {})) {
    const head = state.heads[0];
    if (field.startsWith(prefix) && head) found.push([field.slice(prefix.length), head.value, head.stamp]);
  }
  return found.sort((a, b) => (a[2] < b[2] ? -1 : 1)).map(([id, v]) => [id, v]);
}

/** stampOf gives the stamp of a field's latest value, "" if there is none. */
export const stampOf = (record: RecordState, field: string): string => record.fields[field]?.heads[0]?.stamp ?? "";

/**
 * isOverdue says whether a due date has passed; nothing out of service is overdue. A list of 20,000
 * instruments cannot ask the module about each: testdata/search.json and rounds.json check that
 * this function, the office and the calculation due follow one rule.
 */
export const isOverdue = (due: string, today: string, inService = true): boolean =>
  inService && due !== "" && due.slice(0, 10) < today;

/** signOf gives the kind of an instrument for its sign: with a signal, a transmitter. */
export const signOf = (instrument: RecordState | undefined): string =>
  value(instrument, "output") ? "transmitter" : text(instrument, "kind");

/**
 * outOfService says whether the record of an instrument or a standard is marked as anything but in
 * service.
 */
export const outOfService = (record: RecordState): boolean =>
  text(record, "status") !== "" && text(record, "status") !== "in service";

/**
 * mayBeBack says whether a signed visit may have come back from the office; the rules say whether
 * it has.
 */
export const mayBeBack = (visit: RecordState): boolean =>
  Object.keys(visit.fields).some((f) => f.startsWith("returned.") || f.startsWith("reopened."));

const alphabet = "0123456789abcdefghjkmnpqrstvwxyz";

/**
 * newId makes an id of 26 characters: 10 of the clock, so that records made together are stored
 * together, and 16 random ones, 80 bits.
 */
export function newId(at = Date.now()): string {
  let id = "";
  for (let n = Math.max(at, 0); id.length < 10; n = Math.floor(n / 32)) id = alphabet.charAt(n % 32) + id;
  for (const b of crypto.getRandomValues(new Uint8Array(16))) id += alphabet.charAt(b & 31);
  return id;
}
