import type { IDBPDatabase } from "idb";
import type { Shown } from "../wire/api";
import type { Json, RecordState } from "../wire/records";
import type { Schema, Writing } from "./schema";
import { type Entry, entryOf } from "./shelf";

/** pseudo makes a record with only the fields that a search shows, for the rule of entryOf. */
function pseudo(e: Shown): RecordState {
  const fields = Object.fromEntries(
    Object.entries(e.set).map(([name, v]) => [
      name,
      { heads: [{ change: "", value: v as Json, author: "", device: "", wall: "", stamp: "" }], replaced: [] },
    ]),
  );
  return { id: e.id, kind: "instrument", site: e.site, parent: "", fields };
}

/** part is the register's entry of an instrument that is not held here. */
export const part = (e: Shown): Entry => ({ ...entryOf(pseudo(e)), part: 1 });

/** unshow removes an instrument's entry from the register, whatever tag it has there. */
export async function unshow(tx: Writing, id: string): Promise<void> {
  for (const key of await tx.objectStore("register").index("id").getAllKeys(id))
    await tx.objectStore("register").delete(key);
}

/** show writes what a search shows of instruments that are not held here. */
export async function show(tx: Writing, entries: Shown[]): Promise<void> {
  for (const e of entries) {
    if ((await tx.objectStore("records").getKey(e.id)) !== undefined) continue; // its record says more
    await unshow(tx, e.id);
    await tx.objectStore("register").put(part(e));
  }
}

/** used notes when a unit was last opened; it does nothing for one that is not held. */
export async function used(b: IDBPDatabase<Schema>, id: string): Promise<void> {
  const tx = b.transaction("held", "readwrite", { durability: "relaxed" });
  const one = await tx.store.get(id);
  if (one) await tx.store.put({ ...one, used: Date.now() });
  await tx.done;
}
