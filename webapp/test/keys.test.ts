import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { canonical } from "../src/store/canonical";
import { besides, content, make, payload, recordOf, sign, thumbprint } from "../src/store/keys";
import type { Json, RecordState } from "../src/wire/records";

// The test data of the reference implementation of RFC 8785; the server's code is tested with it
// too.
test("canonical form", () => {
  const dir = "testdata/published/jcs";
  for (const name of ["arrays", "french", "structures", "unicode", "values", "weird"]) {
    const f = `${name}.json`;
    const doc = JSON.parse(readFileSync(`${dir}/input/${f}`, "utf8")) as Json;
    assert.equal(canonical(doc), readFileSync(`${dir}/output/${f}`, "utf8"), f);
  }
  for (const bad of [Number.NaN, Number.POSITIVE_INFINITY, "\ud800"]) assert.equal(taken(bad), false);
});

function taken(v: Json): boolean {
  try {
    return canonical([v]) !== "";
  } catch (e) {
    return !(e instanceof RangeError);
  }
}

type Shared = {
  states: RecordState[];
  covers: string[];
  besides: string[];
  content: string;
  value: { [name: string]: Json };
  by: string;
  field: string;
  record: string;
  payload: string;
  proof: string;
  key: { [name: string]: string };
  id: string;
};

// sync/statement's TestAsThePhoneSigns reads the same file. The key is that of RFC 8037 appendix
// A.1.
test("what is signed is what the server checks", async () => {
  const s = JSON.parse(readFileSync("testdata/statement.json", "utf8")) as Shared;
  assert.deepEqual(besides, s.besides);
  assert.equal(await content(s.states, s.covers), s.content);
  assert.equal(await payload(s), s.payload);
  const kid = await thumbprint(s.key);
  assert.equal(kid, "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k");
  assert.equal(recordOf(kid), s.id);
  const jwk = { ...s.key, d: "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A" };
  const secret = await crypto.subtle.importKey("jwk", jwk, { name: "Ed25519" }, false, ["sign"]);
  assert.equal(await sign({ kid, alg: "EdDSA", public: s.key, secret }, s.payload), s.proof);
});

test("a private key never leaves the browser", async () => {
  const key = await make();
  assert.equal(key.secret.extractable, false);
  await assert.rejects(crypto.subtle.exportKey("jwk", key.secret));
  assert.match(await sign(key, "{}"), /^[\w-]+\.\.[\w-]{86}$/);
});
