import { deleteDB, type IDBPDatabase, openDB } from "idb";
import { callSync } from "../calc/calc";
import type { Place, Shown, User } from "../wire/api";
import { type Change, type Json, newId, type RecordState } from "../wire/records";
import { hex } from "./bytes";
import { isErasure, type Calc, settle } from "./settle";
import { around, dropPiece, first, forked, missing, parts, puts, relist, shelve, unlist } from "./rows";
import type { Device, Given, Meta, Row, Schema, StoreName, Writing } from "./schema";
import { dropGiven, givenFrom, lastGiven, packed, putGiven, type Said } from "./given";
import { type Answered, answer, arrived, authored, offerNext, type Queue, queued, sign, unsentText } from "./outbox";
import { alone, locked } from "./alone";
import { forget, lookThrough, type Looked } from "./look";
import type { Late } from "./search";
import { keyTo } from "./shelf";
import { limited, StoreError } from "./limits";

export { type Looked, StoreError };

/** What subscribers get: the records that changed, or only the queue. */
export type Notice = { records: string[]; kinds: string[]; mine?: true }; // mine: written on this device

export type Wish = {
  /** The record to write to; without it a new one is made. */
  record?: string;
  kind: string;
  site: string;
  parent: string;
  set: { field: string; value: Json }[];
};

/** The longest time for a transaction; some browsers never settle one on a full disk. */
const longestTransaction = 5_000;
const longestOpening = 10_000;
const longestUpgrade = 180_000; // thousands of records are filed again, once
const longestReceiving = 20_000; // hundreds of records on a slow phone

let db: IDBPDatabase<Schema> | undefined;
let opening: Promise<void> | undefined;
let calc: Calc = callSync;
/** calculate gives the calculation that merges. */
export const calculate = (): Calc => calc;
let fresh = false;
const listeners = new Set<(notice: Notice) => void>();
let news: BroadcastChannel | undefined;

/**
 * open opens the device's database, once. Tests give another name and calculation.
 * Refuses: StoreError `blocked` while an older tab holds it, `slow` if it never answers.
 */
export function open(options: { name?: string; calc?: Calc } = {}): Promise<void> {
  opening ??= start(options).catch((e: unknown) => {
    opening = undefined;
    throw e;
  });
  return opening;
}

async function start(options: { name?: string; calc?: Calc }): Promise<void> {
  if (options.calc) calc = options.calc;
  let blocked = false;
  let upgrading = false;
  const opened = openDB<Schema>(options.name ?? "gaugewright", 8, {
    async upgrade(base, old, _now, tx) {
      upgrading = old > 0;
      if (old < 1) first(base);
      if (old < 2) tx.objectStore("changes").createIndex("seq", "seq");
      if (old < 3) tx.objectStore("changes").createIndex("quarantined", "quarantined");
      if (old < 4) await shelve(base, tx);
      if (old < 5) {
        tx.objectStore("outbox").createIndex("author", ["author", "seq"]);
        tx.objectStore("outbox").createIndex("again", "again");
        tx.objectStore("changes").createIndex("record", "change.record");
        await sign(tx);
      }
      if (old < 6) base.createObjectStore("given", { keyPath: "n", autoIncrement: true });
      if (old >= 4 && old < 7) await relist(tx);
      if (old < 8) parts(base, tx);
    },
    blocked() {
      blocked = true;
    },
    blocking() {
      db?.close();
      db = undefined;
      opening = undefined;
    },
    terminated() {
      db = undefined;
      opening = undefined;
    },
  });
  db = await limited(
    opened,
    longestOpening,
    () => (blocked ? "blocked" : "slow"),
    () => (upgrading && !blocked ? longestUpgrade : 0),
  );
  fresh = (await db.get("meta", "birth")) === undefined;
  if (fresh) {
    await write(["meta"], async (tx) => {
      await tx.objectStore("meta").put(new Date().toISOString(), "birth");
      await tx.objectStore("meta").put({ id: newId(), seq: 0, count: 0 }, "device");
    });
  }
  if (typeof BroadcastChannel !== "undefined") {
    news?.close();
    news = new BroadcastChannel(`${options.name ?? "gaugewright"}-news`);
    news.onmessage = (e: MessageEvent<Notice>) => tell(e.data, false);
    // Node would wait for the channel for ever; browsers have no such method.
    (news as { unref?: () => void }).unref?.();
  }
}

/** close ends the connection, so that another one can be opened. */
export function close(): void {
  forget();
  news?.close();
  news = undefined;
  db?.close();
  db = undefined;
  opening = undefined;
}

