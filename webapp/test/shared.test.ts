import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { Link, LinkError } from "../src/link/link";
import * as store from "../src/store/store";
import type { SyncReply, SyncRequest } from "../src/wire/api";
import type { Change, RecordState } from "../src/wire/records";

// The link does not look into records, so a draft that only numbers and signs changes is enough
// here.
async function plainCalc(name: string, doc: unknown) {
  if (name === "sync/settle") return { records: [], count: 0 } as never;
  const d = doc as {
    id: string;
    seq: number;
    count: number;
    change_id: string;
    kind: string;
    author: string;
    device: string;
    set: { field: string; value: string }[];
  };
  const set = d.set.map((s) => ({ ...s, sees: [] }));
  const { device, author } = d;
  const change = {
    v: 1,
    id: d.change_id,
    device,
    author,
    seq: d.seq,
    record: d.id,
    kind: d.kind,
    wall: "2026-03-01T08:00:00.000Z",
    stamp: "",
    site: "",
    parent: "",
    set,
  };
  const record: RecordState = { id: d.id, kind: d.kind, site: "", parent: "", fields: {} };
  return { change, record, count: d.count + 1 } as never;
}

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `shared-${serial++}`, calc: plainCalc });
});

const sefa = { id: "sefa1", name: "Sefa", role: "technician" as const, sites: [] };
const jorin = { id: "j0r1n", name: "Jorin", role: "technician" as const, sites: [] };
const json = (body: unknown, status = 200) =>
  new Response(JSON.stringify(body), { status, headers: { "content-type": "application/json" } });

/**
 * An office that knows two people by their names, keeps the log-in in a cookie, and takes from each
 * person only their own changes.
 */
class Office {
  line = true;
  cookie: typeof sefa | undefined;
  epoch = "epoch-1";
  kept = new Map<string, Change>();
  aside: Change[] = [];
  asked: string[] = [];
  sizes: number[] = [];
  most = Number.POSITIVE_INFINITY;
  tooMuch = 0;
  /** What the office says about the list of refusals. */
  refusals: Partial<SyncReply> = {};
  /** Its journal, which comes with the reply to a device that is at its beginning. */
  journal: Change[] = [];

  readonly fetch = async (input: unknown, init?: RequestInit): Promise<Response> => {
    const path = String(input);
    if (!this.line) throw new TypeError("network error");
    this.asked.push(path);
    const body = typeof init?.body === "string" ? init.body : "";
    if (path === "/api/logout") {
      this.cookie = undefined;
      return new Response(null, { status: 204 });
    }
    if (path === "/api/login")
      this.cookie = [sefa, jorin].find((u) => u.name === (JSON.parse(body) as { name: string }).name);
    if (path === "/api/login" || path === "/api/refresh")
      return this.cookie
        ? json({ access: this.cookie.id, expires: 0, user: this.cookie })
        : json({ error: { code: "token", message: "" } }, 401);
    const token = new Headers(init?.headers).get("authorization")?.replace("Bearer ", "");
    if (token === undefined || token !== this.cookie?.id) return json({ error: { code: "token", message: "" } }, 401);
    if (body.length > this.most) {
      if (++this.tooMuch > 30) this.line = false; // otherwise a phone that learns nothing would ask for ever
      return new Response("<html>too much</html>", { status: 413, headers: { "content-type": "text/html" } });
    }
    const ask = JSON.parse(body) as SyncRequest;
    this.sizes.push(ask.changes.length);
    const acknowledged: string[] = [];
    const quarantined: { id: string; reason: string }[] = [];
    for (const c of ask.changes) {
      if (c.author === token) {
        this.kept.set(c.id, c);
        acknowledged.push(c.id);
      } else {
        this.aside.push(c);
        quarantined.push({ id: c.id, reason: "the change names another author" });
      }
    }
    const again = ask.epoch !== "" && ask.epoch !== this.epoch;
    return json({
      store: "store-1",
      epoch: this.epoch,
      root: "root-7",
      ...(again ? { again } : {}),
      nonce: ask.nonce,
      cursor: again ? 0 : 7,
      more: again,
      acknowledged,
      quarantined,
      changes: !again && ask.cursor === 0 && !ask.kinds ? this.journal : [],
      time: "",
      had: ask.has?.filter((id) => this.kept.has(id)),
      ...this.refusals,
    });
  };
}

async function setUp() {
  const office = new Office();
  const link = new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 });
  await link.load();
  await link.login("Sefa", "right");
  return { office, link };
}

const write = (text = "x") =>
  store.commit({ kind: "visit", site: "", parent: "", set: [{ field: "note", value: text }] });
const others = async () => (await store.queue()).others.map((o) => [o.author, o.name, o.count]);

