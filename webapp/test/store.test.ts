import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { beforeEach, test } from "node:test";
import { Machine } from "../src/calcworker/wasi";
import { settle } from "../src/store/settle";
import { keyTo } from "../src/store/shelf";
import * as store from "../src/store/store";
import { type Change, type Json, newId, type RecordState, value } from "../src/wire/records";
import { contested } from "../src/records/contested";

// The real calculation, as the phone runs it: drafts and merges are Go's and are not written a
// second time.
const machine = new Machine(await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url))));
const calc = async (name: string, doc: unknown): Promise<Json> => {
  const reply = JSON.parse(machine.call(name, JSON.stringify(doc)));
  assert.equal(reply.error, undefined, JSON.stringify(reply.error));
  return reply;
};

const instrument = newId();
const plant = newId();
const user = { id: newId(), name: "Ada", role: "technician" as const, sites: [] };
let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `store-${serial++}`, calc });
  await store.putMeta("user", user);
});

const visit = (set: { field: string; value: Json }[], record?: string) =>
  store.commit({ kind: "visit", site: plant, parent: instrument, set, ...(record ? { record } : {}) });

/** A change as another device made it, knowing nothing of ours. */
async function elsewhere(record: string, field: string, v: Json): Promise<Change> {
  const wall_ms = 1_700_000_000_000;
  const drafted = await calc("sync/draft", {
    record: null,
    id: record,
    kind: "visit",
    site: plant,
    parent: instrument,
    device: newId(),
    seq: 1,
    author: newId(),
    wall: new Date(wall_ms).toISOString(),
    wall_ms,
    count: 40,
    change_id: newId(),
    set: [{ field, value: v }],
  });
  return (drafted as unknown as { change: Change }).change;
}

test("a commit keeps the change, its place in the outbox and the merged record", async () => {
  const told: store.Notice[] = [];
  const end = store.subscribe((n) => told.push(n));
  const made = await visit([{ field: "note", value: "first" }]);
  end();
  assert.equal(value(await store.record(made.record.id), "note"), "first");
  assert.deepEqual(
    (await store.waiting(10)).map((c) => c.id),
    [made.change.id],
  );
  assert.equal(made.change.author, user.id);
  assert.equal(made.change.seq, 1);
  assert.deepEqual(told, [{ records: [made.record.id], kinds: ["visit"], mine: true }]);
  assert.deepEqual(
    (await store.byParent(instrument)).map((r) => r.id),
    [made.record.id],
  );
  assert.equal((await store.byKind("visit")).length, 1);
  await visit([{ field: "instrument", value: instrument }], made.record.id);
  assert.equal((await store.byKey(keyTo.visits(instrument))).length, 1);
});

test("a second commit replaces what it saw, and numbers go on without a gap", async () => {
  const a = await visit([{ field: "note", value: "first" }]);
  const b = await visit([{ field: "note", value: "second" }], a.record.id);
  assert.equal(value(b.record, "note"), "second");
  assert.equal(contested(b.record, "note"), false);
  assert.deepEqual(b.change.set[0]?.sees, [a.change.id]);
  assert.equal(b.change.seq, 2);
  assert.ok(b.change.stamp > a.change.stamp);
});

test("many commits at once all stay, in order of their numbers", async () => {
  const first = await visit([{ field: "note", value: 0 }]);
  await Promise.all(
    Array.from({ length: 20 }, (_, i) =>
      visit([{ field: `capture.${i}`, value: { value: String(i) } }], first.record.id),
    ),
  );
  assert.deepEqual(
    (await store.waiting(100)).map((c) => c.seq),
    Array.from({ length: 21 }, (_, i) => i + 1),
  );
  assert.equal(Object.keys((await store.record(first.record.id))?.fields ?? {}).length, 21);
});

test("an edit by another device that had not seen ours is kept beside it", async () => {
  const mine = await visit([{ field: "note", value: "mine" }]);
  const theirs = await elsewhere(mine.record.id, "note", "theirs");
  await store.receive(
    [theirs],
    { store: "s1", epoch: "e1", root: "", cursor: 7 },
    { acknowledged: [mine.change.id], quarantined: [] },
  );
  const merged = await store.record(mine.record.id);
  assert.equal(contested(merged, "note"), true);
  assert.equal((await store.queue()).count, 0);
  assert.deepEqual(await store.meta("link"), { store: "s1", epoch: "e1", root: "", cursor: 7 });
  // Their count was at least 41: whatever we write now comes after it.
  const next = await visit([{ field: "note", value: "chosen" }], mine.record.id);
  assert.ok(next.change.stamp > theirs.stamp);
  assert.equal(contested(next.record, "note"), false);
});

