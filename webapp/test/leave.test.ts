import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { Link } from "../src/link/link";
import { clear } from "../src/store/clear";
import { begun, complete, takeEntries, takeUnits } from "../src/store/held";
import { keyOf, prove } from "../src/store/keys";
import * as store from "../src/store/store";
import type { SyncReply, SyncRequest } from "../src/wire/api";
import { type Change, type Json, newId, value } from "../src/wire/records";
import { merging } from "./module";
import { json } from "./office-played";

/** What browsers keep beside the database. */
function shelf() {
  const kept = Object.create(null) as { [key: string]: unknown };
  const methods = {
    getItem: (k: string) => (k in kept ? kept[k] : null),
    setItem: (k: string, v: string) => {
      kept[k] = v;
    },
    removeItem: (k: string) => {
      delete kept[k];
    },
    clear: () => {
      for (const k of Object.keys(kept)) delete kept[k];
    },
  };
  for (const [name, fn] of Object.entries(methods))
    Object.defineProperty(kept, name, { value: fn, enumerable: false, configurable: true });
  return kept;
}
for (const name of ["localStorage", "sessionStorage"])
  Object.defineProperty(globalThis, name, { value: shelf(), configurable: true });

const ada = { id: newId(), name: "ada", full: "Ada Vell", role: "technician" as const, sites: [] };
const bram = { id: newId(), name: "bram", full: "Bram Osk", role: "technician" as const, sites: [] };
const [plant, far] = [newId(), newId()];

/** An office with a journal, two accounts and no other rule than that people send their own work. */
class Office {
  line = true;
  cookie: typeof ada | undefined;
  journal: Change[] = [];
  aside: Change[] = [];
  ended = new Set<string>();
  blobs = new Set<string>();
  gate: Promise<void> | undefined;
  epoch = "e";

  async wrote(record: string, kind: string, set: { [field: string]: Json }) {
    const wall_ms = 1_700_000_000_000 + this.journal.length;
    const { change } = (await merging("sync/draft", {
      record: null,
      id: record,
      kind,
      site: plant,
      parent: "",
      device: far,
      seq: this.journal.length + 1,
      author: far,
      wall: new Date(wall_ms).toISOString(),
      wall_ms,
      count: 40 + this.journal.length,
      change_id: newId(),
      set: Object.entries(set).map(([field, v]) => ({ field, value: v })),
    })) as { change: Change };
    this.journal.push(change);
  }

  readonly fetch = async (input: unknown, init?: RequestInit): Promise<Response> => {
    const path = String(input);
    if (!this.line) throw new TypeError("network error");
    const refused = (status = 401, code = "token") => json({ error: { code, message: "" } }, status);
    if (path === "/api/logout") {
      this.cookie = undefined;
      return new Response(null, { status: 204 });
    }
    if (path === "/api/login")
      this.cookie = [ada, bram].find((u) => u.name === (JSON.parse(String(init?.body)) as { name: string }).name);
    if (path === "/api/login" || path === "/api/refresh")
      return this.cookie && !this.ended.has(this.cookie.id)
        ? json({ access: this.cookie.id, expires: 0, user: this.cookie })
        : refused();
    const token = new Headers(init?.headers).get("authorization")?.replace("Bearer ", "") ?? "";
    if (![ada.id, bram.id].includes(token)) return refused();
    const over = this.ended.has(token);
    if (path.startsWith("/api/blobs/") && init?.method === "HEAD")
      return new Response(null, { status: this.blobs.has(path) ? 200 : 404 });
    if (path.startsWith("/api/blobs/")) {
      if (!over) this.blobs.add(path);
      return new Response(null, { status: over ? 403 : 204 });
    }
    const ask = JSON.parse(String(init?.body)) as SyncRequest;
    await this.gate;
    const reply: SyncReply = {
      store: "s",
      epoch: this.epoch,
      nonce: ask.nonce,
      cursor: 0,
      more: false,
      acknowledged: [],
      quarantined: [],
      changes: [],
      time: "",
    };
    for (const c of ask.changes) {
      if (c.author !== token || over) {
        this.aside.push(c);
        reply.quarantined.push({ id: c.id, reason: "no" });
        continue;
      }
      if (!this.journal.some((k) => k.id === c.id)) this.journal.push(c);
      reply.acknowledged.push(c.id);
    }
    if (over) return json({ ...reply, cursor: ask.cursor, ended: true });
    if (ask.store !== "" && ask.epoch !== this.epoch) return json({ ...reply, again: true, more: true });
    const from = ask.store === "" ? 0 : ask.cursor;
    const changes = ask.kinds ? [] : this.journal.slice(from, from + 3);
    const cursor = ask.kinds ? from : from + changes.length;
    const had = ask.has?.filter((id) => this.journal.some((k) => k.id === id)) ?? [];
    return json({ ...reply, cursor, more: !ask.kinds && cursor < this.journal.length, changes, given: "signed", had });
  };
}

