import type { IDBPDatabase, IDBPTransaction } from "idb";
import type { User } from "../wire/api";
import { type Change, type Json, value } from "../wire/records";
import { base64 } from "./bytes";
import type { Meta, OwnChange, Schema, StoreName, Writing as Tx } from "./schema";

type Base = IDBPDatabase<Schema>;

const photoPiece = 8; // each some hundred kilobytes
const mostRefusals = 200; // an office reports at most that many refusals: a shorter list is complete

/** A change that the office refuses, and why. */
export type Refusal = { id: string; reason: string };

/** An office's answer about a device's changes. refused is its list of refused ones. */
export type Answered = {
  acknowledged: string[];
  quarantined: Refusal[];
  refused?: { name: string; list: Refusal[] } | undefined;
};

/** What waits on this device for the log-in of another person. */
export type Others = { author: string; name: string; count: number };

/**
 * Queue says how much has not reached the office, and since when. count is of the logged-in person;
 * other people's changes wait for their log-in, and what the office quarantined is everybody's.
 */
export type Queue = {
  count: number;
  photos: number;
  oldest: number | undefined;
  refused: OwnChange[];
  others: Others[];
};

const ofAuthor = (author: string, behind = 0) =>
  IDBKeyRange.bound([author, behind], [author, Number.POSITIVE_INFINITY], true);

/** sign writes the author into each entry of the outbox; earlier versions did not. */
export async function sign(tx: IDBPTransaction<Schema, StoreName[], "versionchange">): Promise<void> {
  const outbox = tx.objectStore("outbox");
  for (const o of await outbox.getAll()) {
    const own = await tx.objectStore("changes").get(o.id);
    await outbox.put({ ...o, author: own?.change.author ?? "" });
  }
}

/**
 * authored gives a person's oldest unsent changes after a number, at most n and not many more than
 * some characters of JSON, but at least one.
 */
export async function authored(
  b: Base,
  author: string | undefined,
  n: number,
  size: number,
  behind = 0,
): Promise<Change[]> {
  if (author === undefined) return [];
  const tx = b.transaction(["outbox", "changes"]);
  const list: Change[] = [];
  let long = 0;
  for (const o of await tx.objectStore("outbox").index("author").getAll(ofAuthor(author, behind), n)) {
    const own = await tx.objectStore("changes").get(o.id);
    if (!own) continue;
    const length = size === Number.POSITIVE_INFINITY ? 0 : JSON.stringify(own.change).length + 1;
    if (list.length > 0 && long + length > size) break;
    list.push(own.change);
    long += length;
  }
  return list;
}

/** queued says what waits, and for whom. */
export async function queued(b: Base, user: string | undefined): Promise<Queue> {
  const authors: string[] = [];
  const index = b.transaction("outbox").store.index("author");
  for (let at = await index.openKeyCursor(); at; at = await at.continue([at.key[0], Number.POSITIVE_INFINITY]))
    authors.push(at.key[0]);
  const own = user === undefined ? undefined : (await b.getAllFromIndex("outbox", "author", ofAuthor(user), 1))[0];
  const photo = await b.getAllFromIndex("photos", "sent", 0, 1);
  const times = [own?.at, photo[0]?.at].filter((t) => t !== undefined);
  const others: Others[] = [];
  const names = (await b.get("meta", "names")) as Meta["names"];
  for (const author of authors) {
    if (author === user) continue;
    const person: Json | undefined = value((await b.get("records", author))?.state, "name");
    const name = typeof person === "string" ? person : (names?.[author] ?? author.slice(0, 6));
    others.push({ author, name, count: await b.countFromIndex("outbox", "author", ofAuthor(author)) });
  }
  return {
    count: user === undefined ? 0 : await b.countFromIndex("outbox", "author", ofAuthor(user)),
    photos: await b.countFromIndex("photos", "sent", 0),
    oldest: times.length > 0 ? Math.min(...times) : undefined,
    refused: await b.getAllFromIndex("changes", "quarantined"),
    others,
  };
}

/**
 * offerNext moves the next n changes that are offered again into the outbox. It marks those of
 * other people, since the office may have them.
 */
