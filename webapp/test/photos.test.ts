import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { Link } from "../src/link/link";
import { photoPiece } from "../src/link/pieces";
import * as store from "../src/store/store";
import type { SyncRequest } from "../src/wire/api";
import { json, type Office, plainCalc, setUp, write } from "./office-played";

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `photos-${serial++}`, calc: plainCalc });
});

test("a photo the office lacks is sent, one it has is not", async () => {
  const { office, link } = await setUp();
  const a = await store.putBlob(new Blob(["a"], { type: "image/jpeg" }));
  const b = await store.putBlob(new Blob(["b"], { type: "image/jpeg" }));
  office.before = (path) =>
    path.includes(a)
      ? new Response(null, { status: 200 })
      : path.includes(b) && office.asked.at(-1)?.startsWith("PUT")
        ? new Response(null, { status: 201 })
        : undefined;
  await link.sync();
  assert.ok(!office.asked.includes(`PUT /api/blobs/${a}`));
  assert.ok(office.asked.includes(`PUT /api/blobs/${b}`));
  assert.deepEqual(await store.unsentPhotos(), []);
});

/** A photo store that takes pieces as the office does, and loses the line on request. */
function pieces(office: Office, name: string) {
  const kept = { bytes: new Uint8Array(), whole: false, puts: [] as string[], lose: 0 };
  office.blobs = async (path, init) => {
    if (!path.endsWith(name)) return undefined;
    const say = (status: number) =>
      new Response(null, { status, headers: { "blob-arrived": String(kept.bytes.length) } });
    if (init?.method === "HEAD") return say(kept.whole ? 200 : 404);
    const range = new Headers(init?.headers).get("content-range") ?? "";
    kept.puts.push(range);
    const [, from, , total] = (/^bytes (\d+)-(\d+)\/(\d+)$/.exec(range) ?? ["", "0", "", "-1"]).map(Number) as [
      number,
      number,
      number,
      number,
    ];
    if (from !== kept.bytes.length) return say(409);
    const body = init?.body as Blob;
    kept.bytes = new Uint8Array([...kept.bytes, ...new Uint8Array(await body.arrayBuffer())]);
    kept.whole = total < 0 || kept.bytes.length === total;
    if (kept.lose > 0 && --kept.lose === 0) throw new TypeError("network error"); // it arrived, but the answer was lost
    return say(kept.whole ? 204 : 202);
  };
  return kept;
}

test("a photo goes in pieces, and after a break only what is missing", async () => {
  const { office, link } = await setUp();
  const bytes = Uint8Array.from({ length: 2 * photoPiece + 100 }, (_, i) => (i * 7) & 255);
  const name = await store.putBlob(new Blob([bytes], { type: "image/jpeg" }));
  const kept = pieces(office, name);
  kept.lose = 2;
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.deepEqual(await store.unsentPhotos(), [name]);
  await link.sync();
  assert.equal(link.now().problem, undefined);
  const total = bytes.length;
  assert.deepEqual(kept.puts, [
    `bytes 0-${photoPiece - 1}/${total}`,
    `bytes ${photoPiece}-${2 * photoPiece - 1}/${total}`,
    `bytes ${2 * photoPiece}-${total - 1}/${total}`,
  ]);
  assert.deepEqual(kept.bytes, bytes);
  assert.deepEqual(await store.unsentPhotos(), []);
});

test("an office that lost the beginning of a photo gets it again; one that makes no progress is given up", async () => {
  const { office, link } = await setUp();
  const bytes = new Uint8Array(photoPiece + 1);
  const name = await store.putBlob(new Blob([bytes], { type: "image/jpeg" }));
  const kept = pieces(office, name);
  kept.bytes = bytes.slice(0, photoPiece);
  const real = office.blobs;
  office.blobs = async (path, init) => {
    const answer = await real(path, init);
    if (init?.method === "HEAD") kept.bytes = new Uint8Array();
    return answer;
  };
  await link.sync();
  assert.deepEqual(kept.puts, [
    `bytes ${photoPiece}-${photoPiece}/${photoPiece + 1}`,
    `bytes 0-${photoPiece - 1}/${photoPiece + 1}`,
    `bytes ${photoPiece}-${photoPiece}/${photoPiece + 1}`,
  ]);
  assert.deepEqual(await store.unsentPhotos(), []);
  const other = await store.putBlob(new Blob([bytes, "x"], { type: "image/jpeg" }));
  let asked = 0;
  office.blobs = async (path, init) => {
    if (!path.endsWith(other)) return undefined;
    if (init?.method === "PUT" && ++asked > 20) throw new Error("for ever");
    return new Response(null, { status: init?.method === "HEAD" ? 404 : 409, headers: { "blob-arrived": "0" } });
  };
  await link.sync();
  assert.equal(link.now().problem, "server");
  assert.ok(asked < 5);
  assert.deepEqual(await store.unsentPhotos(), [other]);
});

test("photos of an account that was ended go to the office with the work that names them", async () => {
  const { office, link } = await setUp();
  await link.login("ada", "right");
  await write();
  const sha256 = await store.putBlob(new Blob(["a gauge"], { type: "image/jpeg" }));
  const later = new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 });
  await later.load();
  const brought: string[] = [];
  let aside = false;
  office.asked = [];
  office.before = (path, body) => {
    const how = office.asked.at(-1) ?? "";
    if (path.startsWith("/api/blobs/") && aside) {
      if (how.startsWith("HEAD")) return new Response(null, { status: 404 });
      brought.push(path);
      return new Response(null, { status: 204 });
    }
    if (path !== "/api/sync") return json({ error: { code: "login", field: "", message: "" } }, 401);
    aside = true;
    const ask = JSON.parse(body) as SyncRequest;
    const quarantined = ask.changes.map((c) => ({ id: c.id, reason: "the account was revoked" }));
    return json({
      store: "s",
      nonce: ask.nonce,
      cursor: 0,
      more: false,
      acknowledged: [],
      quarantined,
      changes: [],
      time: "",
    });
  };
  await later.sync();
  assert.deepEqual(brought, [`/api/blobs/${sha256}`]);
  assert.deepEqual(await store.unsentPhotos(), []);
  assert.equal(later.now().problem, "login", "the person is told that the account has ended");
});