/** destroy removes everything this device keeps; only for a person who asked for it, and for tests. */
export async function destroy(name = "gaugewright"): Promise<void> {
  close();
  await deleteDB(name);
}

/** isFresh says whether the database is new, also after the browser has emptied its storage. */
export function isFresh(): boolean {
  return fresh;
}

/** record gives the known state of one record. */
export async function record(id: string): Promise<RecordState | undefined> {
  return (await (await base()).get("records", id))?.state;
}

/** byKind gives every record of a kind. */
export async function byKind(kind: string): Promise<RecordState[]> {
  return (await (await base()).getAllFromIndex("records", "kind", kind)).map((r) => r.state);
}

/** byParent gives every record below another one. */
export async function byParent(parent: string): Promise<RecordState[]> {
  return (await (await base()).getAllFromIndex("records", "parent", parent)).map((r) => r.state);
}

/** byKey gives the records that are filed under a key of keyTo, at most n. */
export async function byKey(key: string, n?: number): Promise<RecordState[]> {
  return (await (await base()).getAllFromIndex("records", "keys", key, n)).map((r) => r.state);
}

/** byLabel gives the instrument whose label has this text. */
export async function byLabel(label: string): Promise<RecordState | undefined> {
  return (await byKey(keyTo.label(label), 1))[0];
}

/** count gives how many records of a kind there are. */
export async function count(kind: string): Promise<number> {
  return (await base()).countFromIndex("records", "kind", kind);
}

/** lookUp searches the register as lookThrough does. */
export async function lookUp(
  search: string,
  most: number,
  tell: (so: Looked) => boolean,
  late: Late = { today: "", overdue: "" },
): Promise<void> {
  await lookThrough(await base(), search, most, tell, late);
}

/** unsent names what has not reached the office: changes, their records and those above, photos. */
export async function unsent(): Promise<Set<string>> {
  const own = (await unsentChanges()).flatMap((c) => [c.id, c.record, c.parent]);
  return new Set([...own, ...(await unsentPhotos())]);
}

/** subscribe calls fn after every write, in this tab and in others; the returned function ends it. */
export function subscribe(fn: (notice: Notice) => void): () => void {
  listeners.add(fn);
  return () => listeners.delete(fn);
}

/**
 * commit writes one change. It returns only when the change, its place in the outbox and the merged
 * record are on the device's disk. Refuses: StoreError; CalcError if the change itself is refused.
 */
export function commit(wish: Wish): Promise<{ record: RecordState; change: Change }> {
  return alone(async () => {
    for (let attempt = 0; ; attempt++) {
      const b = await base();
      const device = (await b.get("meta", "device")) as Device;
      const user = (await b.get("meta", "user")) as User | undefined;
      if (!user) throw new StoreError("no user", "nobody is logged in on this device");
      const id = wish.record ?? newId();
      const before = await b.get("records", id);
      const now = Date.now();
      const drafted = (await calc("sync/draft", {
        record: before?.state ?? null,
        id,
        kind: wish.kind,
        site: wish.site,
        parent: wish.parent,
        device: device.id,
        seq: device.seq + 1,
        author: user.id,
        wall: new Date(now).toISOString(),
        wall_ms: now,
        count: device.count,
        change_id: newId(),
        set: wish.set,
      })) as unknown as { change: Change; record: RecordState; count: number };
      const kept = await write(["changes", "outbox", "records", "register", "meta"], async (tx) => {
        const was = (await tx.objectStore("meta").get("device")) as Device;
        const row = await tx.objectStore("records").get(id);
        if (was.seq !== device.seq || was.id !== device.id || row?.rev !== before?.rev) return false; // another tab was faster
        const { change, count } = drafted;
        await tx.objectStore("changes").add({ id: change.id, seq: change.seq, change });
        await tx.objectStore("outbox").add({ seq: change.seq, id: change.id, at: now, author: user.id });
        await Promise.all(puts(tx, drafted.record, before));
        await tx
          .objectStore("meta")
          .put({ id: device.id, seq: change.seq, count: Math.max(count, was.count) }, "device");
        return true;
      });
      if (kept) {
        tell({ records: [id], kinds: [wish.kind], mine: true });
        return { record: drafted.record, change: drafted.change };
      }
      if (attempt > 5) throw new StoreError("broken", "another tab keeps writing");
    }
  });
}

