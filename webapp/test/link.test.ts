import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { Link, LinkError } from "../src/link/link";
import { photoPiece } from "../src/link/pieces";
import * as store from "../src/store/store";
import type { SyncRequest } from "../src/wire/api";
import type { Change, RecordState } from "../src/wire/records";

// The link does not look into records: a draft that only numbers changes is enough here.
async function plainCalc(name: string, doc: unknown) {
  assert.equal(name, "sync/draft");
  const d = doc as { id: string; seq: number; count: number; change_id: string; kind: string };
  const change = { v: 1, id: d.change_id, seq: d.seq, record: d.id, kind: d.kind, wall: "2026-03-01T08:00:00.000Z", stamp: "", set: [] };
  const record: RecordState = { id: d.id, kind: d.kind, site: "", parent: "", fields: {} };
  return { change, record, count: d.count + 1 } as never;
}

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `link-${serial++}`, calc: plainCalc });
});

const user = { id: "u1", name: "Ada", role: "technician" as const, sites: [] };
const json = (body: unknown, status = 200) => new Response(JSON.stringify(body), { status, headers: { "content-type": "application/json; charset=utf-8" } });
const login = () => json({ access: "token", expires: 0, user });

/** An office that keeps what it is sent. */
class Office {
  store = "store-1";
  epoch = "epoch-1";
  /** The place it expects; undefined takes any. */
  root: string | undefined;
  readonly kept = new Map<string, Change>();
  arrivals = 0;
  asked: string[] = [];
  nonce = "";
  before: (path: string, body: string) => Response | Promise<Response> | undefined = () => undefined;
  after: (path: string, reply: Response) => Response = (_path, reply) => reply;
  blobs: (path: string, init?: RequestInit) => Promise<Response | undefined> = async () => undefined;
  /** Of the requests that came in gzip: their length, and that of the text. */
  pressed: [number, number][] = [];
  takes = true;
  refusals = 0;

  readonly fetch = async (input: unknown, init?: RequestInit): Promise<Response> => {
    const path = String(input);
    let body = typeof init?.body === "string" ? init.body : "";
    if (new Headers(init?.headers).get("content-encoding") === "gzip") {
      const small = init?.body as ArrayBuffer;
      body = await new Response(new Blob([small]).stream().pipeThrough(new DecompressionStream("gzip"))).text();
      if (!this.takes && ++this.refusals > 0) return json({ error: { code: "syntax", field: "", message: "" } }, 400);
      this.pressed.push([small.byteLength, body.length]);
    }
    this.asked.push(`${init?.method ?? "GET"} ${path}`);
    const early = (await this.before(path, body)) ?? (await this.blobs(path, init));
    if (early) return early;
    if (path === "/api/login" || path === "/api/refresh") return login();
    if (path !== "/api/sync") return json({ error: { code: "absent", field: "", message: "" } }, 404);
    const ask = JSON.parse(body) as SyncRequest;
    this.nonce = ask.nonce;
    for (const c of ask.changes) {
      this.arrivals++;
      this.kept.set(c.id, c);
    }
    const reply = {
      store: this.store,
      epoch: this.epoch,
      root: "root-7",
      ...(ask.store !== "" && this.root !== undefined && ask.root !== this.root ? { again: true } : {}),
      nonce: ask.nonce,
      cursor: 7,
      more: false,
      acknowledged: ask.changes.map((c) => c.id),
      quarantined: [],
      changes: [],
      time: "",
    };
    return this.after(path, json(reply));
  };
}

async function setUp() {
  const office = new Office();
  await store.putMeta("user", user);
  const link = new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 });
  await link.load();
  return { office, link };
}

const write = () => store.commit({ kind: "visit", site: "", parent: "", set: [{ field: "note", value: "x" }] });

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

test("a network's own login page is no acknowledgement, as HTML or as JSON", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = (path) => (path === "/api/sync" ? new Response("<html>Welcome</html>", { headers: { "content-type": "text/html" } }) : undefined);
  await link.sync();
  assert.equal(link.now().problem, "portal");
  const id = (await store.waiting(9))[0]?.id;
  office.before = (path) =>
    path === "/api/sync" ? json({ store: "x", nonce: "other", acknowledged: [id], quarantined: [], changes: [], cursor: 0, more: false }) : undefined;
  await link.sync();
  assert.equal(link.now().problem, "portal");
  assert.equal((await store.queue()).count, 1);
});

