import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { beforeEach, test } from "node:test";
import * as store from "../src/store/store";
import type { SyncReply, SyncRequest } from "../src/wire/api";
import { json, plainCalc, setUp, user, write } from "./office-played";

// What offices of each protocol were asked by the clients of their time, and really answered.
const folder = "server/api/testdata/protocol";
type Exchange = { name: string; request: SyncRequest; reply: SyncReply };
const protocols = readdirSync(folder).map((file) => ({
  number: Number(file.replace(".json", "")),
  list: JSON.parse(readFileSync(`${folder}/${file}`, "utf8")) as Exchange[],
}));

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({
    name: `versions-${serial++}`,
    calc: async (name, doc) => {
      const made = (await plainCalc(name, doc)) as { change?: { author: string } };
      if (made.change) made.change.author = (doc as { author: string }).author;
      return made as never;
    },
  });
});

/** A device that wrote what the client of a recorded push had written, with what the office then answered to it. */
async function pushed(of: Exchange) {
  for (const _ of of.request.changes) await write();
  const mine = await store.waiting(9);
  let text = JSON.stringify(of.reply);
  of.request.changes.forEach((c, i) => {
    text = text.replaceAll(`"${c.id}"`, `"${mine[i]?.id}"`);
  });
  return { mine: mine.map((c) => c.id), reply: JSON.parse(text) as SyncReply };
}

test("each protocol that is spoken was recorded", () => {
  const spoken = /Protocol = (\d+)\n/.exec(readFileSync("sync/link/limits.go", "utf8"))?.[1];
  const numbers = protocols.map((p) => p.number).sort((a, b) => a - b);
  assert.deepEqual(
    numbers,
    Array.from({ length: Number(spoken) }, (_, i) => i + 1),
  );
});

for (const { number, list } of protocols) {
  test(`an office of protocol ${number} is understood: what it really answered`, async () => {
    const { office, link } = await setUp();
    const played: string[] = [];
    let next: SyncReply | undefined; // to the next request; then the office answers by itself
    office.after = (path, reply) => {
      if (path !== "/api/sync" || !next) return reply;
      const said = { ...next, nonce: office.nonce };
      next = undefined;
      return json(said);
    };
    let aside = 0;
    const first: string[] = []; // what each push sent as its first
    for (const of of list) {
      if (of.request.changes.length === 0 || of.reply.newer) continue;
      const { mine, reply } = await pushed(of);
      first.push(mine[0] ?? "");
      aside += of.reply.quarantined.length;
      next = reply;
      await link.sync();
      const queue = await store.queue();
      assert.deepEqual([link.now().problem, queue.count, queue.refused.length], [undefined, 0, aside], of.name);
      assert.deepEqual((await store.meta("link"))?.cursor, of.reply.cursor, of.name);
      played.push("push");
    }
    assert.ok(aside > 0, "it refuses something");
    office.store = list[0]?.reply.store ?? "";
    office.epoch = list[0]?.reply.epoch ?? "";
    const place = await store.meta("link");
    for (const of of list.filter((x) => x.request.brief && !x.reply.again)) {
      next = of.reply;
      await link.sync();
      assert.deepEqual([link.now().problem, await store.meta("link")], [undefined, place], of.name);
      played.push("idle");
    }
    for (const of of list.filter((x) => x.reply.newer)) {
      const { mine, reply } = await pushed(of);
      next = reply;
      await link.sync();
      assert.deepEqual([link.now().problem, (await store.waiting(9)).map((c) => c.id)], ["newer", mine], of.name);
      await link.sync(); // the office was brought up to date
      assert.equal((await store.queue()).count, 0);
      played.push("newer");
    }
    for (const of of list.filter((x) => x.reply.again)) {
      office.kept.clear();
      next = of.reply;
      await link.sync();
      assert.deepEqual([link.now().problem, first.every((id) => office.kept.has(id))], [undefined, true], of.name);
      played.push("again");
    }
    // Somebody else logs in, and the office is another one: of what the first person wrote it is asked.
    office.user = { ...user, id: "u2", name: "Ben" };
    await store.putMeta("user", office.user);
    await link.load();
    for (const of of list.filter((x) => x.reply.had)) {
      let asked: string[] = [];
      office.epoch += "x";
      const there = of.reply.had?.map((_, i) => first[i] ?? "") ?? [];
      office.before = (path, body) => {
        const q = path === "/api/sync" ? (JSON.parse(body) as SyncRequest) : undefined;
        if (!q?.has) return undefined;
        asked = q.has;
        return json({ ...of.reply, store: office.store, epoch: office.epoch, had: there, nonce: q.nonce });
      };
      await link.sync();
      office.before = () => undefined;
      assert.deepEqual([link.now().problem, there.every((id) => asked.includes(id))], [undefined, true], of.name);
      const waits = (await store.queue()).others.reduce((sum, o) => sum + o.count, 0);
      assert.equal(waits, asked.length - there.length, of.name);
      played.push("had");
    }
    const kinds = ["again", "had", "idle", ...(number > 1 ? ["newer"] : []), "push"];
    assert.deepEqual([...new Set(played)].sort(), number === 2 ? kinds.filter((k) => k !== "again") : kinds);
  });
}

test("this client still asks all that an office of an earlier protocol was asked", async () => {
  const { office, link } = await setUp();
  const asked: SyncRequest[] = [];
  office.before = (path, body) => {
    if (path === "/api/sync") asked.push(JSON.parse(body));
    return undefined;
  };
  await link.sync();
  await write();
  await link.sync();
  await link.sync();
  const now = new Map<string, string>();
  for (const q of asked) for (const [name, v] of Object.entries(q)) now.set(name, typeof v);
  for (const { number, list } of protocols)
    for (const of of list)
      for (const [name, v] of Object.entries(of.request)) {
        // These are asked at moments of their own, which the tests above play.
        if (["has", "lane", "after", "last"].includes(name)) continue;
        assert.equal(now.get(name), typeof v, `protocol ${number}, ${of.name}: ${name}`);
      }
});
