import type { IDBPDatabase } from "idb";
import { press } from "./press";
import type { Given, Meta, Schema, Writing } from "./schema";

/**
 * The most bytes kept of the office's replies, the latest first: a plant of 256 instruments with
 * five years of visits has 3.6 MB in gzip, a third of the size of its records.
 */
const mostGiven = 16 << 20;
const rowCost = 300; // bytes of a row beside its text, roughly

/** Said is the text of a reply's changes, as it came, and the office's signature over them. */
export type Said = { sign: string; text: string };

export async function packed(said: Said): Promise<Pick<Given, "sign" | "text">> {
  return { sign: said.sign, text: (await press(said.text)) ?? said.text };
}

/** unpacked gives the original text. */
export async function unpacked(given: Given): Promise<string> {
  if (typeof given.text === "string") return given.text;
  return new Response(new Blob([given.text]).stream().pipeThrough(new DecompressionStream("gzip"))).text();
}

const size = (given: Pick<Given, "text">) =>
  rowCost + (typeof given.text === "string" ? given.text.length : given.text.byteLength);

/** putGiven keeps a reply, and drops the oldest ones beyond what a device can keep. */
export async function putGiven(tx: Writing, given: Omit<Given, "n">, most = mostGiven): Promise<void> {
  const meta = tx.objectStore("meta");
  const kept = tx.objectStore("given");
  let all = (((await meta.get("given")) as Meta["given"]) ?? 0) + size(given);
  await kept.add(given as Given);
  for (let at = all > most ? await kept.openCursor() : null; at && all > most; at = await at.continue()) {
    all -= size(at.value);
    await at.delete();
  }
  await meta.put(all, "given");
}

export async function lastGiven(tx: Writing): Promise<number> {
  return (await tx.objectStore("given").openKeyCursor(null, "prev"))?.key ?? 0;
}

/** givenFrom gives the next reply to bring back to an office, which takes only its own. */
export async function givenFrom(
  b: IDBPDatabase<Schema>,
  back: { store: string; at: number; to: number },
): Promise<Given | undefined> {
  if (back.at >= back.to) return undefined;
  const range = IDBKeyRange.bound(back.at, back.to, true);
  for (let at = await b.transaction("given").store.openCursor(range); at; at = await at.continue())
    if (at.value.store === back.store) return at.value;
  return undefined;
}

/** givenWith names the replies that contain one of some changes. */
export async function givenWith(b: IDBPDatabase<Schema>, ids: string[]): Promise<number[]> {
  const found: number[] = [];
  for (const n of await b.getAllKeys("given")) {
    const one = await b.get("given", n);
    const text = one && (await unpacked(one));
    if (text !== undefined && ids.some((id) => text.includes(`"id":"${id}"`))) found.push(n);
  }
  return found;
}

/** dropSome drops some replies. */
export async function dropSome(tx: Writing, list: number[]): Promise<void> {
  const meta = tx.objectStore("meta");
  let all = ((await meta.get("given")) as Meta["given"]) ?? 0;
  for (const n of list) {
    const one = await tx.objectStore("given").get(n);
    if (!one) continue;
    all -= size(one);
    await tx.objectStore("given").delete(n);
  }
  await meta.put(all, "given");
}

/** dropGiven drops the replies that were brought back, or all of them. */
export async function dropGiven(tx: Writing, every: boolean): Promise<void> {
  const meta = tx.objectStore("meta");
  const back = (await meta.get("back")) as Meta["back"];
  if (every ? back !== undefined : back === undefined) return;
  let all = ((await meta.get("given")) as Meta["given"]) ?? 0;
  const range = back ? IDBKeyRange.upperBound(back.to) : null;
  for (let at = await tx.objectStore("given").openCursor(range); at; at = await at.continue()) {
    if (back && at.value.store !== back.store) continue;
    all -= size(at.value);
    await at.delete();
  }
  await meta.put(all, "given");
  await meta.delete("back");
}