test("receiving the same changes twice is the same as once", async () => {
  const id = newId();
  const theirs = await elsewhere(id, "note", "theirs");
  const answered = { acknowledged: [], quarantined: [] };
  await store.receive([theirs], { store: "s1", epoch: "e1", root: "", cursor: 7 }, answered);
  const once = await store.record(id);
  await store.receive([theirs, theirs], { store: "s1", epoch: "e1", root: "", cursor: 7 }, answered);
  assert.deepEqual(await store.record(id), once);
});

test("nothing is written without a user, and nothing by halves", async () => {
  await store.putMeta("user", undefined);
  await assert.rejects(visit([{ field: "note", value: "x" }]), { code: "no user" });
  assert.equal((await store.queue()).count, 0);
  assert.equal((await store.byKind("visit")).length, 0);
});

test("a photo is kept under its hash, once, and comes back as it was", async () => {
  // SHA-256 of "abc": FIPS 180-4 example.
  const want = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
  assert.equal(await store.putBlob(new Blob(["abc"], { type: "image/png" })), want);
  assert.equal(await store.putBlob(new Blob(["abc"], { type: "image/png" })), want);
  assert.deepEqual(await store.unsentPhotos(), [want]);
  const back = await store.blob(want);
  assert.equal(back?.type, "image/png");
  assert.equal(await back?.text(), "abc");
});

test("unsent work is saved completely to a file", async () => {
  const a = await visit([{ field: "note", value: "x" }]);
  await store.putBlob(new Blob(["abc"], { type: "image/png" }));
  const out = JSON.parse(await store.exportUnsent());
  assert.equal(out.format, "gaugewright-unsent-1");
  assert.deepEqual(out.changes, [a.change]);
  assert.equal(out.photos[0].base64, "YWJj");
});

test("a device's database of the first version keeps its work and is brought up to date", async () => {
  const name = `store-${serial++}`;
  const made = await visit([{ field: "note", value: "written before the update" }]);
  const { openDB } = await import("idb");
  const old = await openDB(name, 1, {
    upgrade(base) {
      base.createObjectStore("changes", { keyPath: "id" });
      base.createObjectStore("outbox", { keyPath: "seq" });
      const records = base.createObjectStore("records", { keyPath: "id" });
      for (const index of ["kind", "parent", "about"]) records.createIndex(index, index);
      base.createObjectStore("photos", { keyPath: "sha256" }).createIndex("sent", "sent");
      base.createObjectStore("meta");
    },
  });
  await old.put("changes", { id: made.change.id, seq: 1, change: made.change });
  await old.put("outbox", { seq: 1, id: made.change.id, at: 1 });
  await old.put("meta", "2026-03-04T05:06:07Z", "birth");
  await old.put("meta", { id: made.change.device, seq: 1, count: 1 }, "device");
  await old.put("meta", user, "user");
  await old.put("meta", { store: "s1", cursor: 3 }, "link");
  old.close();
  store.close();
  await store.open({ name, calc });
  assert.equal(store.isFresh(), false);
  assert.deepEqual(
    (await store.waiting(10)).map((c) => c.id),
    [made.change.id],
  );
  const place = { store: "s1", epoch: "e1", root: "", cursor: 0 };
  await store.receive([], place, { acknowledged: [made.change.id], quarantined: [] });
  await store.queueAgain(place);
  await store.offerMore(10);
  assert.equal((await store.waiting(10)).length, 1);
  assert.equal(await store.offering(), false);
});

/** looked searches the register to its end. */
async function looked(search: string, most = 40): Promise<{ tags: string[]; found: number; times: number }> {
  let last: store.Looked | undefined;
  let times = 0;
  await store.lookUp(search, most, (so) => {
    assert.ok(so.looked <= so.all || so.looked === so.all);
    last = so;
    return ++times > 0;
  });
  assert.equal(last?.looked, last?.all);
  return { tags: last?.rows.map((r) => r.tag) ?? [], found: last?.found ?? 0, times };
}

