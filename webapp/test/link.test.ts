import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { Link, LinkError } from "../src/link/link";
import * as store from "../src/store/store";
import type { SyncRequest } from "../src/wire/api";
import { json, type Office, plainCalc, setUp, write } from "./office-played";

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `link-${serial++}`, calc: plainCalc });
});

test("what is written arrives once and leaves the outbox", async () => {
  const { office, link } = await setUp();
  await write();
  await write();
  await link.sync();
  assert.equal(office.kept.size, 2);
  assert.equal((await store.queue()).count, 0);
  assert.deepEqual([link.now().problem, link.now().last], [undefined, 1_700_000_000_000]);
});

test("a reply lost on the way keeps the outbox, and sending again doubles nothing", async () => {
  const { office, link } = await setUp();
  await write();
  office.after = () => {
    throw new TypeError("network error");
  };
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.equal((await store.queue()).count, 1);
  office.after = (_p, reply) => reply;
  await link.sync();
  assert.equal(office.arrivals, 2);
  assert.equal(office.kept.size, 1);
  assert.equal((await store.queue()).count, 0);
});

test("work that the office cannot read yet stays here, and goes when the office is brought up to date", async () => {
  const { office, link } = await setUp();
  const written = await write();
  office.after = (path, reply) =>
    path === "/api/sync"
      ? json({ ...said, nonce: office.nonce, acknowledged: [], newer: [...office.kept.keys()] })
      : reply;
  const said = {
    store: "store-1",
    epoch: "epoch-1",
    root: "root-7",
    cursor: 7,
    more: false,
    quarantined: [],
    changes: [],
    time: "",
  };
  await link.sync();
  assert.equal(link.now().problem, "newer");
  assert.deepEqual(
    [(await store.queue()).count, (await store.queue()).refused.length],
    [1, 0],
    JSON.stringify(written),
  );
  office.after = (_path, reply) => reply;
  await link.sync();
  assert.deepEqual([link.now().problem, (await store.queue()).count], [undefined, 0]);
});

test("an office that no longer talks to this program is reported as such, and nothing leaves the outbox", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = (path) =>
    path === "/api/sync" ? json({ error: { code: "older", field: "", message: "too old" } }, 426) : undefined;
  await link.sync();
  assert.deepEqual([link.now().problem, (await store.queue()).count], ["older", 1]);
});

test("a network's own login page is no acknowledgement, as HTML or as JSON", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = (path) =>
    path === "/api/sync"
      ? new Response("<html>Welcome</html>", { headers: { "content-type": "text/html" } })
      : undefined;
  await link.sync();
  assert.equal(link.now().problem, "portal");
  const id = (await store.waiting(9))[0]?.id;
  office.before = (path) =>
    path === "/api/sync"
      ? json({ store: "x", nonce: "other", acknowledged: [id], quarantined: [], changes: [], cursor: 0, more: false })
      : undefined;
  await link.sync();
  assert.equal(link.now().problem, "portal");
  assert.equal((await store.queue()).count, 1);
});

test("an expired login is renewed once and the sync goes on", async () => {
  const { office, link } = await setUp();
  await write();
  let refused = 0;
  office.before = (path) =>
    path === "/api/sync" && refused++ === 0
      ? json({ error: { code: "login", field: "", message: "" } }, 401)
      : undefined;
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(office.asked.filter((a) => a === "POST /api/refresh").length, 2);
  assert.equal((await store.queue()).count, 0);
});

test("after an ended log-in the device asks for a new one, and keeps work and user", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = () => json({ error: { code: "login", field: "", message: "" } }, 401);
  await link.sync();
  assert.equal(link.now().problem, "login");
  assert.equal(link.now().user?.id, "u1");
  assert.equal((await store.queue()).count, 1);
  await assert.rejects(link.login("ada", "wrong"), (e: unknown) => e instanceof LinkError && e.problem === "login");
});

