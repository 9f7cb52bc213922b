import { deleteDB, type DBSchema, type IDBPDatabase, type IDBPTransaction, openDB } from "idb";
import { call } from "../calc/calc";
import type { Place, User } from "../wire/api";
import { type Change, type Json, newId, type RecordState } from "../wire/records";
import { type Calc, settle } from "./settle";
import { type Entry, entryOf, keysOf, keyTo, matches } from "./shelf";

/** StoreError says why the device could not keep something. */
export class StoreError extends Error {
  readonly code: "full" | "slow" | "blocked" | "broken" | "no user" | "away";
  constructor(code: StoreError["code"], message: string, cause?: unknown) {
    super(message, { cause });
    this.name = "StoreError";
    this.code = code;
  }
}

/** seq counts the changes written here; a device that takes another id goes on counting. */
export type Device = { id: string; seq: number; count: number };
export type OwnChange = { id: string; seq: number; change: Change; quarantined?: string };
export type Photo = { sha256: string; type: string; bytes: ArrayBuffer; at: number; sent: number };
/** keys: those of keysOf, kept beside the record for their index. */
type Row = { id: string; kind: string; parent: string; site: string; keys: string[]; rev: number; state: RecordState };
type Meta = {
  device?: Device;
  user?: User;
  /** The last access token: an account that was ended meanwhile can still hand over what it had, and the office puts it aside. */
  access?: string;
  link?: Place;
  /** While everything is offered again: the number of the last own change and the name of the last photo that are back in the queue. */
  offer?: { seq: number; photo: string };
  lastSync?: string;
  /** The office's records have come to their end once; until then something may be missing here. */
  whole?: boolean;
  birth?: string;
  /** The nonce of the last reply that was taken; by it the office tells two devices with one id apart. */
  heard?: string;
  /** The user's sites, until the records of others are gone. */
  sites?: string[];
  /** The office takes requests in gzip. */
  presses?: boolean;
  /** When this device took another id because a copy of it was met. */
  forked?: string;
  /** The id that it went by before. */
  was?: string;
};

interface Schema extends DBSchema {
  changes: { key: string; value: OwnChange; indexes: { seq: number; quarantined: string } };
  outbox: { key: number; value: { seq: number; id: string; at: number } };
  records: { key: string; value: Row; indexes: { kind: string; parent: string; keys: string } };
  register: { key: [string, string]; value: Entry };
  photos: { key: string; value: Photo; indexes: { sent: number } };
  meta: { key: string; value: Meta[keyof Meta] };
}

type StoreName = "changes" | "outbox" | "records" | "register" | "photos" | "meta";

/** What subscribers are told: the records that changed, or only the queue. */
export type Notice = { records: string[]; kinds: string[] };

export type Wish = {
  /** The record to write to; left out, a new one is made. */
  record?: string;
  kind: string;
  site: string;
  parent: string;
  set: { field: string; value: Json }[];
};

/** Longest time a transaction may take before the screen is told; some browsers never settle one on a full disk. */
const longestTransaction = 5_000;
const longestOpening = 10_000;
const longestUpgrade = 180_000; // thousands of records are filed anew, once
const lookPiece = 1_000; // entries of the register, some hundred bytes each
const photoPiece = 8; // each some hundred kilobytes
const dropPiece = 300;
const mostWaiting = 1_000_000;
const longestReceiving = 20_000; // hundreds of records on a slow phone

let db: IDBPDatabase<Schema> | undefined;
let opening: Promise<void> | undefined;
let calc: Calc = call;
let fresh = false;
const listeners = new Set<(notice: Notice) => void>();
let tail: Promise<unknown> = Promise.resolve();
let news: BroadcastChannel | undefined;