test("the register follows every instrument: written, renamed, come from the office, dropped with its site", async () => {
  const make = (tag: string, record?: string, site = plant) =>
    store.commit({
      kind: "instrument",
      site,
      parent: "",
      set: [{ field: "tag", value: tag }],
      ...(record ? { record } : {}),
    });
  const ten = await make("PI-10");
  await make("PI-9");
  assert.deepEqual(await looked(""), { tags: ["PI-9", "PI-10"], found: 2, times: 1 });
  await make("PI-8", ten.record.id);
  assert.deepEqual((await looked("")).tags, ["PI-8", "PI-9"]);
  assert.deepEqual((await looked("pi-1")).tags, []);
  const other = newId();
  const theirs = { ...(await elsewhere(newId(), "tag", "XI-1")), kind: "instrument", site: other, parent: "" };
  await store.receive(
    [theirs],
    { store: "s1", epoch: "e1", root: "", cursor: 1 },
    { acknowledged: [], quarantined: [] },
  );
  assert.deepEqual((await looked("")).tags, ["PI-8", "PI-9", "XI-1"]);
  assert.deepEqual((await looked("i-", 1)).tags, ["PI-8"]);
  assert.equal((await looked("i-", 1)).found, 3);
  const again: Change = { ...theirs, id: newId(), seq: 2, set: [{ field: "tag", value: "AI-1", sees: [theirs.id] }] };
  await store.receive(
    [again],
    { store: "s1", epoch: "e1", root: "", cursor: 2 },
    { acknowledged: [], quarantined: [] },
  );
  assert.deepEqual((await looked("")).tags, ["AI-1", "PI-8", "PI-9"]);
  await store.putMeta("link", undefined);
  await store.receive(
    [],
    { store: "s1", epoch: "e1", root: "", cursor: 2 },
    { acknowledged: [ten.change.id], quarantined: [] },
  );
  await store.keepSites([plant]);
  assert.deepEqual((await looked("")).tags, ["PI-8", "PI-9"]);
});

test("thousands of instruments are searched a piece at a time, and a search that nobody waits for ends", async () => {
  const changes: Change[] = [];
  for (let i = 0; i < 2500; i++) {
    changes.push({
      v: 1,
      id: newId(),
      device: instrument,
      seq: i + 1,
      author: user.id,
      wall: "2026-03-04T05:06:07.089Z",
      record: newId(),
      site: plant,
      parent: "",
      stamp: `${(i + 1).toString(16).padStart(12, "0")}-${(1).toString(16).padStart(12, "0")}-${instrument}`,
      kind: "instrument",
      set: [{ field: "tag", value: `T-${i}`, sees: [] }],
    });
  }
  for (let i = 0; i < changes.length; i += 500)
    await store.receive(
      changes.slice(i, i + 500),
      { store: "s1", epoch: "e1", root: "", cursor: i },
      { acknowledged: [], quarantined: [] },
    );
  const all = await looked("t-");
  assert.deepEqual([all.found, all.times, all.tags[0], all.tags[39]], [2500, 3, "T-0", "T-39"]);
  assert.deepEqual(await looked("t-2499"), { tags: ["T-2499"], found: 1, times: 1 }, "the next key asks what was read");
  let told = 0;
  await store.lookUp("t-", 40, () => ++told > 1);
  assert.equal(told, 1);
  await store.commit({ kind: "instrument", site: plant, parent: "", set: [{ field: "tag", value: "T-9999" }] });
  assert.deepEqual(await looked("t9999"), { tags: ["T-9999"], found: 1, times: 3 }, "what was read is forgotten");
  told = 0;
  await store.commit({ kind: "instrument", site: plant, parent: "", set: [{ field: "tag", value: "T-9998" }] });
  await store.lookUp("t-", 40, () => ++told > 1);
  assert.equal(told, 1);
  // Whoever looks at the list without a word is likely to type one: the register is read by then.
  await store.lookUp("", 40, () => true);
  await new Promise((done) => setTimeout(done, 2_000));
  assert.deepEqual(await looked("t-9998"), { tags: ["T-9998"], found: 1, times: 1 }, "the first key waits");
  assert.equal(await store.count("instrument"), 2502);
  // A key that comes while the register is read joins that reading.
  await store.commit({ kind: "instrument", site: plant, parent: "", set: [{ field: "tag", value: "T-9997" }] });
  const getAll = IDBObjectStore.prototype.getAll;
  let pieces = 0;
  IDBObjectStore.prototype.getAll = function (...of) {
    if (this.name === "register") pieces++;
    return getAll.apply(this, of);
  };
  try {
    const both = await Promise.all([looked("-"), looked("t-"), looked("t-9997")]);
    assert.deepEqual([both.map((x) => x.found), pieces], [[2503, 2503, 1], 3], "pieces of the register read");
  } finally {
    IDBObjectStore.prototype.getAll = getAll;
  }
});

