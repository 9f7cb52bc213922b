import type { IDBPDatabase } from "idb";
import { press } from "./press";
import type { Given, Meta, Schema, Writing } from "./schema";

/**
 * Most bytes of what was given that are kept, the latest of it: a plant of 256 instruments with
 * five years of visits has 3.6 MB in gzip, a third of what its records take.
 */
const mostGiven = 16 << 20;
const rowCost = 300; // bytes of a row beside its text, by a rough guess

/** Said is the text of a reply's changes, as it came, and the office's signature over them. */
export type Said = { sign: string; text: string };

export async function packed(said: Said): Promise<Pick<Given, "sign" | "text">> {
  return { sign: said.sign, text: (await press(said.text)) ?? said.text };
}

/** unpacked gives the text again. */
export async function unpacked(given: Given): Promise<string> {
  if (typeof given.text === "string") return given.text;
  return new Response(new Blob([given.text]).stream().pipeThrough(new DecompressionStream("gzip"))).text();
}

const size = (given: Pick<Given, "text">) =>
  rowCost + (typeof given.text === "string" ? given.text.length : given.text.byteLength);

/** putGiven keeps what was given, and drops the oldest of it beyond what a device can bear. */
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

/** givenFrom gives the next that is to be brought back to an office, which knows its own only. */
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

/** givenWith names what was given that has one of some changes. */
export async function givenWith(b: IDBPDatabase<Schema>, ids: string[]): Promise<number[]> {
  const found: number[] = [];
  for (const n of await b.getAllKeys("given")) {
    const one = await b.get("given", n);
    const text = one && (await unpacked(one));
    if (text !== undefined && ids.some((id) => text.includes(`"id":"${id}"`))) found.push(n);
  }
  return found;
}

/** dropSome drops some of what was given. */
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

/** dropGiven drops what was brought back, or all of it. */
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