test("an expired login is renewed once and the sync goes on", async () => {
  const { office, link } = await setUp();
  await write();
  let refused = 0;
  office.before = (path) => (path === "/api/sync" && refused++ === 0 ? json({ error: { code: "login", field: "", message: "" } }, 401) : undefined);
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(office.asked.filter((a) => a === "POST /api/refresh").length, 2);
  assert.equal((await store.queue()).count, 0);
});

test("a login that has ended asks for a new one, and keeps work and user on the device", async () => {
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
    office.before = (path) => (path.startsWith("/api/blobs") && office.asked.at(-1)?.startsWith("PUT") ? new Response(null, { status: 204 }) : undefined);
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
    assert.deepEqual(await store.meta("link"), { store: office.store, epoch: office.epoch, root: "root-7", cursor: 7, scope: "" });
    const before = office.arrivals;
    await link.sync();
    assert.equal(office.arrivals, before);
  });
}

test("what is offered again goes in pieces, in the order it was written, and goes on after a break", async () => {
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

test("a change that was set aside once is offered again, and loses its mark when it is taken", async () => {
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

test("what the office sets aside leaves the outbox and stays visible with its reason", async () => {
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

/** A photo store that takes pieces as the office does, and loses the line where it is told to. */
function pieces(office: Office, name: string) {
  const kept = { bytes: new Uint8Array(), whole: false, puts: [] as string[], lose: 0 };
  office.blobs = async (path, init) => {
    if (!path.endsWith(name)) return undefined;
    const say = (status: number) => new Response(null, { status, headers: { "blob-arrived": String(kept.bytes.length) } });
    if (init?.method === "HEAD") return say(kept.whole ? 200 : 404);
    const range = new Headers(init?.headers).get("content-range") ?? "";
    kept.puts.push(range);
    const [, from, , total] = (/^bytes (\d+)-(\d+)\/(\d+)$/.exec(range) ?? ["", "0", "", "-1"]).map(Number) as [number, number, number, number];
    if (from !== kept.bytes.length) return say(409);
    const body = init?.body as Blob;
    kept.bytes = new Uint8Array([...kept.bytes, ...new Uint8Array(await body.arrayBuffer())]);
    kept.whole = total < 0 || kept.bytes.length === total;
    if (kept.lose > 0 && --kept.lose === 0) throw new TypeError("network error"); // it arrived, and nobody heard so
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

test("an office that has lost the beginning of a photo gets it again, and one that never gets on is not asked for ever", async () => {
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

test("what is sent is pressed once the office said that it takes that, and plain again to one that does not", async () => {
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

test("an office that says only that nothing is new leaves the phone where it stands", async () => {
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

test("an office that acknowledges nothing does not keep the phone asking for ever", async () => {
  const { office, link } = await setUp();
  await write();
  office.before = (path, body) =>
    path === "/api/sync"
      ? json({ store: "s", nonce: (JSON.parse(body) as SyncRequest).nonce, cursor: 0, more: true, acknowledged: [], quarantined: [], changes: [], time: "" })
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
    const reply = { store: "s", epoch: "e", root: `r${ask.cursor + 7}`, nonce: ask.nonce, acknowledged: [], quarantined: [], changes: [], time: "" };
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

test("a pull that breaks off keeps what had come, goes on there, and says that not all is here", async () => {
  const { office, link } = await setUp();
  const cursors: number[] = [];
  let broken = true;
  office.before = (path, body) => {
    if (path !== "/api/sync") return undefined;
    const ask = JSON.parse(body) as SyncRequest;
    if (ask.kinds === undefined) cursors.push(ask.cursor);
    if (broken && ask.cursor === 14) throw new TypeError("network error");
    const reply = { store: "s", epoch: "e", root: `r${ask.cursor + 7}`, nonce: ask.nonce, acknowledged: [], quarantined: [], changes: [], time: "" };
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
    return json({ store: "s", nonce: ask.nonce, cursor: 0, more: false, acknowledged: [], quarantined, changes: [], time: "" });
  };
  await later.sync();
  assert.deepEqual(brought, [`/api/blobs/${sha256}`]);
  assert.deepEqual(await store.unsentPhotos(), []);
  assert.equal(later.now().problem, "login", "the person is told that the account has ended");
});

test("an account that was ended while the phone was away hands its work over with its last token, and is told that it has ended", async () => {
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
    return json({ store: "s", nonce: ask.nonce, cursor: 0, more: false, acknowledged: [], quarantined, changes: [], time: "" });
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
