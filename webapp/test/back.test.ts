import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { openDB } from "idb";
import { changesIn } from "../src/link/reply";
import { dropGiven, putGiven } from "../src/store/given";
import type { Writing } from "../src/store/schema";
import * as store from "../src/store/store";
import { type Office, plainCalc, setUp, write } from "./office-played";

let serial = 0;
let name = "";
beforeEach(async () => {
  store.close();
  name = `back-${serial++}`;
  await store.open({ name, calc: plainCalc });
});

/**
 * What another person wrote, as the office sent it: a number in a spelling that JSON.parse does not
 * keep.
 */
const theirs = (id: string) =>
  `{"v":1,"id":"${id}","device":"d2","seq":1,"author":"u2","wall":"2026-03-01T08:00:00.000Z","stamp":"","record":"r1","kind":"visit","site":"","parent":"","set":[{"field":"note","value":{"2":1.50,"1":"],\\"time\\":"},"sees":[]}]}`;

/**
 * An office that sent two signed replies, was restored from an older copy, and lacks some of them.
 */
async function restored(lacks: (office: Office) => string[], says: "yes" | "silence" | "fails" = "yes") {
  const { office, link } = await setUp();
  const given = ["f1", "f2"];
  const sent: { back: string[]; has: string[][] } = { back: [], has: [] };
  const place = () => ({ store: office.store, epoch: office.epoch, root: "root-7", nonce: office.nonce, cursor: 7 });
  let nth = 0;
  let more = 0;
  let body = "";
  office.before = (_path, text) => {
    body = text;
    return undefined;
  };
  office.after = (path, reply) => {
    if (path !== "/api/sync") return reply;
    const ask = JSON.parse(body);
    const raw = (list: string[], more: object) =>
      new Response(
        `${JSON.stringify({ ...place(), acknowledged: ask.changes.map((c: { id: string }) => c.id), quarantined: [], ...more }).slice(0, -1)},"given":"signed-${list}","changes":[${list.map(theirs)}],"time":""}`,
        { headers: { "content-type": "application/json" } },
      );
    if (ask.has) {
      sent.has.push(ask.has);
      return raw(["x9"], { more: true, had: ask.has.filter((id: string) => !lacks(office).includes(id)) });
    }
    if (ask.back) {
      sent.back.push(body.slice(body.indexOf('"back":')));
      const ids = ask.back.flatMap((b: { changes: { id: string }[] }) => b.changes.map((c) => c.id));
      if (says === "fails") return new Response("{}", { status: 500, headers: { "content-type": "application/json" } });
      return raw(["x9"], { more: true, acknowledged: says === "silence" ? [] : ids });
    }
    if (office.epoch === "epoch-2" && more > 0 && more--) return raw([], { more: true });
    if (office.epoch === "epoch-1" && !ask.kinds && nth < 2) return raw([given[nth++] ?? ""], { more: nth < 2 });
    return reply;
  };
  await link.sync();
  assert.equal(link.now().problem, undefined);
  const keep = async () => {
    const b = await openDB(name);
    const rows = await b.getAll("given");
    b.close();
    return rows as { n: number; sign: string; store: string }[];
  };
  assert.deepEqual(
    (await keep()).map((g) => [g.store, g.sign]),
    [
      ["store-1", "signed-f1"],
      ["store-1", "signed-f2"],
    ],
  );
  office.epoch = "epoch-2";
  /** The office has that many more pieces for the phone. */
  const pieces = (n: number) => {
    more = n;
  };
  return { office, link, sent, keep, pieces };
}

test("the office's replies are brought back after a restore, byte for byte and with their signatures", async () => {
  const { link, sent, keep } = await restored(() => ["f2"]);
  await write();
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.deepEqual(sent.has, [["f1"], ["f2"]]);
  assert.deepEqual(sent.back, [`"back":[{"given":"signed-f2","changes":[${theirs("f2")}]}]}`]);
  assert.deepEqual(await keep(), [], "all of it was given anew");
  assert.equal(await store.meta("given"), 0);
  await link.sync();
  assert.equal(sent.has.length, 2, "it is brought once");
});

test("an office that does not mention what is brought back holds up no work, and is tried again", async () => {
  const { office, link, sent, keep, pieces } = await restored(() => ["f1"], "silence");
  await write();
  pieces(3);
  await link.sync();
  assert.deepEqual([link.now().problem, office.kept.size, (await store.queue()).count], [undefined, 1, 0]);
  assert.equal((await keep()).length, 2);
  assert.equal(sent.back.length, 1, "once in an exchange, however many pieces it has");
  pieces(3);
  await link.sync();
  assert.equal(sent.back.length, 2);
});

test("an office that refuses what is brought back still gets the person's own work", async () => {
  const { office, link, sent } = await restored(() => ["f1"], "fails");
  await write();
  await link.sync();
  assert.deepEqual([link.now().problem, office.kept.size, (await store.queue()).count], [undefined, 1, 0]);
  assert.equal(sent.back.length, 1);
});

test("another office does not get what this one sent; this one gets it when the phone is back", async () => {
  const { office, link, sent, keep } = await restored(() => ["f1"]);
  office.store = "store-2";
  await link.sync();
  assert.deepEqual([sent.has, (await keep()).length], [[], 2]);
  office.store = "store-1";
  await link.sync();
  assert.equal(sent.back.length, 1);
});

test("the office's replies are kept up to a bound, the latest ones", async () => {
  const b = await openDB(name);
  const text = "x".repeat(1000);
  const add = async (sign: string) => {
    const tx = b.transaction(["given", "meta"], "readwrite") as unknown as Writing;
    await putGiven(tx, { store: "s", sign, text }, 4000);
    await tx.done;
  };
  for (let i = 0; i < 10; i++) await add(`s${i}`);
  assert.deepEqual(
    (await b.getAll("given")).map((g) => g.sign),
    ["s7", "s8", "s9"],
  );
  assert.equal(await b.get("meta", "given"), 3900);
  const tx = b.transaction(["given", "meta"], "readwrite") as unknown as Writing;
  await dropGiven(tx, true);
  await tx.done;
  assert.deepEqual([await b.count("given"), await b.get("meta", "given")], [0, 0]);
  b.close();
});

test("the text of a reply's changes is found whatever it contains", () => {
  const list = `[${theirs("a")},${theirs("b")}]`;
  assert.equal(
    changesIn(`{"nonce":"n","quarantined":[{"id":"q","reason":"\\"changes\\":[{"}],"changes":${list},"time":""}`),
    list,
  );
  assert.equal(changesIn('{"changes":[],"time":""}'), undefined);
  assert.equal(changesIn("{}"), undefined);
});