test("records of an earlier version are filed again on opening", async () => {
  const name = `store-${serial++}`;
  const gauge = await store.commit({
    kind: "instrument",
    site: plant,
    parent: "",
    set: [
      { field: "tag", value: "PI-7" },
      { field: "label", value: "AB3K" },
    ],
  });
  const seen = await visit([
    { field: "instrument", value: gauge.record.id },
    { field: "person", value: user.id },
  ]);
  const { openDB } = await import("idb");
  const old = await openDB(name, 3, {
    upgrade(base) {
      base.createObjectStore("changes", { keyPath: "id" }).createIndex("seq", "seq");
      base.createObjectStore("outbox", { keyPath: "seq" });
      const records = base.createObjectStore("records", { keyPath: "id" });
      for (const index of ["kind", "parent", "about"]) records.createIndex(index, index);
      base.createObjectStore("photos", { keyPath: "sha256" }).createIndex("sent", "sent");
      base.createObjectStore("meta");
    },
  });
  await old.put("meta", "2026-03-04T05:06:07Z", "birth");
  await old.put("meta", { id: newId(), seq: 2, count: 2 }, "device");
  for (const state of [gauge.record, seen.record])
    await old.put("records", {
      id: state.id,
      kind: state.kind,
      parent: state.parent,
      site: state.site,
      about: "x",
      rev: 3,
      state,
    });
  for (let i = 0; i < 700; i++) {
    const id = newId();
    await old.put("records", {
      id,
      kind: "site",
      parent: "",
      site: "",
      about: "",
      rev: 1,
      state: { id, kind: "site", site: "", parent: "", fields: {} },
    });
  }
  old.close();
  store.close();
  await store.open({ name, calc });
  assert.equal((await store.byLabel("ab3k"))?.id, gauge.record.id);
  assert.deepEqual(
    (await store.byKey(keyTo.begun(user.id))).map((r) => r.id),
    [seen.record.id],
  );
  assert.deepEqual((await looked("")).tags, ["PI-7"]);
  assert.equal(await store.count("site"), 700);
});

test("settled without its values, a record is what the whole merge makes of it", async () => {
  const id = newId();
  const first = await elsewhere(id, "note", "theirs");
  const second = await elsewhere(id, "note", { text: "others'", n: [1, null] });
  const third = await elsewhere(id, "remark.1", "beside");
  const seeing: Change = {
    ...(await elsewhere(id, "note", "chosen")),
    set: [{ field: "note", value: "chosen", sees: [first.id, second.id].sort() }],
  };
  let known: RecordState[] = [];
  let whole: RecordState[] = [];
  for (const piece of [[first], [third, second], [seeing, first]]) {
    known = (await settle(calc, known, piece)).records;
    whole = ((await calc("sync/merge", { records: whole, changes: piece })) as unknown as { records: RecordState[] })
      .records;
    assert.deepEqual(known, whole);
    assert.deepEqual(Object.keys(known[0]?.fields ?? {}), Object.keys(whole[0]?.fields ?? {}), "in the same order");
  }
  assert.equal(value(known[0], "note"), "chosen");
  assert.deepEqual(await settle(calc, [], []), { records: [], count: 0 });
});

