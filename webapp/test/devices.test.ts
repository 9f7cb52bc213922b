import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { beforeEach, test } from "node:test";
import { Machine } from "../src/calcworker/wasi";
import { Link } from "../src/link/link";
import { mayChoose, settle } from "../src/screens/instrument/choose";
import { type DeviceRow, deviceFacts, showOffset } from "../src/screens/office/devices";
import { placeOf } from "../src/records/office";
import { keyTo } from "../src/store/shelf";
import * as store from "../src/store/store";
import type { SyncReply, SyncRequest } from "../src/wire/api";
import { type Change, heads, type Json, newId, value } from "../src/wire/records";
import { merging } from "./module";
import { askContested, contested } from "../src/records/contested";

const machine = new Machine(await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url))));
const calc = async (name: string, doc: unknown): Promise<Json> => {
  const reply = JSON.parse(machine.call(name, JSON.stringify(doc)));
  assert.equal(reply.error, undefined, JSON.stringify(reply.error));
  return reply;
};
const user = { id: newId(), name: "Ada", role: "technician" as const, sites: [] };
const place = { store: "s1", epoch: "e1", root: "", cursor: 1 };
const nothing = { acknowledged: [], quarantined: [] };
const [north, south] = [newId(), newId()];

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `devices-${serial++}`, calc });
  await store.putMeta("user", user);
});

/** Another device drafts a change, with the given knowledge of the record. */
async function elsewhere(
  kind: string,
  set: { field: string; value: Json }[],
  more: { id?: string; site?: string; parent?: string; device?: string } = {},
) {
  const wall_ms = 1_700_000_000_000;
  const drafted = await calc("sync/draft", {
    record: null,
    id: more.id ?? newId(),
    kind,
    site: more.site ?? "",
    parent: more.parent ?? "",
    device: more.device ?? newId(),
    seq: 1,
    author: newId(),
    wall: new Date(wall_ms).toISOString(),
    wall_ms,
    count: 40,
    change_id: newId(),
    set,
  });
  return (drafted as unknown as { change: Change }).change;
}

/** An office that gives the usual answers, and those that a test wants besides. */
function office(
  reply: (asked: SyncRequest, n: number) => { [name in keyof SyncReply]?: unknown } & { [name: string]: unknown },
) {
  const asked: SyncRequest[] = [];
  const fetcher = async (_input: unknown, init?: RequestInit): Promise<Response> => {
    const json = (body: unknown) =>
      new Response(JSON.stringify(body), { headers: { "content-type": "application/json" } });
    if (String(_input) !== "/api/sync") return json({ access: "token", expires: 0, user });
    const q = JSON.parse(String(init?.body)) as SyncRequest;
    asked.push(q);
    const usual = {
      store: "s1",
      epoch: "e1",
      root: "r",
      nonce: q.nonce,
      cursor: 1,
      more: false,
      acknowledged: q.changes.map((c) => c.id),
      quarantined: [],
      changes: [],
      time: "",
    };
    return json({ ...usual, ...reply(q, asked.length) });
  };
  return { asked, link: new Link({ fetch: fetcher as typeof fetch, now: () => 1_700_000_000_000 }) };
}

const write = () => store.commit({ kind: "visit", site: north, parent: "", set: [{ field: "note", value: "x" }] });

test("a device that meets a copy of itself takes another id, keeps its unsent work and goes on counting", async () => {
  const before = await store.meta("device");
  const first = await write();
  const { link, asked } = office((_q, n) =>
    n === 1 ? { twin: true, acknowledged: [], quarantined: [], cursor: 1 } : {},
  );
  await link.load();
  await link.sync(); // the reply says twin and acknowledges nothing: the work stays
  assert.equal(asked[0]?.device, before?.id);
  const after = await store.meta("device");
  assert.ok(after?.id !== before?.id);
  assert.equal(typeof (await store.meta("forked")), "string");
  assert.deepEqual(
    (await store.waiting(9)).map((c) => [c.id, c.device]),
    [[first.change.id, before?.id]],
  );
  const second = await write();
  assert.deepEqual([second.change.device, second.change.seq], [after?.id, 2]);
  await link.sync();
  assert.equal(asked.at(-1)?.device, after?.id);
  assert.equal(asked.at(-1)?.about?.was, before?.id);
  assert.equal((await store.queue()).count, 0);
});