/**
 * open makes the device's database ready; calling it again gives the same one.
 *
 * Takes: for tests, another name and another calculation. Refuses: StoreError `blocked` while an older tab holds it, `slow` if it never answers.
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
  const opened = openDB<Schema>(options.name ?? "gaugewright", 4, {
    async upgrade(base, old, _now, tx) {
      upgrading = old > 0;
      if (old < 1) first(base);
      if (old < 2) tx.objectStore("changes").createIndex("seq", "seq");
      if (old < 3) tx.objectStore("changes").createIndex("quarantined", "quarantined");
      if (old < 4) await shelve(base, tx);
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

/** first makes the stores of the first version. */
function first(base: IDBPDatabase<Schema>): void {
  base.createObjectStore("changes", { keyPath: "id" });
  base.createObjectStore("outbox", { keyPath: "seq" });
  const records = base.createObjectStore("records", { keyPath: "id" });
  records.createIndex("kind", "kind");
  records.createIndex("parent", "parent");
  base.createObjectStore("photos", { keyPath: "sha256" }).createIndex("sent", "sent");
  base.createObjectStore("meta");
}

/** shelve files what is there under its keys, and makes the register of instruments; both are written with every record from then on. */
async function shelve(base: IDBPDatabase<Schema>, tx: IDBPTransaction<Schema, StoreName[], "versionchange">): Promise<void> {
  const records = tx.objectStore("records");
  if (records.indexNames.contains("about" as "keys")) records.deleteIndex("about");
  records.createIndex("keys", "keys", { multiEntry: true });
  const register = base.createObjectStore("register", { keyPath: ["order", "id"] });
  for (let after: string | undefined; ; ) {
    const rows: Row[] = await records.getAll(after === undefined ? null : IDBKeyRange.lowerBound(after, true), dropPiece);
    const puts: Promise<unknown>[] = [];
    for (const r of rows) {
      if (keysOf(r.state).length > 0) puts.push(records.put(rowOf(r.state, r.rev)));
      if (r.kind === "instrument") puts.push(register.put(entryOf(r.state)));
    }
    await Promise.all(puts);
    if (rows.length < dropPiece) return;
    after = rows.at(-1)?.id;
  }
}