const gauge = newId();
let office: Office;
let link: Link;
let serial = 0;
const page = () => new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 });

beforeEach(async () => {
  store.close();
  localStorage.clear();
  sessionStorage.clear();
  await store.open({ name: `leave-${serial++}`, calc: merging });
  office = new Office();
  await office.wrote(gauge, "instrument", { tag: "PI-SECRET", note: "SECRET note" });
  await office.wrote(bram.id, "person", { name: "Bram SECRET" });
  await office.wrote(newId(), "visit", { instrument: gauge, note: "SECRET visit" });
  link = page();
  await link.load();
  await link.login("ada", "right");
  await link.sync();
  assert.equal(link.now().problem, undefined);
});

/** all gives everything in the device's database, as text by store. */
async function all(): Promise<{ [store: string]: string[] }> {
  const b = await store.base();
  const found: { [store: string]: string[] } = {};
  for (const name of b.objectStoreNames) {
    const keys = await b.getAllKeys(name);
    const values = await b.getAll(name);
    found[name] = values.map((v, i) => `${JSON.stringify(keys[i])} ${JSON.stringify(v)}`);
  }
  return found;
}

const note = (text: string, record?: string) =>
  store.commit({
    kind: record === gauge ? "instrument" : "visit",
    site: plant,
    parent: record === gauge ? "" : gauge,
    set: [{ field: "note", value: text }],
    ...(record ? { record } : {}),
  });
const photo = (text: string) => store.putBlob(new Blob([text], { type: "image/png" }));
const noted = async (id: string) => value(await store.record(id), "note");
const others = async () => (await store.queue()).others.map((o) => [o.name, o.count]);

/** leaves logs out without a line after some work, of which a part has been sent. */
async function leaves() {
  const sent = await photo("SECRET photo");
  const named = await photo("a photo that unsent work names");
  for (const name of [sent, named]) await store.photoSent(name);
  await note("SECRET own visit");
  await link.sync();
  office.line = false;
  const owed = await photo("a photo that the office lacks");
  const begun = await note(`unsent, with ${named}`);
  const gauged = await note("unsent on the gauge", gauge);
  await link.logout();
  return { owed, named, begun, gauged };
}

test("after a log-out only what is unsent lies on the device", async () => {
  const device = await store.meta("device");
  localStorage.setItem("theme", "night");
  localStorage.setItem("last standard", "SECRET standard");
  localStorage.setItem("register", "q=SECRET");
  sessionStorage.setItem("gaugewright:list", "SECRET list");
  const { owed, named, begun, gauged } = await leaves();
  const left = await all();
  assert.ok(!JSON.stringify([left, localStorage, sessionStorage]).includes("SECRET"), JSON.stringify(left));
  assert.deepEqual(Object.keys(localStorage), ["theme"]);
  assert.deepEqual(Object.fromEntries(Object.entries(left).map(([name, list]) => [name, list.length])), {
    changes: 2,
    outbox: 2,
    records: 2,
    photos: 2,
    register: 0,
    held: 0,
    given: 0,
    meta: left["meta"]?.length,
  });
  const ids = [begun.change.id, gauged.change.id].sort();
  assert.deepEqual((await store.unsentChanges()).map((c) => c.id).sort(), ids);
  assert.ok((await store.blob(owed)) && (await store.blob(named)));
  const notes = (await (await store.base()).getAllKeys("meta")).sort();
  const may = ["birth", "cleared", "device", "gone", "heard", "leaving", "link", "names", "rebuild"];
  assert.deepEqual(
    notes.filter((n) => !may.includes(n)),
    [],
  );
  assert.deepEqual(await store.meta("names"), { [ada.id]: "Ada Vell" });
  assert.equal((await store.meta("device"))?.id, device?.id);
  assert.deepEqual([link.now().user, link.now().whole], [undefined, false]);
});