for (const [what, setBack] of [
  [
    "another store",
    (o: Office) => {
      o.store = "store-2";
    },
  ],
  [
    "another epoch",
    (o: Office) => {
      o.epoch = "epoch-2";
    },
  ],
  [
    "another journal",
    (o: Office) => {
      o.root = "root-of-a-shorter-journal";
      o.after = (_path, reply) => {
        o.root = undefined;
        return reply;
      };
    },
  ],
] as const) {
  test(`an office with ${what} gets everything again`, async () => {
    const { office, link } = await setUp();
    await write();
    await write();
    const photo = await store.putBlob(new Blob(["a"], { type: "image/jpeg" }));
    office.before = (path) =>
      path.startsWith("/api/blobs") && office.asked.at(-1)?.startsWith("PUT")
        ? new Response(null, { status: 204 })
        : undefined;
    await link.sync();
    assert.deepEqual(await store.unsentPhotos(), []);
    const puts = () => office.asked.filter((a) => a === `PUT /api/blobs/${photo}`).length;
    assert.equal(puts(), 1);
    office.kept.clear();
    setBack(office);
    await link.sync();
    assert.equal(office.kept.size, 2);
    assert.equal(puts(), 2);
    assert.equal(await store.offering(), false);
    assert.deepEqual(await store.meta("link"), {
      store: office.store,
      epoch: office.epoch,
      root: "root-7",
      cursor: 7,
      scope: "",
    });
    const before = office.arrivals;
    await link.sync();
    assert.equal(office.arrivals, before);
  });
}

test("changes are offered again in pieces, in the order of writing, and this continues after a break", async () => {
  const { office, link } = await setUp();
  for (let i = 0; i < 450; i++) await write();
  await link.sync();
  assert.equal(office.kept.size, 450);
  office.kept.clear();
  office.epoch = "epoch-2";
  const most: number[] = [];
  const order: number[] = [];
  let requests = 0;
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    most.push(ask.changes.length);
    if (++requests === 3) throw new TypeError("network error");
    order.push(...ask.changes.map((c) => c.seq));
    return undefined;
  };
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.equal(await store.offering(), true);
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(office.kept.size, 450);
  assert.ok(Math.max(...most) <= 200, `a request carried ${Math.max(...most)}`);
  assert.deepEqual(
    order,
    Array.from({ length: 450 }, (_, i) => i + 1),
  );
});

test("a quarantined change is offered again, and loses its mark when it is taken", async () => {
  const { office, link } = await setUp();
  await write();
  let aside = true;
  office.after = (_path, reply) => {
    if (!aside) return reply;
    const id = [...office.kept.keys()][0] ?? "";
    return json({
      store: "store-1",
      epoch: "epoch-1",
      nonce: office.nonce,
      cursor: 7,
      more: false,
      acknowledged: [],
      quarantined: [{ id, reason: "not allowed" }],
      changes: [],
      time: "",
    });
  };
  await link.sync();
  assert.equal((await store.queue()).refused.length, 1);
  aside = false;
  office.epoch = "epoch-2";
  await link.sync();
  assert.equal((await store.queue()).refused.length, 0);
});

test("what the office quarantines leaves the outbox and stays visible with its reason", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    return json({
      store: "s",
      nonce: ask.nonce,
      cursor: 0,
      more: false,
      acknowledged: [],
      quarantined: ask.changes.map((c) => ({ id: c.id, reason: "not allowed" })),
      changes: [],
      time: "",
    });
  };
  await link.sync();
  const q = await store.queue();
  assert.equal(q.count, 0);
  assert.equal(q.refused[0]?.quarantined, "not allowed");
});

test("requests are compressed once the office has said that it takes that, and plain for one that does not", async () => {
  const { office, link } = await setUp();
  const write20 = async () => {
    for (let i = 0; i < 20; i++) await write();
  };
  await write20();
  await link.sync();
  assert.deepEqual(office.pressed, [], "not before it was said");
  office.after = (_p, reply) => {
    reply.headers.set("accept-encoding", "gzip");
    return reply;
  };
  await link.sync();
  await write20();
  await link.sync();
  assert.equal(office.pressed.length, 1);
  const [small, plain] = office.pressed[0] ?? [0, 0];
  assert.ok(small > 0 && small < 0.7 * plain, `${small} of ${plain}`);
  assert.equal(office.kept.size, 40);
  office.takes = false;
  office.after = (_p, reply) => reply;
  await write20();
  await link.sync();
  await write20();
  await link.sync();
  assert.equal(office.kept.size, 80);
  assert.equal(office.refusals, 1);
  assert.equal((await store.queue()).count, 0);
});

test("an office that says only that nothing is new leaves the phone's place unchanged", async () => {
  const { office, link } = await setUp();
  await link.sync();
  const before = await store.meta("link");
  assert.equal(before?.cursor, 7);
  let brief: unknown;
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    brief = ask.brief;
    return json({ same: true, nonce: ask.nonce });
  };
  await link.sync();
  assert.deepEqual([brief, link.now().problem, link.now().whole], [true, undefined, true]);
  assert.deepEqual(await store.meta("link"), before);
});