test("after a restore the records are made from the office's changes and this device's own, and nothing else", async () => {
  const made = await visit([{ field: "note", value: "mine" }]);
  const gone = await elsewhere(made.record.id, "approval", "by the office, after the backup");
  const had = await elsewhere(made.record.id, "remark.1", "before the backup");
  const lost: Change = { ...(await elsewhere(newId(), "tag", "XI-1")), kind: "instrument", parent: "" };
  const kept: Change = { ...(await elsewhere(newId(), "tag", "XI-2")), kind: "instrument", parent: "" };
  const before = { store: "s1", epoch: "e1", root: "", cursor: 9 };
  const nothing = { acknowledged: [], quarantined: [] };
  await store.receive([gone, had, lost, kept], before, { acknowledged: [made.change.id], quarantined: [] });
  const unsent = await visit([{ field: "note", value: "written meanwhile" }]);
  assert.equal(value(await store.record(made.record.id), "approval"), "by the office, after the backup");
  const after = { store: "s1", epoch: "e2", root: "", cursor: 0 };
  await store.queueAgain(after);
  const later = await visit([{ field: "remark.2", value: "while it is rebuilt" }], made.record.id);
  await store.receive([had], after, nothing);
  assert.equal((await looked("")).tags.length, 2, "until all has come, what was there stays");
  await store.receive([kept], after, nothing);
  await store.finishRebuild();
  const now = await store.record(made.record.id);
  assert.deepEqual(Object.keys(now?.fields ?? {}), ["note", "remark.1", "remark.2"]);
  assert.deepEqual(
    [value(now, "note"), value(now, "remark.1"), value(now, "remark.2")],
    ["mine", "before the backup", "while it is rebuilt"],
  );
  assert.equal(value(await store.record(unsent.record.id), "note"), "written meanwhile");
  assert.deepEqual((await looked("")).tags, ["XI-2"]);
  assert.equal(await store.record(lost.record), undefined);
  assert.ok(later.change.seq > unsent.change.seq);
  assert.equal(await store.meta("rebuild"), undefined);
  // Another server that has less for now takes nothing away.
  await store.queueAgain({ ...after, store: "s2" });
  await store.finishRebuild();
  assert.deepEqual((await looked("")).tags, ["XI-2"]);
});

test("what the office erased is gone from the records, from what was written here, from what was given and from the photos", async () => {
  const photo = await store.putBlob(new Blob(["a face"], { type: "image/jpeg" }));
  const made = await visit([
    { field: "signature", value: { name: "Sefa", strokes: [[1, 2]], at: "t" } },
    { field: "photo.a", value: { sha256: photo, caption: "Sefa at work" } },
    { field: "place", value: "boiler" },
  ]);
  const place = { store: "s1", epoch: "e1", root: "", cursor: 3 };
  const said = { sign: "c2ln", text: JSON.stringify([made.change]) };
  await store.receive([made.change], place, { acknowledged: [made.change.id], quarantined: [] }, said);
  await store.receive([], place, { acknowledged: [], quarantined: [] }, { sign: "c2ln", text: "[]" });
  const gone = await elsewhere(made.record.id, `erased.${made.change.id}`, {
    change: made.change.id,
    values: [
      { field: "signature", members: ["name", "strokes"], digest: "0f" },
      { field: "photo.a", members: ["caption"], digest: "1f" },
    ],
    blobs: [photo],
  });
  const before = await raw();
  assert.match(before, /Sefa/);
  await store.receive([gone], { ...place, cursor: 4 }, { acknowledged: [], quarantined: [] });
  const kept = await store.record(made.record.id);
  assert.deepEqual(value(kept, "signature"), { at: "t", erased: "0f" });
  assert.deepEqual(value(kept, "photo.a"), { sha256: photo, erased: "1f" });
  assert.equal(value(kept, "place"), "boiler");
  assert.equal(await store.blob(photo), undefined);
  assert.ok(!/Sefa/.test(await raw()));
  // The original comes once more, as to a device that rebuilds its records, and is stored without
  // what was erased.
  await store.receive([made.change], { ...place, cursor: 5 }, { acknowledged: [], quarantined: [] });
  assert.deepEqual(value(await store.record(made.record.id), "signature"), { at: "t", erased: "0f" });
});

/** raw gives everything in the database as text. */
async function raw(): Promise<string> {
  const name = `store-${serial - 1}`;
  const base = await new Promise<IDBDatabase>((resolve, reject) => {
    const asked = indexedDB.open(name);
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  let text = "";
  for (const of of ["changes", "records", "given"] as const) {
    const all = await new Promise<unknown[]>((resolve, reject) => {
      const asked = base.transaction(of).objectStore(of).getAll();
      asked.onsuccess = () => resolve(asked.result);
      asked.onerror = () => reject(asked.error);
    });
    for (const one of all) {
      const t = (one as { text?: ArrayBuffer | string }).text;
      text += JSON.stringify(one);
      if (t instanceof ArrayBuffer)
        text += await new Response(new Blob([t]).stream().pipeThrough(new DecompressionStream("gzip"))).text();
    }
  }
  base.close();
  return text;
}