test("whoever has nothing unsent leaves no name", async () => {
  await link.logout();
  assert.ok(!JSON.stringify(await all()).includes("Ada Vell"));
  assert.ok(!JSON.stringify(await all()).includes(ada.id));
});

test("a shared phone: one leaves with unsent work, another works, the first comes back", async () => {
  const { begun } = await leaves();
  const device = (await store.meta("device"))?.id;
  office.line = true;
  await link.login("bram", "right");
  assert.deepEqual([(await store.queue()).count, await others()], [0, [["Ada Vell", 2]]]);
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(value(await store.record(gauge), "tag"), "PI-SECRET", "the plant is here again");
  assert.deepEqual(
    [await noted(gauge), await noted(begun.record.id)],
    ["unsent on the gauge", begun.change.set[0]?.value],
  );
  assert.deepEqual(await others(), [["Ada Vell", 2]]);
  const bramsOwn = await note("by Bram");
  await link.sync();
  assert.equal(office.journal.filter((c) => c.author === ada.id).length, 1, "only what Ada had sent");
  await link.logout();
  assert.equal(await noted(bramsOwn.record.id), undefined);

  await link.login("ada", "right");
  assert.deepEqual([(await store.queue()).count, await others()], [2, []]);
  await link.sync();
  assert.deepEqual([link.now().problem, (await store.queue()).count, office.aside], [undefined, 0, []]);
  assert.equal(office.journal.filter((c) => c.author === ada.id).length, 3);
  assert.equal(await noted(bramsOwn.record.id), "by Bram");
  assert.equal(await noted(gauge), "unsent on the gauge");
  const seqs = office.journal.filter((c) => c.device === device).map((c) => c.seq);
  assert.deepEqual(seqs.sort(), [1, 2, 3, 4], "the device goes on counting");
  assert.equal((await store.meta("device"))?.id, device, "its own work that comes back makes it no copy");
  assert.equal(await store.meta("forked"), undefined);
});

test("a copy of the device is still told from it after a log-out", async () => {
  await link.logout();
  await link.login("ada", "right");
  const device = (await store.meta("device"))?.id ?? "";
  await office.wrote(newId(), "visit", { note: "by a copy" });
  const copied = office.journal.at(-1) as Change;
  copied.device = device;
  copied.stamp = `${copied.stamp.slice(0, 26)}${device}`;
  await link.sync();
  assert.ok((await store.meta("device"))?.id !== device);
});

test("what was cut off while it was cleared is cleared at the next start", async () => {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (this: IDBObjectStore, v: unknown, at?: IDBValidKey) {
    const request = at === undefined ? put.call(this, v) : put.call(this, v, at);
    if (at === "cleared") request.addEventListener("success", () => request.transaction?.abort());
    return request;
  };
  const loud = console.error;
  console.error = () => undefined;
  try {
    await link.logout();
  } finally {
    IDBObjectStore.prototype.put = put;
    console.error = loud;
  }
  assert.equal(link.now().user, undefined);
  assert.ok(JSON.stringify(await all()).includes("SECRET"));
  await page().load();
  for (let i = 0; i < 100 && !(await store.meta("cleared")); i++) await new Promise((go) => setTimeout(go, 10));
  assert.ok(!JSON.stringify(await all()).includes("SECRET"));
});

test("a reply that was on its way is not kept after a log-out, and the next log-in gets everything", async () => {
  for (let i = 0; i < 9; i++) await office.wrote(newId(), "visit", { note: `SECRET ${i}` });
  let open: () => void = () => undefined;
  office.gate = new Promise((go) => {
    open = go;
  });
  const running = link.sync();
  await new Promise((go) => setTimeout(go, 20));
  const leaving = link.logout();
  setTimeout(open, 20);
  await Promise.all([running, leaving]);
  assert.ok(!JSON.stringify(await all()).includes("SECRET"));
  assert.equal((await store.meta("link"))?.cursor, 0);
  await link.login("ada", "right");
  await link.sync();
  assert.deepEqual([link.now().problem, await store.count("visit")], [undefined, 10]);
});