test("a change under the device's id that it never wrote reveals a copied profile; its own changes coming back do not", async () => {
  const before = await store.meta("device");
  const made = await write();
  await store.receive([made.change], place, nothing);
  assert.equal((await store.meta("device"))?.id, before?.id);
  assert.equal((await store.waiting(9)).length, 0, "what came back is at the office");
  await write();
  await store.receive(
    [await elsewhere("visit", [{ field: "note", value: "y" }], { device: before?.id ?? "" })],
    place,
    nothing,
  );
  const after = await store.meta("device");
  assert.ok(after?.id !== before?.id);
  assert.equal(after?.seq, 2);
  assert.equal((await store.waiting(9)).length, 1);
});

test("other sites: records of the old sites go, except those with unsent work and those above them", async () => {
  const gauge = async (site: string) => await elsewhere("instrument", [{ field: "tag", value: "PI" }], { site });
  const [here, there, worked, free] = [await gauge(north), await gauge(south), await gauge(south), await gauge("")];
  const old = await elsewhere("visit", [{ field: "note", value: "old" }], { site: south, parent: there.record });
  await store.receive([here, there, worked, free, old], place, nothing);
  const visit = await store.commit({
    kind: "visit",
    site: south,
    parent: worked.record,
    set: [{ field: "note", value: "unsent" }],
  });
  const run = await store.commit({
    kind: "run",
    site: south,
    parent: visit.record.id,
    set: [{ field: "label", value: "as found" }],
  });
  await store.putMeta("link", { ...place, scope: "both" });
  await store.putMeta("whole", true);
  const { link, asked } = office((q) =>
    q.scope === "north"
      ? { scope: "north" }
      : {
          scope: "north",
          sites: [north],
          acknowledged: [],
          quarantined: q.changes.map((c) => ({ id: c.id, reason: "later" })),
        },
  );
  await link.load();
  await link.sync();
  assert.equal(asked[0]?.scope, "both");
  const kept = async (id: string) => (await store.record(id)) !== undefined;
  assert.deepEqual(await Promise.all([here, there, worked, free, old].map((c) => kept(c.record))), [
    true,
    false,
    true,
    true,
    false,
  ]);
  assert.deepEqual([await kept(visit.record.id), await kept(run.record.id)], [true, true]);
  await link.sync();
  assert.equal(asked.at(-1)?.scope, "north");
});

test("records kept for their unsent work go once the office has that work", async () => {
  const worked = await elsewhere("instrument", [{ field: "tag", value: "PI" }], { site: south });
  await store.receive([worked], place, nothing);
  const visit = await store.commit({
    kind: "visit",
    site: south,
    parent: worked.record,
    set: [{ field: "note", value: "unsent" }],
  });
  await store.putMeta("link", { ...place, scope: "both" });
  await store.putMeta("whole", true);
  const { link } = office((q) => ({
    scope: "north",
    ...(q.scope === "north" ? {} : { sites: [north] }),
    acknowledged: q.changes.map((c) => c.id),
  }));
  await link.load();
  await link.sync();
  assert.equal((await store.queue()).count, 0);
  assert.deepEqual([await store.record(worked.record), await store.record(visit.record.id)], [undefined, undefined]);
  assert.equal(await store.meta("sites"), undefined);
});

test("the scope that is named while the first kinds come is the office's, so that it is not begun again with every piece", async () => {
  const { link, asked } = office((q) => ({
    scope: "n",
    ...(q.scope === "n" ? {} : { sites: [north] }),
    cursor: q.cursor + 1,
    more: q.kinds !== undefined && q.cursor < 3,
  }));
  await link.load();
  await link.sync();
  assert.deepEqual(
    asked.filter((q) => q.kinds).map((q) => [q.scope, q.cursor]),
    [
      ["", 0],
      ["n", 1],
      ["n", 2],
      ["n", 3],
    ],
  );
});

test("every request reports what waits, the clock and the version", async () => {
  await write();
  const { link, asked } = office(() => ({}));
  await link.load();
  await link.sync();
  const about = asked[0]?.about;
  assert.deepEqual(
    [about?.wall, about?.waiting, about?.photos, about?.version],
    ["2023-11-14T22:13:20.000Z", 1, 0, ""],
  );
  assert.ok(about?.oldest !== "");
});