/** putBlob keeps a photo or a trace on the device and queues it for the office. Gives: its SHA-256, in hex. */
export async function putBlob(blob: Blob): Promise<string> {
  const bytes = await blob.arrayBuffer();
  const sha256 = hex(await crypto.subtle.digest("SHA-256", bytes));
  await write(["photos"], async (tx) => {
    const known = await tx.objectStore("photos").get(sha256);
    if (!known) await tx.objectStore("photos").put({ sha256, type: blob.type, bytes, at: Date.now(), sent: 0 });
  });
  tell({ records: [], kinds: [] });
  return sha256;
}

/** blob gives a photo kept on this device. */
export async function blob(sha256: string): Promise<Blob | undefined> {
  const p = await (await base()).get("photos", sha256);
  return p && new Blob([p.bytes], { type: p.type });
}

/**
 * receive merges the office's changes and moves the cursor in one transaction. It does not wait for
 * the disk: what a power cut loses is fetched again.
 */
export function receive(
  changes: Change[],
  link: Place,
  answered: Answered,
  said?: Said,
  part?: { held: string; entries: Shown[] },
): Promise<void> {
  return alone(async () => {
    const pressing = said && packed(said); // runs while the records are merged
    for (let attempt = 0; ; attempt++) {
      const b = await base();
      const ids = [...new Set(changes.map((c) => c.record))];
      const look = b.transaction("records");
      const rows = (await Promise.all(ids.map((id) => look.store.get(id)))).filter((r) => r !== undefined);
      const known = new Map(rows.map((r) => [r.id, r]));
      const rebuild = await meta("rebuild");
      const { states, own } = await standing(b, rows, rebuild);
      const merged = await settle(calc, states, [...own, ...changes]);
      const erase = changes.some((c) => c.set.some((s) => isErasure(s.field))) ? await import("./erased") : undefined;
      const shown = part && part.entries.length > 0 ? await import("./shown") : undefined;
      const [given, gone] = await Promise.all([pressing, erase?.erasedHere(b, calc, changes)]);
      const done = await write(
        ["changes", "outbox", "records", "register", "photos", "meta", "given"],
        async (tx) => {
          const hold = (await tx.objectStore("meta").get("hold")) as Meta["hold"];
          // A reply for another list of units lacks changes of this one: it must be requested
          // again.
          const stale = (part?.held ?? "") !== (hold?.name ?? "");
          if (!locked()) {
            const now = await Promise.all(ids.map((id) => tx.objectStore("records").get(id)));
            if (now.some((row, i) => row?.rev !== known.get(ids[i] ?? "")?.rev)) return false;
          }
          await answer(tx, answered, stale);
          if (stale) return true;
          const written = merged.records.flatMap((state) => puts(tx, state, known.get(state.id), rebuild));
          await arrived(tx, changes);
          if (part) await shown?.show(tx, part.entries);
          const device = (await tx.objectStore("meta").get("device")) as Device;
          const seen = Math.max(device.count, merged.count);
          // A change under this device's id that it never wrote: its profile was copied, or
          // restored from an older copy.
          const mine = changes.filter((c) => c.device === device.id);
          const keys = await Promise.all(mine.map((c) => tx.objectStore("changes").getKey(c.id)));
          const copied = await missing(tx, keys, mine);
          await tx.objectStore("meta").put({ ...device, ...(copied ? { id: newId() } : {}), count: seen }, "device");
          if (copied) await forked(tx, device.id);
          await tx.objectStore("meta").put(link, "link");
          if (given) await putGiven(tx, { ...given, store: link.store });
          await Promise.all([...written, gone && erase?.eraseHere(tx, gone)]);
          return true;
        },
        longestReceiving,
        "relaxed",
      );
      const kinds = new Set(merged.records.map((r) => r.kind));
      if (shown) kinds.add("instrument"); // lists and the search show what came of instruments not held here
      if (done) return tell({ records: ids, kinds: [...kinds] });
      if (attempt > 5) throw new StoreError("broken", "another tab keeps writing");
    }
  });
}

/**
 * heard notes the nonce of a reply that was taken; if it is lost, this device looks like a copy.
 */
export async function heard(nonce: string, lane: "heard" | "heardBeside" = "heard"): Promise<void> {
  await write(
    ["meta"],
    async (tx) => void (await tx.objectStore("meta").put(nonce, lane)),
    longestTransaction,
    "relaxed",
  );
}

/** fork takes another id, because a copy of this device uses the same one. Unsent changes stay. */
export function fork(): Promise<void> {
  return alone(() =>
    write(["meta"], async (tx) => {
      const device = (await tx.objectStore("meta").get("device")) as Device;
      await tx.objectStore("meta").put({ ...device, id: newId() }, "device");
      await forked(tx, device.id);
    }),
  );
}

