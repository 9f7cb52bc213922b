import type { IDBPDatabase } from "idb";
import type { Change, Json, RecordState } from "../wire/records";
import { dropSome, givenWith } from "./given";
import type { OwnChange, Schema, Writing } from "./schema";
import type { Calc } from "./settle";

const mark = "erased.";

/** Erased is what the office says was erased from a change. */
type Erased = { change: string; value: Json };
type Value = { field: string; change: string; value: Json };

/** erasedIn lists what a record says was erased from its changes. */
function erasedIn(state: RecordState): Erased[] {
  return Object.entries(state.fields)
    .filter(([name]) => name.startsWith(mark))
    .flatMap(([name, field]) => field.heads.map((h) => ({ change: name.slice(mark.length), value: h.value })));
}

/** left gives what is left of values; the calculation has the rule. */
async function left(calc: Calc, erased: Erased[], values: Value[]): Promise<Json[]> {
  if (values.length === 0) return [];
  return ((await calc("sync/erase", { erased, values })) as { values: Json[] }).values;
}

/** Gone is what a device still has of erased data: its own changes without it, replies, photos. */
type Gone = { own: OwnChange[]; given: number[]; photos: string[] };

/** erasedHere finds what this device has of the data that changes erase. */
export async function erasedHere(b: IDBPDatabase<Schema>, calc: Calc, changes: Change[]): Promise<Gone> {
  const erased = changes.flatMap((c) =>
    c.set.filter((s) => s.field.startsWith(mark)).map((s) => ({ change: s.field.slice(mark.length), value: s.value })),
  );
  const gone: Gone = { own: [], given: [], photos: [] };
  if (erased.length === 0) return gone;
  for (const e of erased) {
    const blobs = (e.value as { blobs?: string[] } | null)?.blobs;
    if (blobs) gone.photos.push(...blobs);
    const one = await b.get("changes", e.change);
    if (!one) continue;
    const values = one.change.set.map((s) => ({ field: s.field, change: one.id, value: s.value }));
    const kept = await left(calc, erased, values);
    const set = one.change.set.map((s, i) => ({ ...s, value: kept[i] ?? null }));
    gone.own.push({ ...one, change: { ...one.change, set } });
  }
  gone.given = await givenWith(
    b,
    erased.map((e) => e.change),
  );
  return gone;
}

/** eraseHere replaces the data by what is left, and drops the rest. */
export async function eraseHere(tx: Writing, gone: Gone): Promise<void> {
  for (const one of gone.own) await tx.objectStore("changes").put(one);
  for (const name of gone.photos) await tx.objectStore("photos").delete(name);
  if (gone.given.length > 0) await dropSome(tx, gone.given);
}

/** withoutErased gives a record without what it says was erased from its changes. */
export async function withoutErased(calc: Calc, state: RecordState): Promise<RecordState> {
  const erased = erasedIn(state);
  const of = new Set(erased.map((e) => e.change));
  const fields = { ...state.fields };
  for (const [name, field] of Object.entries(state.fields)) {
    if (!field.heads.some((h) => of.has(h.change))) continue;
    const values = field.heads.map((h) => ({ field: name, change: h.change, value: h.value }));
    const kept = await left(calc, erased, values);
    fields[name] = { ...field, heads: field.heads.map((h, i) => ({ ...h, value: kept[i] ?? null })) };
  }
  return { ...state, fields };
}
