import { callBytes } from "../calc/calc";
import type { TraceOutput, TraceSamples } from "../wire/calculations.gen";
import { asNumber, type Json } from "../wire/records";
import { sentence } from "../words/words";

export type Doc = { [name: string]: Json };

/** Guess is what a column of a record may be. */
export type Guess = "" | "time" | "date" | "index" | "pressure" | "temperature" | "barometer" | "contact";

export type ColumnSeen = {
  column: number;
  name: string;
  unit: string;
  kind: string;
  guess: Guess;
  samples: string[];
  words: string[];
  low: number;
  high: number;
};

/** Seen is what the beginning of a record seems to be. */
export type Seen = {
  separator: string;
  decimal: string;
  comment: string;
  first: number;
  rows: number;
  rowBytes: number;
  columns: ColumnSeen[];
  time: Doc;
  warnings: string[];
};

export type Fault = { line: number; code: string; message: string; cell: string };
export type Gap = { line: number; from: number; to: number; bridged: number | undefined };
export type Samples = {
  t: number[];
  p: number[];
  temperature: number[] | undefined;
  barometer: number[] | undefined;
  contact: string | undefined;
};

/** Read is everything that a record gave. */
export type Read = { samples: Samples; faults: Fault[]; gaps: Gap[]; start: string; state: Doc };

const looked = 64 << 10;
const piece = 1 << 20;
const largestPiece = 16 << 20;

const other = () => new TypeError("the calculation answered another question");

/** Ask calls a calculation that takes bytes beside its document; tests give their own. */
export type Ask = (doc: Doc, bytes: ArrayBuffer, signal?: AbortSignal) => Promise<TraceOutput>;
const worker: Ask = (doc, bytes, signal) => callBytes("trace", doc, bytes, signal);

/** look asks what a record seems to be, from its first 64 kB. Refuses: CalcError. */
export async function look(file: Blob, ask: Ask = worker): Promise<Seen> {
  const bytes = await file.slice(0, looked).arrayBuffer();
  const said = await ask({ do: "look", last: file.size <= looked }, bytes);
  if (!("columns" in said)) throw other();
  const { separator, decimal, comment = "", first_line: first, rows = 0, row_bytes, time, warnings, columns } = said;
  return {
    separator,
    decimal,
    comment,
    first,
    rows,
    rowBytes: asNumber(row_bytes) ?? 1,
    time,
    warnings: warnings.map((w) => sentence(w.message)),
    columns: columns.map((c) => ({ ...c, low: asNumber(c.low) ?? 0, high: asNumber(c.high) ?? 0 })),
  };
}

/** rowsOf estimates the rows of a record from its beginning. */
export function rowsOf(file: Blob, seen: Seen): number {
  return file.size <= looked ? seen.rows : Math.ceil(file.size / Math.max(1, seen.rowBytes));
}

/** The most samples that are drawn and evaluated; longer records are thinned by groups of rows. */
export const mostSamples = 10_000;

/**
 * blockFor gives the group size at which so many rows keep at most mostSamples samples; extremes
 * keep up to six per group.
 */
export function blockFor(rows: number, to: "mean" | "extremes"): number {
  return rows <= mostSamples ? 1 : Math.ceil(rows / (to === "mean" ? mostSamples : Math.floor(mostSamples / 6)));
}

const none = (): Samples => ({ t: [], p: [], temperature: undefined, barometer: undefined, contact: undefined });

function add(to: Samples, v: TraceSamples): void {
  const push = (list: number[], more: (number | string)[]) => {
    for (const x of more) list.push(Number(x));
  };
  push(to.t, v.t_s);
  push(to.p, v.p);
  if (v.temperature_c) {
    to.temperature ??= [];
    push(to.temperature, v.temperature_c);
  }
  if (v.barometer_pa) {
    to.barometer ??= [];
    push(to.barometer, v.barometer_pa);
  }
  if (v.contact !== undefined) to.contact = (to.contact ?? "") + v.contact;
}

/**
 * read takes a whole record piece by piece, in the worker, so that the page stays free.
 *
 * Takes: the file, the reading that a person has confirmed, a function that is given how far it is (0 to 1).
 * Refuses: CalcError; AbortError.
 */
