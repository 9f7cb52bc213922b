import assert from "node:assert/strict";
import { createPublicKey, verify } from "node:crypto";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { able, Bad, check, checkCode, readList } from "../src/verify/check";

// The files that the server's package paper signs and freezes, with the key of RFC 8037 appendix
// A.1.
const dir = "testdata/papers";
const read = (name: string) => new Uint8Array(readFileSync(`${dir}/${name}`));
const text = (name: string) => readFileSync(`${dir}/${name}`, "utf8");
const bytes = (s: string) => new TextEncoder().encode(s);
const unbase = (s: string) => Uint8Array.from(atob(s.replace(/-/g, "+").replace(/_/g, "/")), (c) => c.charCodeAt(0));
const list = () => readList(text("list.json"));

test("a certificate is checked as the server's package does", async () => {
  assert.equal(await able(), true);
  const l = await list();
  for (const [name, kind] of [
    ["certificate.pdf", "pdf"],
    ["certificate.xml", "xml"],
    ["record.json", "record"],
  ] as const) {
    const o = await check(read(name), l);
    assert.equal(o.kind, kind);
    assert.equal(o.code.number, "2026-00007");
    assert.equal(o.code.date, "2026-03-04");
    assert.deepEqual([o.code.found, o.code.left], ["fail", "pass"]);
    assert.equal(o.replacedBy, "2026-00011");
    assert.equal(o.kid, "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k");
  }
  assert.equal((await check(read("record.json"), l)).replaces, "2026-00003");
  const o = await checkCode(`https://gauges.example/verify#${text("code.txt")}`, l);
  assert.equal(o.code.cut, true);
  assert.ok("PI-1001/Ž 48211".startsWith(o.code.item) && o.code.item.includes("PI-1001/Ž"), o.code.item);
});

test("what is not in the list is not replaced", async () => {
  const l = await list();
  l.replaced = l.replaced.slice(0, 1);
  assert.equal((await check(read("certificate.pdf"), l)).replacedBy, "");
});

test("every altered bit is noticed", async () => {
  const l = await list();
  for (const name of ["certificate.pdf", "certificate.xml", "record.json", "code.txt"]) {
    const b = read(name);
    const step = b.length > 400 ? 37 : 1;
    for (let i = 0; i < 8 * b.length; i += step) {
      const at = i >> 3;
      b[at] = (b[at] ?? 0) ^ (1 << (i & 7));
      const tried = name === "code.txt" ? checkCode(new TextDecoder("latin1").decode(b), l) : check(b, l);
      await assert.rejects(tried, `${name}: bit ${i & 7} of byte ${at}`);
      b[at] = (b[at] ?? 0) ^ (1 << (i & 7));
    }
  }
});

test("reasons are named", async () => {
  const l = await list();
  const why = (b: string) =>
    check(new TextEncoder().encode(b), l).then(
      () => "holds",
      (e) => (e instanceof Bad ? e.why : String(e)),
    );
  assert.equal(await why('{"format":"gaugewright-record-1"}'), "evidence");
  assert.equal(await why("%PDF-1.4 nothing\n"), "seal");
  assert.equal(await why('<?xml version="1.0"?>\n'), "alone");
  assert.equal(await why("hello"), "form");
  const none = { ...l, keys: [] };
  await assert.rejects(checkCode(text("code.txt"), none), (e) => e instanceof Bad && e.why === "key");
});

// OpenSSL, through Node, is an independent implementation of Ed25519.
test("the signatures verify with another implementation", () => {
  const f = JSON.parse(text("record.json")) as { payload: string; protected: string; signature: string };
  const x = "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo";
  const key = createPublicKey({ key: { kty: "OKP", crv: "Ed25519", x }, format: "jwk" });
  const over = (payload: string) => verify(null, bytes(`${f.protected}.${payload}`), key, unbase(f.signature));
  assert.equal(over(f.payload), true);
  assert.equal(over(`${f.payload.slice(0, 9)}_${f.payload.slice(10)}`), false);
  const code = text("code.txt");
  const at = code.lastIndexOf(".");
  assert.equal(verify(null, bytes(code.slice(0, at)), key, unbase(code.slice(at + 1))), true);
});