test("an office one version behind and one ahead are understood", async () => {
  for (const shape of ["behind", "ahead"]) {
    store.close();
    await store.open({ name: `devices-${serial++}`, calc });
    await store.putMeta("user", user);
    const made = await write();
    const theirs = await elsewhere("visit", [{ field: "acoustics.a", value: { bands: [1, { deep: null }] } }]);
    const { link } = office((q) =>
      shape === "behind"
        ? { epoch: undefined, root: undefined, changes: q.cursor === 0 ? [theirs] : [] }
        : { changes: q.cursor === 0 ? [{ ...theirs, hint: 1 } as Change] : [], hurry: true, limits: { push: 5 } },
    );
    await link.load();
    await link.sync();
    assert.equal(link.now().problem, undefined, shape);
    assert.equal((await store.queue()).count, 0, shape);
    assert.deepEqual(value(await store.record(theirs.record), "acoustics.a"), { bands: [1, { deep: null }] }, shape);
    assert.ok((await store.record(made.record.id)) !== undefined);
  }
});

test("an instrument is found by its label without reading all, and those of an earlier version too", async () => {
  const made = await elsewhere("instrument", [{ field: "label", value: "AB3K" }]);
  await store.receive([made], place, nothing);
  assert.equal((await store.byLabel("ab3k"))?.id, made.record);
  assert.equal(await store.byLabel("other"), undefined);
  assert.deepEqual(await store.byKey(keyTo.visits(made.record)), []);
});

test("choosing between two values is a change that has seen both", async () => {
  const id = newId();
  const two = [
    await elsewhere("instrument", [{ field: "note", value: "one" }], { id }),
    await elsewhere("instrument", [{ field: "note", value: "two" }], { id }),
  ];
  await store.receive(two, place, nothing);
  const of = await store.record(id);
  if (!of) return assert.fail("the record is not there");
  await askContested([of], merging);
  assert.ok(contested(of, "note"));
  const made = await settle(of, "note", "one");
  assert.deepEqual([...(made.change.set[0]?.sees ?? [])].sort(), two.map((c) => c.id).sort());
  assert.deepEqual([heads(made.record, "note").length, value(made.record, "note")], [1, "one"]);
  assert.deepEqual(
    [
      mayChoose("technician", "note"),
      mayChoose("technician", "limit"),
      mayChoose("reviewer", "limit"),
      mayChoose(undefined, "note"),
    ],
    [true, false, true, false],
  );
});

test("the office's paths and words of devices", () => {
  assert.deepEqual(placeOf("/office/contested"), { kind: "contested", id: undefined });
  assert.deepEqual(placeOf("/office/contested/x1"), { kind: "contested", id: "x1" });
  assert.deepEqual(placeOf("/office/devices"), { kind: "devices", id: undefined });
  assert.deepEqual(placeOf("/office/devices/x"), { kind: "missing" });
  assert.deepEqual([0, 4_000, -119_000, 125_000, -7_300_000, 50 * 365 * 86_400_000].map(showOffset), [
    "agrees",
    "agrees",
    "119 s behind",
    "2 min ahead",
    "2 h behind",
    "18250 days ahead",
  ]);
  const d: DeviceRow = {
    id: "d",
    user: "u",
    name: "Ada",
    hub: false,
    last: "2026-03-04T05:06:07Z",
    store: "",
    behind: 0,
    version: "",
    reports: true,
    offset_ms: 0,
    waiting: 0,
    photos: 0,
    oldest: "",
    warnings: [],
  };
  const now = Date.parse("2026-03-04T07:06:07Z");
  assert.equal(deviceFacts(d, now), "last contact 2 h ago · everything sent · clock agrees");
  assert.equal(deviceFacts({ ...d, reports: false }, now), "last contact 2 h ago · it does not report unsent work");
  assert.equal(
    deviceFacts({ ...d, waiting: 3, photos: 1, oldest: "2026-03-01T05:06:07Z", behind: 1, version: "AB" }, now),
    "last contact 2 h ago · 3 entries not sent · 1 photo waits · oldest 3 days ago · clock agrees · lacks 1 entry of the journal · version AB",
  );
});