export async function read(
  file: Blob,
  reading: Doc,
  progress: (share: number) => void = () => undefined,
  signal?: AbortSignal,
  ask: Ask = worker,
): Promise<Read> {
  const all: Read = { samples: none(), faults: [], gaps: [], start: "", state: {} };
  let size = piece;
  for (let at = 0, last = false; !last; ) {
    const end = Math.min(file.size, at + size);
    last = end === file.size;
    const bytes = await file.slice(at, end).arrayBuffer();
    const state = at > 0 || Object.keys(all.state).length > 0 ? { state: all.state } : {};
    const said = await ask({ do: "read", last, reading, ...state }, bytes, signal);
    if (!("used" in said)) throw other();
    const { used } = said;
    if (used === 0 && !last) {
      size *= 4;
      if (size > largestPiece) throw new RangeError("a row of this record does not end");
      continue;
    }
    size = piece;
    at += used;
    all.state = said.state;
    all.start ||= said.start ?? "";
    add(all.samples, said.samples);
    for (const f of said.faults) all.faults.push(f);
    for (const g of said.gaps)
      all.gaps.push({
        line: g.line,
        from: asNumber(g.from_s) ?? 0,
        to: asNumber(g.to_s) ?? 0,
        bridged: asNumber(g.bridged_s),
      });
    progress(file.size === 0 ? 1 : at / file.size);
  }
  return all;
}

let latest: { key: string; read: Read }[] = [];
const keptReads = 4;
const keyOf = (sha256: string, reading: Doc) => `${sha256} ${JSON.stringify(reading)}`;

/** remember keeps the samples of a record while the page is open. */
export function remember(sha256: string, reading: Doc, it: Read): void {
  const key = keyOf(sha256, reading);
  latest = [{ key, read: it }, ...latest.filter((l) => l.key !== key)].slice(0, keptReads);
}

/**
 * recall gives the samples of a record for a reading, and reads it again if they are forgotten;
 * undefined if the record is not here.
 */
export async function recall(
  sha256: string,
  reading: Doc,
  packed: boolean,
  find: (sha256: string) => Promise<Blob | undefined>,
): Promise<Read | undefined> {
  const known = latest.find((l) => l.key === keyOf(sha256, reading));
  if (known) return known.read;
  const kept = await find(sha256);
  if (!kept) return undefined;
  const it = await read(await plain(await unpack(kept, packed)), reading);
  remember(sha256, reading, it);
  return it;
}

/** sheetTrace gives a record's samples as the evaluation takes them. */
export function sheetTrace(step: string, reading: Doc, it: Read): Doc {
  const { t, p, temperature, barometer, contact } = it.samples;
  return {
    step,
    unit: reading["unit"] ?? "",
    t_s: t,
    p,
    ...(temperature ? { temperature_c: temperature } : {}),
    ...(barometer ? { barometer_pa: barometer } : {}),
    ...(contact === undefined ? {} : { contact }),
  };
}

/**
 * plain gives a record in UTF-8 for reading: one that begins with a UTF-16 mark is decoded. The
 * stored file stays as it is.
 */
export async function plain(file: Blob): Promise<Blob> {
  const [a, b] = new Uint8Array(await file.slice(0, 2).arrayBuffer());
  const form = a === 0xff && b === 0xfe ? "utf-16le" : a === 0xfe && b === 0xff ? "utf-16be" : undefined;
  if (form === undefined) return file;
  const text = file.stream().pipeThrough(new TextDecoderStream(form)).pipeThrough(new TextEncoderStream());
  return new Response(text).blob();
}

/** Larger files are stored packed. */
const largestPlain = 32 << 20;

/**
 * pack gives what is stored of a file: itself, or itself packed by gzip if it is large. Refuses:
 * RangeError if even that is too large.
 */
export async function pack(file: Blob): Promise<{ blob: Blob; packed: boolean }> {
  if (file.size <= largestPlain) return { blob: file, packed: false };
  const blob = await new Response(file.stream().pipeThrough(new CompressionStream("gzip"))).blob();
  if (blob.size > largestPlain) throw new RangeError("too large");
  return { blob, packed: true };
}

/** unpack gives the original of a stored file. */
export async function unpack(blob: Blob, packed: boolean): Promise<Blob> {
  return packed ? await new Response(blob.stream().pipeThrough(new DecompressionStream("gzip"))).blob() : blob;
}
