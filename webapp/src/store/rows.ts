import type { IDBPDatabase, IDBPTransaction } from "idb";
import type { RecordState } from "../wire/records";
import type { Row, Schema, StoreName, Writing } from "./schema";
import { entryOf, keysOf } from "./shelf";

/** Records that are read at once where all are gone through. */
export const dropPiece = 300;

/** first makes the stores of the first version. */
export function first(base: IDBPDatabase<Schema>): void {
  base.createObjectStore("changes", { keyPath: "id" });
  base.createObjectStore("outbox", { keyPath: "seq" });
  const records = base.createObjectStore("records", { keyPath: "id" });
  records.createIndex("kind", "kind");
  records.createIndex("parent", "parent");
  base.createObjectStore("photos", { keyPath: "sha256" }).createIndex("sent", "sent");
  base.createObjectStore("meta");
}

/**
 * shelve files what is there under its keys, and makes the register of instruments; both are
 * written with every record from then on.
 */
export async function shelve(
  base: IDBPDatabase<Schema>,
  tx: IDBPTransaction<Schema, StoreName[], "versionchange">,
): Promise<void> {
  const records = tx.objectStore("records");
  if (records.indexNames.contains("about" as "keys")) records.deleteIndex("about");
  records.createIndex("keys", "keys", { multiEntry: true });
  const register = base.createObjectStore("register", { keyPath: ["order", "id"] });
  for (let after: string | undefined; ; ) {
    const rows: Row[] = await records.getAll(
      after === undefined ? null : IDBKeyRange.lowerBound(after, true),
      dropPiece,
    );
    const puts: Promise<unknown>[] = [];
    for (const r of rows) {
      if (keysOf(r.state).length > 0) puts.push(records.put(rowOf(r.state, r.rev, undefined)));
      if (r.kind === "instrument") puts.push(register.put(entryOf(r.state)));
    }
    await Promise.all(puts);
    if (rows.length < dropPiece) return;
    after = rows.at(-1)?.id;
  }
}

/** relist makes the entries of the register again, where their content has changed. */
export async function relist(tx: IDBPTransaction<Schema, StoreName[], "versionchange">): Promise<void> {
  const register = tx.objectStore("register");
  const records = tx.objectStore("records");
  for (let after: string | undefined; ; ) {
    const rows: Row[] = await records.getAll(
      after === undefined ? null : IDBKeyRange.lowerBound(after, true),
      dropPiece,
    );
    await Promise.all(rows.filter((r) => r.kind === "instrument").map((r) => register.put(entryOf(r.state))));
    if (rows.length < dropPiece) return;
    after = rows.at(-1)?.id;
  }
}

function rowOf(state: RecordState, rev: number, rebuild: string | undefined): Row {
  return {
    ...(rebuild === undefined ? {} : { rebuild }),
    id: state.id,
    kind: state.kind,
    parent: state.parent,
    site: state.site,
    keys: keysOf(state),
    rev: rev + 1,
    state,
  };
}

/** puts writes a record and, of an instrument, its entry in the register. */
export function puts(
  tx: Writing,
  state: RecordState,
  before: Row | undefined,
  rebuild = before?.rebuild,
): Promise<unknown>[] {
  const row = tx.objectStore("records").put(rowOf(state, before?.rev ?? 0, rebuild));
  if (state.kind !== "instrument") return [row];
  const entry = entryOf(state);
  const moved = before !== undefined && entry.order !== entryOf(before.state).order;
  return [row, ...(moved ? unlist(tx, before.state) : []), tx.objectStore("register").put(entry)];
}

export function unlist(tx: Writing, state: RecordState): Promise<unknown>[] {
  return state.kind === "instrument" ? [tx.objectStore("register").delete([entryOf(state).order, state.id])] : [];
}

/** forked notes when this device took another id, and which one it had. */
export async function forked(tx: Writing, was: string): Promise<void> {
  await tx.objectStore("meta").delete("heard");
  await tx.objectStore("meta").put(new Date().toISOString(), "forked");
  await tx.objectStore("meta").put(was, "was");
}
