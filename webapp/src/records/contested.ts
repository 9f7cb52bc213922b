import { callSync } from "../calc/calc";
import { asObject, asText, heads, type RecordState } from "../wire/records";

/** The merge's answers about records. A new state of a record is a new object. */
const said = new WeakMap<RecordState, ReadonlySet<string>>();

/** open gives the fields with several values, in the order of the merge. */
const open = (record: RecordState) =>
  Object.entries(record.fields)
    .filter(([, f]) => f.heads.length > 1)
    .sort(([a], [b]) => (a < b ? -1 : 1));

/** unsaid lists the records whose contested fields the merge has not named yet. */
export const unsaid = (records: readonly RecordState[]): RecordState[] =>
  records.filter((r) => !said.has(r) && open(r).length > 0);

/**
 * askContested asks the merge which fields of records are contested; afterwards contested knows.
 */
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
 * contested says whether people wrote different values without having seen each other's. Until the
 * merge has answered, a field with several values counts as contested.
 */
export const contested = (record: RecordState | undefined, field: string): boolean =>
  record !== undefined && heads(record, field).length > 1 && (said.get(record)?.has(field) ?? true);
