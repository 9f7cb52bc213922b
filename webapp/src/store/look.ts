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

/** Reading is the register as it is read, a piece at a time, by all who search it meanwhile. */
type Reading = { pieces: Promise<Entry[]>[]; all: number; whole?: Entry[] };

/** The register as read since it changed last. */
let reading: Reading | undefined;
/** Reads the register ahead, so that the first key does not wait for it. */
let ahead: ReturnType<typeof setTimeout> | undefined;
let calm = 0; // ms without a change: while a plant arrives, nothing is read ahead

/** forget drops the register as read. */
export function forget(): void {
  clearTimeout(ahead);
  reading = undefined;
  calm = 500;
}

/** pieceOf reads a piece of the register that nobody has read yet. */
async function pieceOf(b: IDBPDatabase<Schema>, r: Reading, n: number): Promise<Entry[]> {
  if (n === 0) r.all = await b.count("register");
  const last = n === 0 ? undefined : (await r.pieces[n - 1])?.at(-1);
  return b.getAll("register", last ? IDBKeyRange.lowerBound([last.order, last.id], true) : null, lookPiece);
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
    if (!reading?.whole) ahead = setTimeout(() => lookThrough(b, "-", 0, () => true, late).catch(console.error), calm);
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
  reading ??= { pieces: [], all: 0 };
  const r = reading;
  if (r.whole) {
    take(r.whole);
    tell(so(r.whole.length, r.whole.length));
    return;
  }
  try {
    const read: Entry[] = [];
    for (let n = 0; ; n++) {
      r.pieces[n] ??= pieceOf(b, r, n);
      const piece = (await r.pieces[n]) ?? [];
      take(piece);
      for (const e of piece) read.push(e);
      const ends = piece.length < lookPiece;
      if (ends) r.whole = read;
      if (!tell(so(read.length, ends ? read.length : Math.max(r.all, read.length))) || ends) return;
    }
  } catch (e) {
    if (reading === r) reading = undefined; // so that the next search reads it again
    throw e;
  }
}
