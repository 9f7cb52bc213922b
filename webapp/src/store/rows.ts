import type { IDBPDatabase, IDBPTransaction } from "idb";
import type { Change, RecordState } from "../wire/records";
import type { Row, Schema, StoreName, Writing } from "./schema";
import { entryOf, keysOf } from "./shelf";

/** Records read at once when all are gone through. */
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
 * shelve files the existing records under their keys, and makes the register of instruments. From
 * then on both are written with every record.
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

/** relist makes the entries of the register again after their content has changed. */
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

/** parts makes the stores for a device that holds a part of the plant. */
export function parts(base: IDBPDatabase<Schema>, tx: IDBPTransaction<Schema, StoreName[], "versionchange">): void {
  base.createObjectStore("held", { keyPath: "id" });
  tx.objectStore("register").createIndex("id", "id");
  tx.objectStore("register").createIndex("label", "label");
}

export function rowOf(state: RecordState, rev: number, rebuild: string | undefined): Row {
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

/** puts writes a record and, for an instrument, its entry in the register. */
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

/** around names the records with unsent or quarantined work, and those above them. */
export async function around(b: IDBPDatabase<Schema>, unsent: Change[]): Promise<Set<string>> {
  const refused = (await b.getAllFromIndex("changes", "quarantined")).map((o) => o.change);
  const all = new Set([...unsent, ...refused].flatMap((c) => [c.record, c.parent]).filter(Boolean));
  for (let next = [...all]; next.length > 0; ) {
    const rows = await Promise.all(next.map((id) => b.get("records", id)));
    next = rows.map((r) => r?.parent ?? "").filter((id) => id !== "" && !all.has(id));
    for (const id of next) all.add(id);
  }
  return all;
}

/**
 * missing says whether this device never wrote one of some changes that bear its id. keys has those
 * that are here; a log-out has removed others, up to a count that was noted.
 */
export async function missing(
  tx: Writing,
  keys: (string | undefined)[],
  changes: { stamp: string }[],
): Promise<boolean> {
  const gone = Number((await tx.objectStore("meta").get("gone")) ?? 0);
  return keys.some((k, i) => k === undefined && !(Number.parseInt((changes[i]?.stamp ?? "").slice(0, 12), 16) <= gone));
}

/** forked notes when this device took another id, and its earlier one. */
export async function forked(tx: Writing, was: string): Promise<void> {
  for (const lane of ["heard", "heardBeside"] as const) await tx.objectStore("meta").delete(lane);
  await tx.objectStore("meta").put(new Date().toISOString(), "forked");
  await tx.objectStore("meta").put(was, "was");
}
