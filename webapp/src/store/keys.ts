import { openDB } from "idb";
import type { Json, RecordState } from "../wire/records";
import { base64, hex } from "./bytes";
import { canonical } from "./canonical";
import { commit, meta, record } from "./store";

// The keys that sign statements; package sync/statement says what is signed. A private key cannot
// be read out of the browser. It is stored in a separate database.

type Pair = { kid: string; alg: "EdDSA" | "ES256"; public: { [name: string]: string }; secret: CryptoKey };
type Kept = Pair & { user: string; id: string; told: boolean };

/** A statement: its author, and the field of the record that it is about. */
export type Said = { by: string; field: string; record: string; value: { [name: string]: Json } };

const encoder = new TextEncoder();

async function sha256(text: string): Promise<ArrayBuffer> {
  return crypto.subtle.digest("SHA-256", encoder.encode(text));
}

const url = (b: ArrayBuffer) => base64(b).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
const urlText = (s: string) => url(encoder.encode(s).buffer);

/**
 * Fields that come and go without altering what was done: the signature, the summary that is
 * written with it, and what the office adds.
 */
export const besides = ["signature", "summary", "approval", "returned", "reopened", "check", "late"];

/**
 * content is the hash of what changes say about some records: of the current values of the fields
 * that they wrote, without those in besides.
 */
export async function content(states: RecordState[], covers: string[]): Promise<string> {
  const all: { [id: string]: { [field: string]: Json } } = {};
  for (const state of states) {
    const fields: { [field: string]: Json } = {};
    for (const [name, f] of Object.entries(state.fields)) {
      if (besides.includes(name.split(".")[0] ?? "")) continue;
      const heads = f.heads.filter((h) => covers.includes(h.change)).sort((a, b) => (a.stamp < b.stamp ? -1 : 1));
      if (heads.length > 0) fields[name] = heads.map((h) => ({ change: h.change, value: h.value }));
    }
    if (Object.keys(fields).length > 0) all[state.id] = fields;
  }
  return hex(await sha256(canonical(all)));
}

/** payload is the text that a key signs. */
export async function payload(said: Said): Promise<string> {
  const { proof: _, office: __, ...value } = said.value;
  const digest = hex(await sha256(canonical(value)));
  const field = said.field.split(".")[0] ?? "";
  return canonical({ by: said.by, digest, field, format: "gaugewright-statement-1", record: said.record });
}

/** thumbprint names a public key: RFC 7638. */
export async function thumbprint(key: { [name: string]: string }): Promise<string> {
  return url(await sha256(canonical(key)));
}

/** recordOf gives the id of the record of a key: the first 130 bits of its thumbprint. */
export function recordOf(kid: string): string {
  const bytes = atob(kid.replaceAll("-", "+").replaceAll("_", "/"));
  let id = "";
  for (let bit = 0; bit < 130; bit += 5) {
    const two = (bytes.charCodeAt(bit >> 3) << 8) | bytes.charCodeAt((bit >> 3) + 1);
    id += "0123456789abcdefghjkmnpqrstvwxyz".charAt((two >> (11 - (bit % 8))) & 31);
  }
  return id;
}

/** sign gives a JWS with a detached payload. */
export async function sign(key: Pair, text: string): Promise<string> {
  const head = urlText(`{"alg":"${key.alg}","kid":"${key.kid}"}`);
  const way = key.alg === "EdDSA" ? { name: "Ed25519" } : { name: "ECDSA", hash: "SHA-256" };
  return `${head}..${url(await crypto.subtle.sign(way, key.secret, encoder.encode(`${head}.${urlText(text)}`)))}`;
}

/** make makes a pair of keys: Ed25519, or P-256 if the browser has no other. */
export async function make(): Promise<Pair> {
  const ways: [Pair["alg"], Algorithm | EcKeyGenParams][] = [
    ["EdDSA", { name: "Ed25519" }],
    ["ES256", { name: "ECDSA", namedCurve: "P-256" }],
  ];
  for (const [alg, way] of ways) {
    const pair = (await crypto.subtle.generateKey(way, false, ["sign", "verify"]).catch(() => undefined)) as
      | CryptoKeyPair
      | undefined;
    if (!pair) continue;
    const { kty = "", crv = "", x = "", y } = await crypto.subtle.exportKey("jwk", pair.publicKey);
    const key: { [name: string]: string } = { kty, crv, x, ...(y === undefined ? {} : { y }) };
    return { kid: await thumbprint(key), alg, public: key, secret: pair.privateKey };
  }
  throw new Error("this browser makes no keys");
}

const base = () =>
  openDB("gaugewright-keys", 1, { upgrade: (db) => void db.createObjectStore("keys", { keyPath: "user" }) });

/**
 * own gives the logged-in person's key. If no key is in use, it makes one with its record; made
 * says so.
 */
async function own(user: string): Promise<{ key: Pair; made: boolean }> {
  const db = await base();
  try {
    let kept = (await db.get("keys", user)) as Kept | undefined;
    const known = kept && (await record(kept.id));
    if (!kept || known?.fields["ended"]) {
      const pair = await make();
      kept = { ...pair, user, id: recordOf(pair.kid), told: false };
      await db.put("keys", kept);
    }
    const missing = !(await record(kept.id)) && (!kept.told || (await meta("whole")) === true);
    if (missing) {
      const value = { public: kept.public, of: "person", person: user, made: new Date().toISOString() };
      const proof = await sign(kept, await payload({ by: user, field: "key", record: kept.id, value }));
      await commit({
        record: kept.id,
        kind: "key",
        site: "",
        parent: "",
        set: [{ field: "public", value: { ...value, proof } }],
      });
      await db.put("keys", { ...kept, told: true });
    }
    return { key: kept, made: missing };
  } finally {
    db.close();
  }
}

/** keyOf gives the id of the record of a person's key on this device, or "" if there is none. */
export async function keyOf(user: string): Promise<string> {
  const db = await base();
  try {
    return ((await db.get("keys", user)) as Kept | undefined)?.id ?? "";
  } finally {
    db.close();
  }
}

/**
 * prove signs a person's statement about a record with the key of this device. Gives: the members
 * to add to the value; made, if the key is new and the office does not know it. It gives none of
 * them if the browser has no keys: the statement is then without a proof.
 */
export async function prove(said: Said): Promise<{ proof?: string; made: boolean }> {
  if (!globalThis.crypto?.subtle) return { made: false };
  try {
    const { key, made } = await own(said.by);
    return { proof: await sign(key, await payload(said)), made };
  } catch (e) {
    console.error(e); // a database that is full or missing stops no work
    return { made: false };
  }
}
