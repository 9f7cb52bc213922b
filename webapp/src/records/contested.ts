import { callSync } from "../calc/calc";
import { asObject, asText, heads, type RecordState } from "../wire/records";

/** What the merge said of records. Another state of a record is another object. */
const said = new WeakMap<RecordState, ReadonlySet<string>>();

/** open gives the fields with several values, in the order in which the merge takes them. */
const open = (record: RecordState) =>
  Object.entries(record.fields)
    .filter(([, f]) => f.heads.length > 1)
    .sort(([a], [b]) => (a < b ? -1 : 1));

/** unsaid lists those of which the merge has to say which fields are contested. */
export const unsaid = (records: readonly RecordState[]): RecordState[] =>
  records.filter((r) => !said.has(r) && open(r).length > 0);

/** askContested asks the merge which fields of records are contested; afterwards contested knows. */
export async function askContested(records: readonly RecordState[], ask: typeof callSync = callSync): Promise<void> {
  const all = unsaid(records);
  if (all.length === 0) return;
  const { records: names } = asObject(
    await ask("sync/contested", { records: all.map((r) => ({ ...r, fields: Object.fromEntries(open(r)) })) }),
  );
  for (const [i, r] of all.entries()) {
    const fields = Array.isArray(names) ? names[i] : undefined;
    said.set(r, new Set(Array.isArray(fields) ? fields.map(asText) : []));
  }
}

/**
 * contested says whether people wrote different values without having seen each other's. A field
 * with several values is taken for contested until the merge was asked.
 */
export const contested = (record: RecordState | undefined, field: string): boolean =>
  record !== undefined && heads(record, field).length > 1 && (said.get(record)?.has(field) ?? true);