test("an office that acknowledges nothing does not make the phone retry for ever", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = (path, body) =>
    path === "/api/sync"
      ? json({
          store: "s",
          nonce: (JSON.parse(body) as SyncRequest).nonce,
          cursor: 0,
          more: true,
          acknowledged: [],
          quarantined: [],
          changes: [],
          time: "",
        })
      : undefined;
  await link.sync();
  assert.equal(link.now().problem, "server");
  assert.equal((await store.queue()).count, 1);
});

test("a new phone asks for the day's kinds first, then for all from the beginning, and knows when it has all", async () => {
  const { office, link } = await setUp();
  const asked: [number, boolean][] = [];
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    asked.push([ask.cursor, ask.kinds?.includes("round") === true]);
    const more = ask.kinds === undefined && ask.cursor < 14;
    const reply = {
      store: "s",
      epoch: "e",
      root: `r${ask.cursor + 7}`,
      nonce: ask.nonce,
      acknowledged: [],
      quarantined: [],
      changes: [],
      time: "",
    };
    if (asked.length === 3) assert.equal(link.now().whole, false);
    return json({ ...reply, cursor: ask.cursor + 7, more });
  };
  assert.equal(link.now().whole, false);
  await link.sync();
  assert.deepEqual(asked, [
    [0, true],
    [0, false],
    [7, false],
    [14, false],
  ]);
  assert.equal(link.now().whole, true);
  assert.equal((await store.meta("link"))?.cursor, 21);
  await link.sync();
  assert.deepEqual(asked.at(-1), [21, false]);
  await store.putMeta("link", undefined);
  await link.sync();
  assert.deepEqual(asked.at(-1), [14, false], "no second time first things first");
});

test("a connection that breaks after the day's kinds loses nothing: the rest is requested from the beginning", async () => {
  const { office, link } = await setUp();
  const asked: number[] = [];
  let broken = true;
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    if (ask.kinds === undefined) {
      asked.push(ask.cursor);
      if (broken) throw new TypeError("network error");
    }
    const reply = { store: "s", epoch: "e", root: "r7", nonce: ask.nonce, acknowledged: [], quarantined: [] };
    return json({ ...reply, changes: [], time: "", cursor: 7, more: false });
  };
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.equal((await store.meta("link"))?.cursor ?? 0, 0);
  broken = false;
  await link.sync();
  assert.deepEqual(asked, [0, 0]);
  assert.equal(link.now().whole, true);
});

test("an interrupted pull keeps what had come, continues from there, and says that it is incomplete", async () => {
  const { office, link } = await setUp();
  const cursors: number[] = [];
  let broken = true;
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    if (ask.kinds === undefined) cursors.push(ask.cursor);
    if (broken && ask.cursor === 14) throw new TypeError("network error");
    const reply = {
      store: "s",
      epoch: "e",
      root: `r${ask.cursor + 7}`,
      nonce: ask.nonce,
      acknowledged: [],
      quarantined: [],
      changes: [],
      time: "",
    };
    return json({ ...reply, cursor: ask.cursor + 7, more: ask.kinds === undefined && ask.cursor < 21 });
  };
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.equal(link.now().whole, false);
  assert.equal((await store.meta("link"))?.cursor, 14);
  broken = false;
  await link.sync();
  assert.equal(link.now().whole, true);
  assert.deepEqual(cursors, [0, 7, 14, 14, 21]);
});

test("a phone whose account ended while it was away hands over its work with its last token, and shows that the account has ended", async () => {
  const { office, link } = await setUp();
  await link.login("ada", "right"); // the browser is closed after this
  await write();
  const later = new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 });
  await later.load();
  office.asked = [];
  office.before = (path, body) => {
    if (path !== "/api/sync") return json({ error: { code: "login", field: "", message: "" } }, 401);
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
  const q = await store.queue();
  assert.deepEqual([q.count, q.refused[0]?.quarantined], [0, "the account was revoked"]);
  assert.equal(later.now().problem, "login");
  await later.sync();
  assert.equal(later.now().problem, "login", "a sync with nothing to send does not hide it");
  office.before = () => undefined;
  await later.login("ada", "right");
  await later.sync();
  assert.equal(later.now().problem, undefined);
});