/** keepSites drops the records of other sites, except those with unsent or quarantined work. */
export async function keepSites(sites: string[]): Promise<void> {
  const b = await base();
  const unsent = await around(b, await unsentChanges());
  for (let after: string | undefined; ; ) {
    const from = after;
    const last = await alone(() =>
      write(["records", "register"], async (tx) => {
        const rows = await tx
          .objectStore("records")
          .getAll(from === undefined ? null : IDBKeyRange.lowerBound(from, true), dropPiece);
        const gone = rows.filter((r) => r.site !== "" && !sites.includes(r.site) && !unsent.has(r.id));
        await Promise.all(gone.flatMap((r) => [tx.objectStore("records").delete(r.id), ...unlist(tx, r.state)]));
        return rows.length < dropPiece ? undefined : rows.at(-1)?.id;
      }),
    );
    if (last === undefined) break;
    after = last;
  }
  tellAll();
}

/** standing gives what records are built from: their states or, to rebuild them, own changes. */
async function standing(
  b: IDBPDatabase<Schema>,
  rows: Row[],
  rebuild: string | undefined,
): Promise<{ states: RecordState[]; own: Change[] }> {
  if (rebuild === undefined) return { states: rows.map((r) => r.state), own: [] };
  const old = rows.filter((r) => r.rebuild !== rebuild);
  const own = await Promise.all(old.map((r) => b.getAllFromIndex("changes", "record", r.id)));
  return {
    states: rows.filter((r) => r.rebuild === rebuild).map((r) => r.state),
    own: own.flat().map((o) => o.change),
  };
}

/**
 * finishRebuild ends the rebuilding once a restored office has sent everything. It rebuilds the
 * rest from own changes, and drops what nobody has any more.
 */
export async function finishRebuild(): Promise<void> {
  const rebuild = await meta("rebuild");
  if (rebuild === undefined) return;
  const b = await base();
  for (let after: string | undefined; ; ) {
    const from = after;
    const last = await alone(async () => {
      const rows = await b.getAll("records", from === undefined ? null : IDBKeyRange.lowerBound(from, true), dropPiece);
      const old = rows.filter((r) => r.rebuild !== rebuild);
      const { own } = await standing(b, old, rebuild);
      const made = new Map((await settle(calc, [], own)).records.map((state) => [state.id, state]));
      await write(["records", "register"], async (tx) => {
        for (const was of old) {
          const now = await tx.objectStore("records").get(was.id);
          if (now?.rev !== was.rev) continue; // written meanwhile without locks: for the next rebuilding
          const state = made.get(was.id);
          await Promise.all(
            state
              ? puts(tx, state, was, rebuild)
              : [tx.objectStore("records").delete(was.id), ...unlist(tx, was.state)],
          );
        }
      });
      return rows.length < dropPiece ? undefined : rows.at(-1)?.id;
    });
    if (last === undefined) break;
    after = last;
  }
  await putMeta("rebuild", undefined);
  tellAll();
}

/** queueAgain begins to offer every own change to an office that has lost some; see offerMore. */
export function queueAgain(link: Place): Promise<void> {
  return alone(() =>
    write(["meta", "given"], async (tx) => {
      const before = (await tx.objectStore("meta").get("link")) as Place | undefined;
      if (before?.store === link.store) await tx.objectStore("meta").put(newId(), "rebuild"); // it has lost something; another office lacks it only so far
      await tx.objectStore("meta").put({ store: link.store, at: 0, to: await lastGiven(tx) }, "back");
      await tx.objectStore("meta").put({ seq: 0, photo: "" }, "offer");
      await tx.objectStore("meta").put(link, "link");
    }),
  );
}

/**
 * nextGiven gives the next reply to bring back to an office that was restored from an older copy.
 */
export async function nextGiven(): Promise<Given | undefined> {
  const back = await meta("back");
  return back && givenFrom(await base(), back);
}

/** gaveBack notes that the office has answered for one of them. */
export async function gaveBack(n: number): Promise<void> {
  const back = await meta("back");
  if (back) await putMeta("back", { ...back, at: n });
}

/** forgetGiven drops the replies from before the restore once they came again; or all of them. */
export async function forgetGiven(all = false): Promise<void> {
  await write(["given", "meta"], (tx) => dropGiven(tx, all));
}

/** offering says whether something still has to be offered again. */
export async function offering(): Promise<boolean> {
  return (await meta("offer")) !== undefined;
}

/**
 * offerMore moves the next n changes to be offered again into the outbox, in the order of writing,
 * also after the page was closed. It does nothing while the outbox has n or more.
 */
