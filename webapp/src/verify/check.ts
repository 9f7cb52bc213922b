/** Checks a certificate with the laboratory's public keys, as the server's package paper does. */

type PublicKey = { kty: string; crv: string; x: string };
type Key = { public: PublicKey; from: string; until: string; why: string };
export type List = { at: string; keys: Key[]; replaced: { of: string; by: string }[] };

export type Code = {
  number: string;
  date: string;
  found: string;
  left: string;
  item: string;
  cut: boolean;
  print: string;
};

export type Kind = "code" | "pdf" | "xml" | "record";
type Why = "form" | "seal" | "bytes" | "key" | "evidence" | "alone";

/** Bad is thrown with the first thing that does not verify. */
export class Bad extends Error {
  readonly why: Why;
  constructor(why: Why) {
    super(why);
    this.why = why;
  }
}

export type Outcome = { kind: Kind; code: Code; key: Key; kid: string; replacedBy: string; replaces: string };

const text = new TextDecoder("utf-8", { fatal: true });
const latin = new TextDecoder("latin1");
const bytesOf = (s: string) => new TextEncoder().encode(s);

/** unbase reads base64url in its strict form only, as Go's strict decoder does. */
function unbase(s: string): Uint8Array<ArrayBuffer> {
  if (!/^[\w-]*$/.test(s)) throw new Bad("form");
  let b: Uint8Array<ArrayBuffer>;
  try {
    b = Uint8Array.from(atob(s.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
  } catch {
    throw new Bad("form");
  }
  if (rebase(b) !== s) throw new Bad("form");
  return b;
}

function rebase(b: Uint8Array): string {
  let s = "";
  for (const x of b) s += String.fromCharCode(x);
  return btoa(s).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
}

async function sha(b: Uint8Array<ArrayBuffer>): Promise<Uint8Array<ArrayBuffer>> {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", b));
}

async function signedBy(key: Key, signature: Uint8Array<ArrayBuffer>, message: Uint8Array<ArrayBuffer>) {
  if (key.public.crv !== "Ed25519") return false;
  const { kty, crv, x } = key.public;
  const k = await crypto.subtle.importKey("jwk", { kty, crv, x }, { name: "Ed25519" }, false, ["verify"]);
  return crypto.subtle.verify({ name: "Ed25519" }, k, signature, message);
}

/** able says whether this browser can check Ed25519 signatures. */
export async function able(): Promise<boolean> {
  try {
    const x = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"; // of RFC 8037 appendix A.1
    await crypto.subtle.importKey("jwk", { kty: "OKP", crv: "Ed25519", x }, { name: "Ed25519" }, false, ["verify"]);
    return true;
  } catch {
    return false;
  }
}

async function thumbprint(k: PublicKey): Promise<string> {
  return rebase(await sha(bytesOf(`{"crv":"${k.crv}","kty":"${k.kty}","x":"${k.x}"}`)));
}

/** jws checks a detached signature against the keys and gives the key that made it. */
async function jws(
  head: string,
  signature: string,
  payload: Uint8Array,
  keys: Key[],
): Promise<{ key: Key; kid: string }> {
  const header = /^\{"alg":"(?:EdDSA|Ed25519)","kid":"([\w-]{43})"\}$/.exec(latin.decode(unbase(head)));
  if (!header?.[1]) throw new Bad("form");
  for (const key of keys) {
    if ((await thumbprint(key.public)) !== header[1]) continue;
    const good = await signedBy(key, unbase(signature), bytesOf(`${head}.${rebase(payload)}`));
    if (!good) throw new Bad("bytes");
    return { key, kid: header[1] };
  }
  throw new Bad("key");
}

function flattened(file: string): { payload: string; protected: string; signature: string } {
  const m = /^\{"payload":"([\w-]+)","protected":"([\w-]+)","signature":"([\w-]+)"\}\n$/.exec(file);
  if (!m?.[1] || !m[2] || !m[3]) throw new Bad("form");
  return { payload: m[1], protected: m[2], signature: m[3] };
}

/** readList reads the laboratory's list, which one of its own keys signed. */
export async function readList(file: string): Promise<List> {
  const f = flattened(file);
  const payload = unbase(f.payload);
  const list = JSON.parse(text.decode(payload)) as List & { format: string };
  if (list.format !== "gaugewright-list-1") throw new Bad("form");
  await jws(f.protected, f.signature, payload, list.keys);
  return list;
}

const verdicts: Record<string, string> = {
  "-": "",
  P: "pass",
  F: "fail",
  C: "conditional pass",
  D: "conditional fail",
  U: "undecided",
};

/** codeIn takes the code out of a scanned address. */
export function codeIn(scanned: string): string {
  const at = scanned.indexOf("#");
  return at < 0 ? scanned.trim() : scanned.slice(at + 1);
}

async function readCode(code: string, keys: Key[]): Promise<{ code: Code; key: Key; kid: string }> {
  const form =
    /^(gw1\.([A-Za-z0-9/:-]+)\.(\d\d)(\d\d)(\d\d)\.([-PFCDU])([-PFCDU])\.((?:[A-Za-z0-9/:_-]|%[0-9A-F]{2})*)(~?)\.([\w-]{22}))\.([\w-]{86})$/;
  const m = form.exec(code);
  if (code.length > 150 || !m) throw new Bad("form");
  const [, signed = "", number = "", y, mo, d, found = "", left = "", item = "", cut, print = "", signature = ""] = m;
  unbase(print);
  const sum = unbase(signature);
  for (const key of keys) {
    if (!(await signedBy(key, sum, bytesOf(signed)))) continue;
    const name = text.decode(
      Uint8Array.from(
        item.replace(/_/g, " ").replace(/%(..)/g, (_, x: string) => String.fromCharCode(Number.parseInt(x, 16))),
        (c) => c.charCodeAt(0),
      ),
    );
    const read = {
      number,
      date: `20${y}-${mo}-${d}`,
      found: verdicts[found] ?? "",
      left: verdicts[left] ?? "",
      item: name,
      cut: cut !== "",
      print,
    };
    return { code: read, key, kid: await thumbprint(key.public) };
  }
  throw new Bad("key");
}

async function hidden(use: string, print: string): Promise<Uint8Array<ArrayBuffer>> {
  return sha(bytesOf(`gaugewright ${use} ${print}`));
}

async function replacedBy(print: string, list: List): Promise<string> {
  const of = rebase(await hidden("of", print));
  const entry = list.replaced.find((r) => r.of === of);
  if (!entry) return "";
  const mask = await hidden("by", print);
  return latin.decode(unbase(entry.by).map((x, i) => x ^ (mask[i] ?? 0)));
}

type Seal = { code: string; form: string; pdf: string; record: string; xml: string };

function lastIndex(b: Uint8Array, mark: Uint8Array): number {
  for (let i = b.length - mark.length; i >= 0; i--) if (mark.every((x, k) => b[i + k] === x)) return i;
  return -1;
}

async function readSeal(pdf: Uint8Array<ArrayBuffer>, list: List): Promise<{ seal: Seal; key: Key; kid: string }> {
  const mark = bytesOf("\n%gaugewright-seal ");
  const at = lastIndex(pdf, mark);
  if (at < 0 || pdf.at(-1) !== 10) throw new Bad("seal");
  const line = latin.decode(pdf.subarray(at + mark.length, pdf.length - 1));
  const m = /^([\w-]+) ([\w-]+)\.\.([\w-]+)$/.exec(line);
  if (!m?.[1] || !m[2] || !m[3]) throw new Bad("seal");
  const payload = unbase(m[1]);
  const by = await jws(m[2], m[3], payload, list.keys);
  const seal = JSON.parse(text.decode(payload)) as Seal;
  if (seal.form !== "gaugewright-seal-1") throw new Bad("seal");
  if (rebase(await sha(pdf.slice(0, at + 1))) !== seal.pdf) throw new Bad("bytes");
  return { seal, ...by };
}

const paper =
  / {2}<dcc:document>\n {4}<dcc:fileName>certificate-([^<\n]+)\.pdf<\/dcc:fileName>\n {4}<dcc:mimeType>application\/pdf<\/dcc:mimeType>\n {4}<dcc:dataBase64>([A-Za-z0-9+/=]+)<\/dcc:dataBase64>\n {2}<\/dcc:document>\n/;

function byLatin(s: string): Uint8Array<ArrayBuffer> {
  return Uint8Array.from(s, (c) => c.charCodeAt(0));
}

async function checkXML(xml: Uint8Array<ArrayBuffer>, list: List) {
  let whole = "";
  for (let i = 0; i < xml.length; i += 8192) whole += String.fromCharCode(...xml.subarray(i, i + 8192));
  const m = paper.exec(whole);
  const [, number, packed] = m ?? [];
  if (!m || !packed) throw new Bad("alone");
  let inside = "";
  try {
    inside = atob(packed);
  } catch {
    throw new Bad("form");
  }
  if (btoa(inside) !== packed) throw new Bad("form");
  const by = await readSeal(byLatin(inside), list);
  const bare = byLatin(whole.slice(0, m.index) + whole.slice(m.index + m[0].length));
  if (rebase(await sha(bare)) !== by.seal.xml || by.seal.code.split(".")[1] !== number) throw new Bad("bytes");
  return by;
}

type Said = { verdict: string };
type Record1 = {
  format: string;
  certificate: { number: string; issued: string; item: { tag?: string; serial?: string } };
  as_found?: Said;
  as_left?: Said;
  replaces?: string;
};

async function checkRecord(file: Uint8Array, list: List): Promise<Outcome> {
  const whole = latin.decode(file);
  if (whole.startsWith('{"format":"gaugewright-record-')) throw new Bad("evidence");
  const f = flattened(whole);
  const payload = unbase(f.payload);
  const by = await jws(f.protected, f.signature, payload, list.keys);
  const r = JSON.parse(text.decode(payload)) as Record1;
  if (r.format !== "gaugewright-certificate-1") throw new Bad("form");
  const c = r.certificate;
  const print = rebase((await sha(payload)).subarray(0, 16));
  const code = {
    number: c.number,
    date: c.issued,
    found: r.as_found?.verdict ?? "",
    left: r.as_left?.verdict ?? "",
    item: [c.item.tag, c.item.serial].filter(Boolean).join("/"),
    cut: false,
    print,
  };
  return { kind: "record", code, ...by, replacedBy: await replacedBy(print, list), replaces: r.replaces ?? "" };
}

/** check verifies a file with the laboratory's keys. Refuses: Bad. */
export async function check(file: Uint8Array<ArrayBuffer>, list: List): Promise<Outcome> {
  const start = latin.decode(file.subarray(0, 5));
  if (start.startsWith("{")) return checkRecord(file, list);
  const xml = start === "<?xml";
  if (!xml && !start.startsWith("%PDF")) throw new Bad("form");
  const by = xml ? await checkXML(file, list) : await readSeal(file, list);
  return { ...(await checkCode(by.seal.code, list)), kind: xml ? "xml" : "pdf" };
}

/** checkCode verifies a paper's code with the laboratory's keys. Refuses: Bad. */
export async function checkCode(code: string, list: List): Promise<Outcome> {
  const by = await readCode(codeIn(code), list.keys);
  return { kind: "code", ...by, replacedBy: await replacedBy(by.code.print, list), replaces: "" };
}