test("another person who logs in where a log-in was over finds unsent work only", async () => {
  office.line = false;
  await note("unsent");
  office.line = true;
  await link.login("bram", "right"); // as the page allows while Ada's log-in is over
  const text = JSON.stringify(await all());
  assert.ok(!text.includes("SECRET") && text.includes("unsent"));
  assert.deepEqual(await others(), [["Ada Vell", 1]]);
});

test("what was typed and not kept waits for its author", async () => {
  localStorage.setItem("draft v note", "half a sentence");
  await link.logout();
  assert.equal(localStorage.getItem("draft v note"), null);
  await link.login("bram", "right");
  assert.equal(localStorage.getItem("draft v note"), null);
  await link.logout();
  await link.login("ada", "right");
  assert.equal(localStorage.getItem("draft v note"), "half a sentence");
});

test("an account that has ended: its work is handed over, and nothing stays", async () => {
  office.line = false;
  await note("written before the account ended");
  const owed = await photo("of somebody else");
  office.line = true;
  office.ended.add(ada.id);
  await link.sync();
  assert.deepEqual([link.now().problem, link.now().user], ["ended", undefined]);
  assert.equal(office.aside.length, 1);
  const text = JSON.stringify(await all());
  assert.ok(!text.includes("SECRET") && !text.includes("written before") && !text.includes("Ada Vell"));
  assert.ok(await store.blob(owed), "a photo that the office did not take stays");
});

test("a log-in that is over leaves the device as it is", async () => {
  office.cookie = undefined;
  const later = page();
  await later.load();
  await later.sync();
  assert.equal(later.now().problem, "login");
  assert.equal(await noted(gauge), "SECRET note");
});

test("what a restored office was still to be offered is unsent", async () => {
  await note("sent, and lost by a restore");
  await link.sync();
  office.journal = office.journal.filter((c) => c.author !== ada.id);
  office.epoch = "e2";
  await store.queueAgain({ store: "s", epoch: "e2", root: "", cursor: 0 }); // the line breaks after that
  await link.logout();
  await link.login("bram", "right");
  assert.deepEqual(await others(), [["Ada Vell", 1]]);
  await link.sync();
  assert.deepEqual(await others(), [["Ada Vell", 1]], "the office has been asked, and lacks it");
  await link.logout();
  await link.login("ada", "right");
  await link.sync();
  assert.ok(office.journal.some((c) => c.author === ada.id));
});

test("a part of the plant that was held goes too, and its records that come back make no copy", async () => {
  const { record } = await note("sent");
  await link.sync();
  const place = { store: "s", epoch: "e", root: "", cursor: 5, scope: "" };
  const hold = async () => {
    await begun(place, [gauge]);
    const states = [await store.record(record.id)].flatMap((s) => (s ? [s] : []));
    return { states, reply: { ...place, groups: [], given: "" } as never };
  };
  const { states, reply } = await hold();
  await takeUnits([{ unit: gauge, states, given: "" } as never], reply);
  await takeEntries([{ id: newId(), site: plant, set: { tag: "SECRET" } }], 0, false);
  await complete();
  const device = (await store.meta("device"))?.id;
  await link.logout();
  assert.deepEqual([(await all())["held"], (await all())["register"], await store.meta("hold")], [[], [], undefined]);
  await link.login("ada", "right");
  await begun(place, [gauge]);
  assert.ok(await takeUnits([{ unit: gauge, states, given: "" } as never], reply));
  assert.equal((await store.meta("device"))?.id, device);
});

test("the key that signs for a person stays", async () => {
  const value = { name: "Ada Vell" };
  await prove({ by: ada.id, field: "signature", record: newId(), value });
  await link.sync();
  const key = await keyOf(ada.id);
  assert.ok(key !== "");
  await link.logout();
  assert.equal(await keyOf(ada.id), key);
  await link.login("ada", "right");
  await link.sync();
  const { proof, made } = await prove({ by: ada.id, field: "signature", record: newId(), value });
  assert.deepEqual([proof !== undefined, made, await keyOf(ada.id)], [true, false, key]);
});

test("clearing does nothing while somebody is logged in", async () => {
  await clear();
  assert.equal(await noted(gauge), "SECRET note");
});