export async function offerNext(tx: Tx, user: string | undefined, n: number): Promise<void> {
  const meta = tx.objectStore("meta");
  const offer = (await meta.get("offer")) as Meta["offer"];
  const outbox = tx.objectStore("outbox");
  if (!offer || (user !== undefined && (await outbox.index("author").count(ofAuthor(user))) >= n)) return;
  const own = await tx.objectStore("changes").index("seq").getAll(IDBKeyRange.lowerBound(offer.seq, true), n);
  for (const o of own) {
    const author = o.change.author ?? user ?? "";
    if ((await outbox.get(o.seq)) !== undefined) continue;
    await outbox.put({
      seq: o.seq,
      id: o.id,
      at: Date.parse(o.change.wall),
      author,
      ...(author === user ? {} : { again: 1 as const }),
    });
  }
  const names = await tx.objectStore("photos").getAllKeys(IDBKeyRange.lowerBound(offer.photo, true), photoPiece);
  for (const name of names) {
    const p = await tx.objectStore("photos").get(name);
    if (p && p.sent !== 0) await tx.objectStore("photos").put({ ...p, sent: 0 });
  }
  const rest = own.length === n || names.length === photoPiece;
  if (rest) await meta.put({ seq: own.at(-1)?.seq ?? offer.seq, photo: names.at(-1) ?? offer.photo }, "offer");
  else await meta.delete("offer");
}

/** lift removes the quarantine mark from an own change. */
async function lift(tx: Tx, own: OwnChange): Promise<void> {
  await tx.objectStore("changes").put({ id: own.id, seq: own.seq, change: own.change });
}

/**
 * answer records the office's answer about sent changes, and its list of refused ones unless that
 * list is stale.
 */
export async function answer(tx: Tx, answered: Answered, stale: boolean): Promise<void> {
  const refused = new Map(answered.quarantined.map((q) => [q.id, q.reason]));
  for (const id of [...answered.acknowledged, ...refused.keys()]) {
    const own = await tx.objectStore("changes").get(id);
    if (!own) continue;
    await tx.objectStore("outbox").delete(own.seq);
    const reason = refused.get(id);
    if (reason !== undefined) await tx.objectStore("changes").put({ ...own, quarantined: reason });
    else if (own.quarantined !== undefined) await lift(tx, own);
  }
  const reported = stale ? undefined : answered.refused;
  if (reported) await listed(tx, reported, refused);
  // Quarantined changes that are not on the list: the next list says what became of them.
  const names = new Set(reported?.list.map((r) => r.id));
  if (answered.quarantined.some((r) => !names.has(r.id))) await tx.objectStore("meta").delete("refused");
}

/**
 * listed takes over the office's list of a person's refused changes. What a complete list lacks was
 * taken in since, except what was quarantined just now.
 */
async function listed(tx: Tx, reported: { name: string; list: Refusal[] }, now: Map<string, string>): Promise<void> {
  const changes = tx.objectStore("changes");
  const user = (await tx.objectStore("meta").get("user")) as User | undefined;
  const reasons = new Map(reported.list.map((r) => [r.id, r.reason]));
  const whole = reported.list.length < mostRefusals;
  for (const own of await changes.index("quarantined").getAll()) {
    if ((own.change.author ?? user?.id) !== user?.id || reasons.has(own.id)) continue;
    if (own.listed || (whole && !now.has(own.id))) await lift(tx, own);
  }
  for (const [id, reason] of reasons) {
    const own = await changes.get(id);
    if (own) await changes.put({ ...own, quarantined: reason, listed: 1 });
  }
  await tx.objectStore("meta").put(reported.name, "refused");
}

/**
 * arrived records own changes that came back from the office: it has them, from whatever sender.
 */
export async function arrived(tx: Tx, changes: Change[]): Promise<void> {
  const outbox = tx.objectStore("outbox");
  const refused = await tx.objectStore("changes").index("quarantined").getAllKeys();
  const waits = await outbox.getAll();
  if (refused.length + waits.length === 0) return;
  const came = new Set(changes.map((c) => c.id));
  for (const o of waits) if (came.has(o.id)) await outbox.delete(o.seq);
  for (const id of refused) {
    const own = came.has(id) ? await tx.objectStore("changes").get(id) : undefined;
    if (own) await lift(tx, own);
  }
}

/**
 * unsentText gives what has not reached the office, or was refused by it, as JSON, with photos in
 * base64.
 */
export async function unsentText(b: Base): Promise<string> {
  const ids = new Set((await b.getAll("outbox")).map((q) => q.id));
  const own = await b.getAll("changes");
  const photos = await b.getAllFromIndex("photos", "sent", 0);
  return JSON.stringify({
    format: "gaugewright-unsent-1",
    device: await b.get("meta", "device"),
    changes: own.filter((c) => ids.has(c.id) || c.quarantined !== undefined).map((c) => c.change),
    photos: photos.map((p) => ({ sha256: p.sha256, type: p.type, base64: base64(p.bytes) })),
  });
}