test("one person's unsent work on a shared phone waits for their log-in, and goes out only with it", async () => {
  const { office, link } = await setUp();
  office.line = false;
  await write();
  await write();
  await link.logout();
  assert.deepEqual(await others(), [["sefa1", "Sefa", 2]]);
  office.line = true;
  await link.login("Jorin", "right");
  await write();
  assert.deepEqual([(await store.queue()).count, await others()], [1, [["sefa1", "Sefa", 2]]]);
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.deepEqual(
    [...office.kept.values()].map((c) => c.author),
    ["j0r1n"],
  );
  assert.deepEqual(office.aside, []);
  assert.deepEqual([(await store.queue()).count, await others()], [0, [["sefa1", "Sefa", 2]]]);
  assert.equal(JSON.parse(await store.exportUnsent()).changes.length, 2, "the file of unsent work has everybody's");
  await link.logout();
  await link.login("Sefa", "right");
  await link.sync();
  assert.deepEqual(
    [...office.kept.values()].map((c) => c.author),
    ["j0r1n", "sefa1", "sefa1"],
  );
  assert.deepEqual([office.aside, await others()], [[], []]);
});

test("after a restore everybody's work is offered: the person's own at once; of others', what the office lacks waits", async () => {
  const { office, link } = await setUp();
  const first = await write("the office has it after the restore");
  const second = await write("the office has lost it");
  const third = await write("it comes back with the journal");
  await link.sync();
  assert.equal(office.kept.size, 3);
  // The restore is noticed, and the line breaks before anything is offered.
  await store.queueAgain({ store: "store-1", epoch: "epoch-2", root: "", cursor: 0 });
  await link.logout();
  await link.login("Jorin", "right");
  await write("Jorin's own");
  await link.sync();
  office.epoch = "epoch-2";
  office.kept = new Map([
    [first.change.id, first.change],
    [third.change.id, third.change],
  ]);
  office.journal = [third.change];
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.deepEqual(
    [...office.kept.values()].map((c) => c.author),
    ["sefa1", "sefa1", "j0r1n"],
  );
  assert.deepEqual([office.aside, await others()], [[], [["sefa1", "Sefa", 1]]]);
  await link.logout();
  await link.login("Sefa", "right");
  await link.sync();
  assert.ok(office.kept.has(second.change.id));
  assert.deepEqual([office.aside, (await store.queue()).count], [[], 0]);
});

test("an offline log-out is reported to the office before anything else, and the old cookie logs nobody in", async () => {
  const { office, link } = await setUp();
  office.line = false;
  await link.logout();
  assert.equal(office.cookie?.id, "sefa1");
  office.line = true;
  office.asked = [];
  const later = new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 }); // the page is reopened
  await later.load();
  assert.equal(later.now().user, undefined);
  await assert.rejects(later.renew());
  assert.deepEqual(office.asked, ["/api/logout", "/api/refresh"]);
  assert.equal(later.now().user, undefined);
  office.asked = [];
  await assert.rejects(later.renew());
  assert.deepEqual(office.asked, ["/api/refresh"], "it is told once");
});

test("until the office has heard of a log-out, no other request goes out", async () => {
  const { office, link } = await setUp();
  office.line = false;
  await link.logout();
  office.line = true;
  office.asked = [];
  const fetcher = office.fetch;
  const portal = async (input: unknown, init?: RequestInit) =>
    String(input) === "/api/logout"
      ? new Response("<html>Welcome</html>", { headers: { "content-type": "text/html" } })
      : fetcher(input, init);
  const later = new Link({ fetch: portal as typeof fetch, now: () => 1_700_000_000_000 });
  await later.load();
  await assert.rejects(later.login("Jorin", "right"), (e: unknown) => e instanceof LinkError && e.problem === "portal");
  assert.deepEqual(office.asked, []);
  assert.equal(office.cookie?.id, "sefa1");
});

test("a piece is bounded by its length too", async () => {
  const { office, link } = await setUp();
  for (let i = 0; i < 200; i++) await write("w".repeat(100_000));
  office.most = 2_000_000;
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(office.kept.size, 200);
  assert.ok(Math.max(...office.sizes) <= 10, `a request carried ${Math.max(...office.sizes)}`);
});

test("a request too large for a proxy in front of the office is halved until it goes through", async () => {
  const { office, link } = await setUp();
  for (let i = 0; i < 60; i++) await write("w".repeat(2_000));
  office.most = 11_000;
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(office.kept.size, 60);
  await write("w".repeat(12_000));
  await link.sync();
  assert.equal(link.now().problem, "portal", "one that is too long alone is not asked for ever");
  assert.equal((await store.queue()).count, 1);
});

test("what was acknowledged and refused further up is shown with its reason, until the office has it", async () => {
  const { office, link } = await setUp();
  const { change } = await write();
  await link.sync();
  office.refusals = {
    refused: "ab",
    refusals: [
      { id: change.id, reason: "at the office: the account was revoked" },
      { id: "unknown", reason: "no" },
    ],
  };
  await link.sync();
  assert.deepEqual(
    (await store.queue()).refused.map((r) => [r.id, r.quarantined]),
    [[change.id, "at the office: the account was revoked"]],
  );
  assert.equal(await store.meta("refused"), "ab");
  office.refusals = {};
  await link.sync();
  assert.equal((await store.queue()).refused.length, 1, "no news");
  office.refusals = { refused: "", refusals: [] };
  await link.sync();
  assert.deepEqual([(await store.queue()).refused, await store.meta("refused")], [[], ""]);
});