/** close ends the connection, so that another one can be opened. */
export function close(): void {
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

/** isFresh says whether the database was made just now: a new device, or one whose storage the browser has emptied. */
export function isFresh(): boolean {
  return fresh;
}

/** record gives what is known of one record. */
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

/** count tells how many records of a kind there are. */
export async function count(kind: string): Promise<number> {
  return (await base()).countFromIndex("records", "kind", kind);
}

/** Looked is how far a look through the register has come: what it found first, in the order of the tags, and of how many. */
export type Looked = { rows: Entry[]; found: number; looked: number; all: number };

/**
 * lookUp looks through the instruments in the order of their tags, a piece at a time.
 *
 * Takes: what is searched (all, where it is empty), how many are wanted whole, and what is told after every piece; it ends early where that says no.
 */
export async function lookUp(search: string, most: number, tell: (so: Looked) => boolean): Promise<void> {
  const b = await base();
  const all = await b.count("register");
  if (search.trim() === "") {
    tell({ rows: await b.getAll("register", null, most), found: all, looked: all, all });
    return;
  }
  const so: Looked = { rows: [], found: 0, looked: 0, all };
  for (let after: [string, string] | undefined; ; ) {
    const piece: Entry[] = await b.getAll("register", after ? IDBKeyRange.lowerBound(after, true) : null, lookPiece);
    const found = piece.filter((e) => matches(e, search));
    so.rows = [...so.rows, ...found.slice(0, most - so.rows.length)];
    so.found += found.length;
    so.looked += piece.length;
    const last = piece.length < lookPiece ? undefined : piece.at(-1);
    if (!last) so.all = so.looked;
    if (!tell({ ...so }) || !last) return;
    after = [last.order, last.id];
  }
}

/** subscribe calls fn after every write, in this tab and in others; the returned function ends it. */
export function subscribe(fn: (notice: Notice) => void): () => void {
  listeners.add(fn);
  return () => listeners.delete(fn);
}

/**
 * commit writes one change: it returns only when the change, its place in the outbox and the merged record lie on the device's disk.
 *
 * Takes: the fields to set. Gives: the record and the change. Refuses: StoreError; CalcError if the change itself is refused.
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
        await tx.objectStore("outbox").add({ seq: change.seq, id: change.id, at: now });
        await Promise.all(puts(tx, drafted.record, before));
        await tx.objectStore("meta").put({ id: device.id, seq: change.seq, count: Math.max(count, was.count) }, "device");
        return true;
      });
      if (kept) {
        tell({ records: [id], kinds: [wish.kind] });
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
 * receive merges changes from the office and moves the cursor, all in one transaction. What is lost of it to a power cut is fetched again with
 * its cursor, so it does not wait for the disk.
 */
export function receive(changes: Change[], link: Place, answered: { acknowledged: string[]; quarantined: { id: string; reason: string }[] }): Promise<void> {
  return alone(async () => {
    for (let attempt = 0; ; attempt++) {
      const b = await base();
      const ids = [...new Set(changes.map((c) => c.record))];
      const look = b.transaction("records");
      const rows = (await Promise.all(ids.map((id) => look.store.get(id)))).filter((r) => r !== undefined);
      const known = new Map(rows.map((r) => [r.id, r]));
      const merged = await settle(
        calc,
        rows.map((r) => r.state),
        changes,
      );
      const done = await write(
        ["changes", "outbox", "records", "register", "meta"],
        async (tx) => {
          if (!locked()) {
            const now = await Promise.all(ids.map((id) => tx.objectStore("records").get(id)));
            if (now.some((row, i) => row?.rev !== known.get(ids[i] ?? "")?.rev)) return false;
          }
          const written = merged.records.flatMap((state) => puts(tx, state, known.get(state.id)));
          const refused = new Map(answered.quarantined.map((q) => [q.id, q.reason]));
          for (const id of [...answered.acknowledged, ...refused.keys()]) {
            const own = await tx.objectStore("changes").get(id);
            if (!own) continue;
            await tx.objectStore("outbox").delete(own.seq);
            const reason = refused.get(id);
            if (reason !== undefined) await tx.objectStore("changes").put({ ...own, quarantined: reason });
            else if (own.quarantined !== undefined) await tx.objectStore("changes").put({ id: own.id, seq: own.seq, change: own.change });
          }
          const device = (await tx.objectStore("meta").get("device")) as Device;
          const seen = Math.max(device.count, merged.count);
          // A change under this device's id that it never wrote: its profile was copied, or brought back from an older copy.
          const own = await Promise.all(changes.filter((c) => c.device === device.id).map((c) => tx.objectStore("changes").getKey(c.id)));
          const copied = own.some((k) => k === undefined);
          await tx.objectStore("meta").put({ ...device, ...(copied ? { id: newId() } : {}), count: seen }, "device");
          if (copied) await forked(tx, device.id);
          await tx.objectStore("meta").put(link, "link");
          await Promise.all(written);
          return true;
        },
        longestReceiving,
        "relaxed",
      );
      if (done) {
        tell({ records: ids, kinds: [...new Set(merged.records.map((r) => r.kind))] });
        return;
      }
      if (attempt > 5) throw new StoreError("broken", "another tab keeps writing");
    }
  });
}

/** heard notes the nonce of a reply that was taken. What a power cut takes of it makes the office take this device for a copy, which is mended. */
export async function heard(nonce: string): Promise<void> {
  await write(["meta"], async (tx) => void (await tx.objectStore("meta").put(nonce, "heard")), longestTransaction, "relaxed");
}

/** fork takes another id for this device, because a copy of it goes by the same one. What is unsent stays as it was written and goes out. */
export function fork(): Promise<void> {
  return alone(() =>
    write(["meta"], async (tx) => {
      const device = (await tx.objectStore("meta").get("device")) as Device;
      await tx.objectStore("meta").put({ ...device, id: newId() }, "device");
      await forked(tx, device.id);
    }),
  );
}

async function forked(tx: Writing, was: string): Promise<void> {
  await tx.objectStore("meta").delete("heard");
  await tx.objectStore("meta").put(new Date().toISOString(), "forked");
  await tx.objectStore("meta").put(was, "was");
}

/**
 * keepSites drops the records of other sites than these, which the user is no longer given; what has work on it that is unsent or was set aside
 * stays, with what it lies under. The records that are missing come from the office.
 */
export async function keepSites(sites: string[]): Promise<void> {
  const b = await base();
  const refused = (await b.getAllFromIndex("changes", "quarantined")).map((o) => o.change);
  const unsent = new Set([...(await waiting(mostWaiting)), ...refused].map((c) => c.record));
  for (let around = [...unsent]; around.length > 0; ) {
    const parents = (await Promise.all(around.map((id) => b.get("records", id)))).map((r) => r?.parent ?? "").filter((id) => id !== "" && !unsent.has(id));
    for (const id of parents) unsent.add(id);
    around = parents;
  }
  for (let after: string | undefined; ; ) {
    const from = after;
    const last = await alone(() =>
      write(["records", "register"], async (tx) => {
        const rows = await tx.objectStore("records").getAll(from === undefined ? null : IDBKeyRange.lowerBound(from, true), dropPiece);
        const gone = rows.filter((r) => r.site !== "" && !sites.includes(r.site) && !unsent.has(r.id));
        await Promise.all(gone.flatMap((r) => [tx.objectStore("records").delete(r.id), ...unlist(tx, r.state)]));
        return rows.length < dropPiece ? undefined : rows.at(-1)?.id;
      }),
    );
    if (last === undefined) break;
    after = last;
  }
  tell({ records: ["all"], kinds: ["site", "instrument", "standard", "method", "round", "visit", "run", "certificate"] });
}

/** queueAgain begins to offer everything this device ever made, for an office that has lost some; offerMore brings it to the outbox by pieces. */
export function queueAgain(link: Place): Promise<void> {
  return alone(() =>
    write(["meta"], async (tx) => {
      await tx.objectStore("meta").put({ seq: 0, photo: "" }, "offer");
      await tx.objectStore("meta").put(link, "link");
    }),
  );
}

/** offering says whether something is still to be offered again. */
export async function offering(): Promise<boolean> {
  return (await meta("offer")) !== undefined;
}

/**
 * offerMore puts the next n of what is to be offered again into the outbox, in the order in which it was written; what the office set aside
 * once is offered too. It goes on where it stopped, also after the page was closed. It does nothing while the outbox has n or more.
 */
export async function offerMore(n: number): Promise<void> {
  if (!(await offering())) return;
  await alone(() =>
    write(["changes", "outbox", "photos", "meta"], async (tx) => {
      const offer = (await tx.objectStore("meta").get("offer")) as Meta["offer"];
      if (!offer || (await tx.objectStore("outbox").count()) >= n) return;
      const own = await tx.objectStore("changes").index("seq").getAll(IDBKeyRange.lowerBound(offer.seq, true), n);
      for (const o of own) await tx.objectStore("outbox").put({ seq: o.seq, id: o.id, at: Date.parse(o.change.wall) });
      const names = await tx.objectStore("photos").getAllKeys(IDBKeyRange.lowerBound(offer.photo, true), photoPiece);
      for (const name of names) {
        const p = await tx.objectStore("photos").get(name);
        if (p && p.sent !== 0) await tx.objectStore("photos").put({ ...p, sent: 0 });
      }
      const rest = own.length === n || names.length === photoPiece;
      const next = { seq: own.at(-1)?.seq ?? offer.seq, photo: names.at(-1) ?? offer.photo };
      if (rest) await tx.objectStore("meta").put(next, "offer");
      else await tx.objectStore("meta").delete("offer");
    }),
  );
  tell({ records: [], kinds: [] });
}

/** waiting gives the oldest unsent changes, at most n. */
export async function waiting(n: number): Promise<Change[]> {
  const b = await base();
  const tx = b.transaction(["outbox", "changes"]);
  const queued = await tx.objectStore("outbox").getAll(null, n);
  const own = await Promise.all(queued.map((q) => tx.objectStore("changes").get(q.id)));
  return own.flatMap((o) => (o ? [o.change] : []));
}

export type Queue = { count: number; photos: number; oldest: number | undefined; refused: OwnChange[] };

/** queue says how much has not reached the office, and since when. */
export async function queue(): Promise<Queue> {
  const b = await base();
  const first = (await b.getAll("outbox", null, 1))[0];
  const photo = await b.getAllFromIndex("photos", "sent", 0, 1);
  const times = [first?.at, photo[0]?.at].filter((t) => t !== undefined);
  return {
    count: await b.count("outbox"),
    photos: await b.countFromIndex("photos", "sent", 0),
    oldest: times.length > 0 ? Math.min(...times) : undefined,
    refused: await b.getAllFromIndex("changes", "quarantined"),
  };
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
  const b = await base();
  const queued = await b.getAll("outbox");
  const own = await b.getAll("changes");
  const ids = new Set(queued.map((q) => q.id));
  const photos = await b.getAllFromIndex("photos", "sent", 0);
  return JSON.stringify({
    format: "gaugewright-unsent-1",
    device: await meta("device"),
    changes: own.filter((c) => ids.has(c.id) || c.quarantined !== undefined).map((c) => c.change),
    photos: photos.map((p) => ({ sha256: p.sha256, type: p.type, base64: base64(p.bytes) })),
  });
}

function rowOf(state: RecordState, rev: number): Row {
  return {
    id: state.id,
    kind: state.kind,
    parent: state.parent,
    site: state.site,
    keys: keysOf(state),
    rev: rev + 1,
    state,
  };
}

type Writing = IDBPTransaction<Schema, StoreName[], "readwrite">;

/** puts writes a record and, of an instrument, its entry in the register. */
function puts(tx: Writing, state: RecordState, before: Row | undefined): Promise<unknown>[] {
  const row = tx.objectStore("records").put(rowOf(state, before?.rev ?? 0));
  if (state.kind !== "instrument") return [row];
  const entry = entryOf(state);
  const moved = before !== undefined && entry.order !== entryOf(before.state).order;
  return [row, ...(moved ? unlist(tx, before.state) : []), tx.objectStore("register").put(entry)];
}

function unlist(tx: Writing, state: RecordState): Promise<unknown>[] {
  return state.kind === "instrument" ? [tx.objectStore("register").delete([entryOf(state).order, state.id])] : [];
}

async function base(): Promise<IDBPDatabase<Schema>> {
  await open();
  if (!db) throw new StoreError("broken", "the database was closed");
  return db;
}

async function write<T>(
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
      throw e instanceof StoreError ? e : new StoreError(full ? "full" : "broken", full ? "the device's storage is full" : "the device could not keep this", e);
    }
  })();
  return limited(all, longest, () => "slow");
}

