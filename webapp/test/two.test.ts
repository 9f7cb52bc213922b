import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { setTimeout as wait } from "node:timers/promises";
import "fake-indexeddb/auto";
import * as store from "../src/store/store";
import type { SyncReply, SyncRequest } from "../src/wire/api";
import { json, plainCalc, setUp, write } from "./office-played";

// Locks, as browsers have them. Without locks a device does not say which reply it took last.
Object.defineProperty(globalThis, "navigator", {
  value: { locks: { request: async (_: string, o: unknown, f?: (l: object) => unknown) => (f ?? (o as never))({}) } },
  configurable: true,
});

beforeEach(async () => {
  await store.destroy();
  await store.open({ calc: plainCalc });
});

/** An office with a protocol, the requests that it got, and 500 waiting changes. */
async function waiting(protocol: number, answer: (q: SyncRequest, n: number) => Promise<Response | undefined>) {
  const { office, link } = await setUp();
  for (let n = 0; n < 500; n++) await write();
  const all: SyncRequest[] = [];
  office.before = async (path, body) => {
    if (path !== "/api/sync") return undefined;
    const q = JSON.parse(body) as SyncRequest;
    all.push(q);
    return answer(q, all.length);
  };
  const usual = office.fetch;
  const speaking = async (input: unknown, init?: RequestInit) => {
    const reply = await usual(input, init);
    if (String(input) !== "/api/sync" || !reply.ok) return reply;
    return json({ ...((await reply.json()) as SyncReply), protocol });
  };
  Object.assign(link, { outside: { fetch: speaking, now: () => 1_700_000_000_000 } });
  const pushes = () => all.filter((q) => q.changes.length > 0);
  return { office, link, pushes };
}

const seqs = (q: SyncRequest | undefined) => [q?.changes[0]?.seq, q?.changes.at(-1)?.seq];

test("the second piece is sent before the first is answered, in its own lane and after it", async () => {
  let came: () => void = () => undefined;
  const second = new Promise<void>((done) => {
    came = done;
  });
  const { office, link, pushes } = await waiting(3, async (q, n) => {
    if (q.lane === 1) came();
    else if (n > 1 && q.changes.length > 0) {
      const late = new AbortController();
      await Promise.race([second, wait(5_000, undefined, { signal: late.signal }).catch(() => undefined)]);
      late.abort();
    }
    return undefined;
  });
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.deepEqual([office.kept.size, office.arrivals], [500, 500]);
  const [alone, first, beside] = pushes();
  assert.deepEqual([pushes().length, seqs(alone), seqs(first), seqs(beside)], [3, [1, 200], [201, 400], [401, 500]]);
  assert.deepEqual([beside?.lane, beside?.after, beside?.limit, beside?.last], [1, first?.nonce, 1, ""]);
  assert.deepEqual([first?.lane, first?.after, first?.last], [undefined, undefined, alone?.nonce]);
  assert.deepEqual([await store.meta("heard"), await store.meta("heardBeside")], [first?.nonce, beside?.nonce]);
  assert.equal((await store.queue()).count, 0);
});

test("a second piece that the office does not take is sent again", async () => {
  const { office, link, pushes } = await waiting(3, async (q) =>
    q.lane === 1 ? json({ error: { code: "early", field: "", message: "" } }, 409) : undefined,
  );
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.deepEqual([office.kept.size, office.arrivals, (await store.queue()).count], [500, 500, 0]);
  assert.deepEqual(
    pushes()
      .filter((q) => q.lane === 1)
      .map(seqs),
    [[401, 500]],
  );
});

test("if the first piece fails, nothing of either is forgotten", async () => {
  let lost = 0;
  const { office, link } = await waiting(3, async (q, n) => {
    if (n < 2 || q.lane === 1 || q.changes.length === 0 || lost++ > 0) return undefined;
    throw new TypeError("network error");
  });
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.equal((await store.queue()).count, 300);
  await link.sync();
  assert.deepEqual([link.now().problem, office.kept.size, (await store.queue()).count], [undefined, 500, 0]);
});

test("what the office quarantines of the second piece is quarantined", async () => {
  const { link } = await waiting(3, async (q) =>
    q.lane === 1
      ? json({
          store: "store-1",
          epoch: "epoch-1",
          nonce: q.nonce,
          cursor: 7,
          more: false,
          acknowledged: q.changes.slice(1).map((c) => c.id),
          quarantined: [{ id: q.changes[0]?.id, reason: "not yours" }],
          changes: [],
          time: "",
        })
      : undefined,
  );
  await link.sync();
  assert.deepEqual(
    (await store.queue()).refused.map((r) => [r.seq, r.quarantined]),
    [[401, "not yours"]],
  );
});

test("what was quarantined in the second piece and taken in before the next request is no longer refused", async () => {
  // The list in the first reply does not have it, and the next request's list has the same name.
  const { link, pushes } = await waiting(3, async (q) =>
    json({
      store: "store-1",
      epoch: "epoch-1",
      nonce: q.nonce,
      cursor: 7,
      more: false,
      acknowledged: q.changes.slice(q.lane === 1 ? 1 : 0).map((c) => c.id),
      quarantined: q.lane === 1 ? [{ id: q.changes[0]?.id, reason: "the account has ended" }] : [],
      ...(q.refused === "" ? {} : { refused: "", refusals: [] }),
      changes: [],
      time: "",
    }),
  );
  await link.sync();
  assert.equal(pushes().at(-1)?.lane, 1);
  assert.equal((await store.queue()).refused.length, 1);
  await link.sync();
  assert.equal((await store.queue()).refused.length, 0);
});

test("an older office gets one piece at a time", async () => {
  let busy = 0;
  const { office, link, pushes } = await waiting(2, async () => {
    assert.equal(++busy, 1);
    await new Promise((done) => setTimeout(done, 5));
    busy--;
    return undefined;
  });
  await link.sync();
  assert.deepEqual([office.kept.size, office.arrivals], [500, 500]);
  assert.ok(pushes().every((q) => q.lane === undefined && q.after === undefined));
});