export async function offerMore(n: number): Promise<void> {
  if (!(await offering())) return;
  await alone(() =>
    write(["changes", "outbox", "photos", "meta"], async (tx) => {
      const user = (await tx.objectStore("meta").get("user")) as User | undefined;
      await offerNext(tx, user?.id, n);
    }),
  );
  tell({ records: [], kinds: [] });
}

/** waiting gives a person's oldest unsent changes past behind: within n and size, at least one. */
export async function waiting(n: number, size = Number.POSITIVE_INFINITY, behind = 0): Promise<Change[]> {
  return authored(await base(), (await meta("user"))?.id, n, size, behind);
}

/** unsentChanges gives everybody's unsent changes. */
export async function unsentChanges(): Promise<Change[]> {
  const b = await base();
  const own = await Promise.all((await b.getAll("outbox")).map((o) => b.get("changes", o.id)));
  return own.flatMap((o) => (o ? [o.change] : []));
}

/** queue says what has not reached the office. */
export async function queue(): Promise<Queue> {
  return queued(await base(), (await meta("user"))?.id);
}

/** doubtful gives at most n ids of other people's changes that the office had; see settleDoubt. */
export async function doubtful(n: number): Promise<string[]> {
  return (await (await base()).getAllFromIndex("outbox", "again", 1, n)).map((o) => o.id);
}

export async function settleDoubt(asked: string[], had: string[]): Promise<void> {
  const there = new Set(had);
  await write(["changes", "outbox"], async (tx) => {
    for (const id of asked) {
      const own = await tx.objectStore("changes").get(id);
      const waits = own && (await tx.objectStore("outbox").get(own.seq));
      if (!waits) continue;
      const { again: _, ...rest } = waits;
      if (there.has(id)) await tx.objectStore("outbox").delete(waits.seq);
      else await tx.objectStore("outbox").put(rest);
    }
  });
  tell({ records: [], kinds: [] });
}

/** unsentPhotos gives the ids of photos the office does not have. */
export async function unsentPhotos(): Promise<string[]> {
  return (await base()).getAllKeysFromIndex("photos", "sent", 0);
}

/** photoSent notes that the office has a photo. */
export async function photoSent(sha256: string): Promise<void> {
  await write(["photos"], async (tx) => {
    const p = await tx.objectStore("photos").get(sha256);
    if (p) await tx.objectStore("photos").put({ ...p, sent: 1 });
  });
  tell({ records: [], kinds: [] });
}

/** meta reads one of the device's own notes. */
export async function meta<K extends keyof Meta>(key: K): Promise<Meta[K]> {
  return (await (await base()).get("meta", key)) as Meta[K];
}

/** putMeta writes one of the device's own notes; undefined removes it. */
export async function putMeta<K extends keyof Meta>(key: K, v: Meta[K]): Promise<void> {
  await write(["meta"], async (tx) => {
    if (v === undefined) await tx.objectStore("meta").delete(key);
    else await tx.objectStore("meta").put(v, key);
  });
}

/** exportUnsent gives everything that has not reached the office as one JSON text, photos in base64. */
export async function exportUnsent(): Promise<string> {
  return unsentText(await base());
}

export async function base(): Promise<IDBPDatabase<Schema>> {
  await open();
  if (!db) throw new StoreError("broken", "the database was closed");
  return db;
}

export async function write<T>(
  names: StoreName[],
  work: (tx: Writing) => Promise<T>,
  longest = longestTransaction,
  durability: "strict" | "relaxed" = "strict",
): Promise<T> {
  const b = db ?? (await base());
  const tx = b.transaction(names, "readwrite", { durability });
  const done = tx.done;
  const all = (async () => {
    try {
      const result = await work(tx);
      await done;
      return result;
    } catch (e) {
      done.catch(() => undefined);
      try {
        tx.abort();
      } catch {
        // already over
      }
      const full = e instanceof DOMException && e.name === "QuotaExceededError";
      throw e instanceof StoreError
        ? e
        : new StoreError(
            full ? "full" : "broken",
            full ? "the device's storage is full" : "the device could not keep this",
            e,
          );
    }
  })();
  return limited(all, longest, () => "slow");
}

export function tell(notice: Notice, away = true): void {
  if (notice.kinds.includes("instrument")) forget();
  for (const fn of listeners) fn(notice);
  if (away) news?.postMessage(notice);
}

/** tellAll says that any record may be another one now. */
export const tellAll = () =>
  tell({
    records: ["all"],
    kinds: ["site", "person", "instrument", "standard", "method", "round", "visit", "result", "run", "certificate"],
  });