/** limited gives up after ms, and once after as many more as more says then. */
function limited<T>(promise: Promise<T>, ms: number, code: () => "slow" | "blocked", more: () => number = () => 0): Promise<T> {
  return new Promise((resolve, reject) => {
    const end = () => reject(new StoreError(code(), "the device's storage does not answer"));
    let timer = setTimeout(() => {
      const rest = more();
      if (rest > 0) timer = setTimeout(end, rest);
      else end();
    }, ms);
    promise.then(resolve, reject).finally(() => clearTimeout(timer));
  });
}

/** alone runs one writer at a time: in this tab by a chain, across tabs by a lock where the browser has them. */
function alone<T>(work: () => Promise<T>): Promise<T> {
  const run = async (): Promise<T> => (locked() ? await navigator.locks.request("gaugewright-write", work) : await work());
  const result = tail.then(run, run);
  tail = result.catch(() => undefined);
  return result;
}

/** locked says whether the browser keeps other tabs from writing meanwhile. */
function locked(): boolean {
  return typeof navigator !== "undefined" && navigator.locks !== undefined;
}

function tell(notice: Notice, away = true): void {
  for (const fn of listeners) fn(notice);
  if (away) news?.postMessage(notice);
}

function hex(bytes: ArrayBuffer): string {
  return Array.from(new Uint8Array(bytes), (b) => b.toString(16).padStart(2, "0")).join("");
}

function base64(bytes: ArrayBuffer): string {
  let binary = "";
  for (const b of new Uint8Array(bytes)) binary += String.fromCharCode(b);
  return btoa(binary);
}
