import { fileOf, mostBytes } from "../../records/programme";
import type { Draft } from "../../records/programme";

// A programme as a link: the address of this server's page for incoming programmes, then # and the
// content of a programme's file, deflated and written in 43 signs. A QR code packs these at five
// and a half bits each, and a link takes them unescaped.
const signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$*+-./:";
const base = signs.length;
const shape = /^1([0-9A-Z$*+\-./:]*)E$/;

/** spelled writes two bytes as three signs, and a single last byte as two. */
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
 * piped sends bytes through a stream and gives what comes out; undefined if that is longer than
 * most, or damaged.
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
 * packed gives the part of a programme's link after #. Refuses: a TypeError if the browser cannot
 * deflate.
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
 * unpacked gives the text of the file in the part of a link after #; undefined if there is none.
 * The text is not trusted yet.
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
