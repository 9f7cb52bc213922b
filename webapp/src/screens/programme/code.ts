import { fileOf, mostBytes } from "../../records/programme";
import type { Draft } from "../../records/programme";

// A programme as a link: that of this server's own page for programmes that come in, and behind #
// what a file of it holds, deflated and written in 43 signs that a QR code packs at five and a half
// bits each and a link takes as they are.
const signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$*+-./:";
const base = signs.length;
const shape = /^1([0-9A-Z$*+\-./:]*)E$/;

/** spelled writes two bytes as three signs, and a last one as two. */
export function spelled(bytes: Uint8Array): string {
  let out = "";
  for (let i = 0; i < bytes.length; i += 2) {
    const last = i + 1 === bytes.length;
    let n = last ? (bytes[i] ?? 0) : (bytes[i] ?? 0) * 256 + (bytes[i + 1] ?? 0);
    for (let k = last ? 2 : 3; k > 0; k--) {
      out += signs[n % base];
      n = Math.floor(n / base);
    }
  }
  return out;
}

/** unspelled reads what spelled writes; undefined for what it never writes. */
export function unspelled(text: string): Uint8Array<ArrayBuffer> | undefined {
  if (text.length % 3 === 1) return undefined;
  const out = new Uint8Array(Math.floor((text.length * 2) / 3));
  let at = 0;
  for (let i = 0; i < text.length; i += 3) {
    const group = [...text.slice(i, i + 3)].map((s) => signs.indexOf(s));
    const n = group.reduce((sum, digit, k) => sum + digit * base ** k, 0);
    if (group.includes(-1) || n > (group.length === 3 ? 65535 : 255)) return undefined;
    if (group.length === 3) out[at++] = n >> 8;
    out[at++] = n & 255;
  }
  return out;
}

/**
 * piped puts bytes through a stream and gives what comes out; undefined where that is more than
 * most, or is damaged.
 */
async function piped(
  bytes: Uint8Array<ArrayBuffer>,
  through: GenericTransformStream,
  most: number,
): Promise<Uint8Array<ArrayBuffer> | undefined> {
  const reader = (new Blob([bytes]).stream().pipeThrough(through) as ReadableStream<Uint8Array>).getReader();
  const pieces: Uint8Array[] = [];
  let size = 0;
  try {
    for (;;) {
      const { value, done } = await reader.read();
      if (done) break;
      size += value.length;
      if (size > most) {
        await reader.cancel();
        return undefined;
      }
      pieces.push(value);
    }
  } catch {
    return undefined;
  }
  const all = new Uint8Array(size);
  let at = 0;
  for (const p of pieces) {
    all.set(p, at);
    at += p.length;
  }
  return all;
}

/**
 * packed gives what follows # in the link of a programme. Refuses: a TypeError where the
 * browser cannot deflate.
 */
export async function packed(draft: Draft): Promise<string> {
  const text = JSON.stringify(JSON.parse(fileOf(draft)));
  const bytes = await piped(
    new Uint8Array(new TextEncoder().encode(text)),
    new CompressionStream("deflate-raw"),
    mostBytes,
  );
  return `1${spelled(bytes ?? new Uint8Array())}E`;
}

/**
 * unpacked gives the text of the file that follows # in a link; undefined where none does.
 * Nothing of it is trusted yet.
 */
export async function unpacked(fragment: string): Promise<string | undefined> {
  const body = shape.exec(fragment)?.[1];
  const bytes = body === undefined || body === "" ? undefined : unspelled(body);
  const text = bytes && (await piped(bytes, new DecompressionStream("deflate-raw"), mostBytes));
  try {
    return text && new TextDecoder("utf-8", { fatal: true }).decode(text);
  } catch {
    return undefined;
  }
}
