import type { IDBPDatabase } from "idb";
import type { Schema } from "./schema";
import { type Late, matcher } from "./search";
import type { Entry } from "./shelf";

/**
 * Looked is the progress of a search of the register: its first results, in the order of the tags,
 * and their number. near: nothing matches as typed, and these match with a slip.
 */
export type Looked = { rows: Entry[]; found: number; looked: number; all: number; near?: boolean };

const lookPiece = 1_000; // entries of the register, some hundred bytes each

/**
 * The register as last read, kept between two key presses; undefined until one search came to its
 * end, and after any of it has changed.
 */
let known: Entry[] | undefined;
let changes = 0;
/** Reads the register ahead, so that the first key does not wait for it. */
let ahead: ReturnType<typeof setTimeout> | undefined;
const calm = 500; // without a change: while a plant arrives, nothing is read ahead

/** forget drops the kept register. */
export function forget(): void {
  known = undefined;
  changes++;
}

/** lookThrough searches the register by the one rule of search.ts, a piece at a time. */
export async function lookThrough(
  b: IDBPDatabase<Schema>,
  search: string,
  most: number,
  tell: (so: Looked) => boolean,
  late: Late,
): Promise<void> {
  if (search.trim() === "") {
    const all = await b.count("register");
    tell({ rows: await b.getAll("register", null, most), found: all, looked: all, all });
    clearTimeout(ahead);
    if (!known) ahead = setTimeout(() => lookThrough(b, "-", 0, () => true, late).catch(console.error), calm);
    return;
  }
  const fits = matcher(search, late);
  const exact: Entry[] = [];
  const near: Entry[] = [];
  let [sure, close] = [0, 0];
  const take = (piece: Entry[]) => {
    for (const e of piece) {
      const fit = fits(e);
      if (fit === 2 && ++sure <= most) exact.push(e);
      if (fit === 1 && ++close <= most) near.push(e);
    }
  };
  const so = (looked: number, all: number): Looked =>
    sure > 0 || close === 0 || looked < all
      ? { rows: exact, found: sure, looked, all }
      : { rows: near, found: close, looked, all, near: true };
  if (known) {
    take(known);
    tell(so(known.length, known.length));
    return;
  }
  const began = changes;
  const all = await b.count("register");
  const read: Entry[] = [];
  for (let after: [string, string] | undefined; ; ) {
    const piece: Entry[] = await b.getAll("register", after ? IDBKeyRange.lowerBound(after, true) : null, lookPiece);
    take(piece);
    for (const e of piece) read.push(e);
    const last = piece.length < lookPiece ? undefined : piece.at(-1);
    if (!last && began === changes) known = read;
    if (!tell(so(read.length, last ? Math.max(all, read.length) : read.length)) || !last) return;
    after = [last.order, last.id];
  }
}
