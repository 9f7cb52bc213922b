import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { beforeEach, test } from "node:test";
import { Machine } from "../src/calcworker/wasi";
import { Link } from "../src/link/link";
import { alone } from "../src/store/alone";
import { drop, held, takeUnits, toDrop } from "../src/store/held";
import { entry } from "../src/store/here";
import type { Held } from "../src/store/schema";
import * as store from "../src/store/store";
import type { HoldReply, SyncReply, SyncRequest } from "../src/wire/api";
import { type Change, type Json, newId, type RecordState, text, value } from "../src/wire/records";
import { json } from "./office-played";

const machine = new Machine(await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url))));
const calc = async (name: string, doc: unknown): Promise<Json> => {
  const reply = JSON.parse(machine.call(name, JSON.stringify(doc)));
  assert.equal(reply.error, undefined, JSON.stringify(reply.error));
  return reply;
};

const user = { id: newId(), name: "Ada", role: "technician" as const, sites: [] };
const office = { id: newId(), seq: 0 };

/** A change by the office to a record that it knows, and the record with it. */
async function made(kind: string, parent: string, set: { [field: string]: Json }, before?: RecordState) {
  const drafted = (await calc("sync/draft", {
    record: before ?? null,
    id: before?.id ?? newId(),
    kind,
    site: "",
    parent,
    device: office.id,
    seq: ++office.seq,
    author: office.id,
    wall: new Date(1_700_000_000_000).toISOString(),
    wall_ms: 1_700_000_000_000,
    count: 40 + office.seq,
    change_id: newId(),
    set: Object.entries(set).map(([field, v]) => ({ field, value: v })),
  })) as unknown as { change: Change; record: RecordState };
  return drafted;
}

/** An office that gives parts: records by unit, and a journal of what came after the beginning. */
class Parts {
  units = new Map<string, RecordState[]>();
  base: RecordState[] = [];
  planned: string[] = [];
  journal: Change[] = []; // from entry 101 on
  entries: { id: string; site: string; set: { [f: string]: Json } }[] = [];
  lists = new Map<string, string[]>();
  asked: { path: string; body: SyncRequest & { part?: string; units?: string[]; from?: number } }[] = [];
  kept: string[] = [];
  epoch = "e1";
  rounds: RecordState[] = [];
  none = false; // it has no parts
  older = false; // it gives the rounds only with the rest of the base
  cut: string | undefined; // the part at which the line breaks
  meanwhile: () => Promise<void> = async () => undefined;

  place() {
    return {
      store: "s",
      epoch: this.epoch,
      root: `root-${this.journal.length}`,
      cursor: 100 + this.journal.length,
      scope: "",
    };
  }

  readonly fetch = async (input: unknown, init?: RequestInit): Promise<Response> => {
    const path = String(input);
    if (path === "/api/login" || path === "/api/refresh") return json({ access: "token", expires: 0, user });
    const raw = init?.body;
    const body = JSON.parse(typeof raw === "string" ? raw : "{}");
    this.asked.push({ path, body });
    if (path === "/api/hold") {
      if (body.part === this.cut) throw new TypeError("network error");
      return json({ ...this.place(), count: "90", ...this.part(body) });
    }
    const reply = this.sync(body as SyncRequest);
    const meanwhile = this.meanwhile;
    this.meanwhile = async () => undefined;
    await meanwhile();
    return json(reply);
  };

  part(body: { part: string; rounds?: boolean; units?: string[]; from?: number }) {
    const group = (unit: string, states: RecordState[]) => ({ unit, given: "signed", states: structuredClone(states) });
    if (body.part === "base" && body.rounds && !this.older)
      return { wanted: this.planned, groups: [group("", this.rounds)], more: true };
    if (body.part === "base") return { wanted: this.planned, groups: [group("", [...this.base, ...this.rounds])] };
    if (body.part === "plan") return { wanted: this.planned };
    if (body.part === "register") {
      const piece = this.entries.slice(body.from, (body.from ?? 0) + 2);
      const next = (body.from ?? 0) + 2;
      return { entries: piece, next: next < this.entries.length ? next : 0, all: this.entries.length };
    }
    const [one, ...left] = body.units ?? [];
    const states = this.units.get(one ?? "");
    return { groups: states ? [group(one as string, states)] : [], left };
  }

  sync(ask: SyncRequest): SyncReply {
    this.kept.push(...ask.changes.map((c) => c.id));
    const acknowledged = ask.changes.map((c) => c.id);
    const said = { nonce: ask.nonce, more: false, acknowledged, quarantined: [], changes: [] as Change[], time: "" };
    const still = { ...said, ...this.place(), cursor: ask.store === "" ? 0 : ask.cursor, root: ask.root };
    if (ask.store !== "" && ask.epoch !== this.epoch) return { ...still, again: true, cursor: 0, more: true };
    if (this.none) return { ...said, ...this.place(), changes: ask.cursor === 0 ? this.journal : [] };
    const hold = ask.hold ?? { name: "" };
    if (hold.name === "") return { ...still, part: { begin: true } };
    if (hold.units) this.lists.set(hold.name, hold.units);
    const units = this.lists.get(hold.name);
    if (!units) return { ...still, part: { send: true } };
    const changes = this.journal
      .slice(Math.max(0, ask.cursor - 100))
      .filter((c) => units.includes(c.record) || units.includes(c.parent));
    return { ...said, ...this.place(), changes, part: { wanted: this.planned.filter((id) => !units.includes(id)) } };
  }

  /** adds makes an instrument of a unit with a visit. */
  async adds(tag: string) {
    const top = (await made("instrument", "", { tag, label: `l-${tag}`, range: { low: "0", high: "10", unit: "bar" } }))
      .record;
    const visit = (await made("visit", top.id, { instrument: top.id, note: "first" })).record;
    this.units.set(top.id, [top, visit]);
    this.entries.push({ id: top.id, site: "", set: { tag, label: `l-${tag}` } });
    return { top, visit };
  }
}

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `hold-${serial++}`, calc });
  await store.putMeta("user", user);
});

async function phone(parts: Parts) {
  const link = new Link({ fetch: parts.fetch as typeof fetch, now: () => Date.now() });
  await link.load();
  return link;
}

const tags = async (search: string) => {
  const found: string[] = [];
  await store.lookUp(search, 99, (so) => {
    found.splice(0, found.length, ...so.rows.map((r) => `${r.tag}${r.part ? "*" : ""}`));
    return true;
  });
  return found;
};

async function begun() {
  const parts = new Parts();
  const [a, b, c] = [await parts.adds("PI-1"), await parts.adds("PI-2"), await parts.adds("PI-3")];
  parts.base = [(await made("method", "", { name: "usual" })).record];
  parts.planned = [b.top.id];
  const link = await phone(parts);
  await link.sync();
  return { parts, link, a, b, c };
}

test("a phone of a large plant takes the base, the units of its days and the register, and replays nothing", async () => {
  const { parts, link, a, b } = await begun();
  assert.deepEqual([link.now().problem, link.now().whole], [undefined, true]);
  assert.deepEqual(await tags(""), ["PI-1*", "PI-2", "PI-3*"]);
  assert.deepEqual((await store.byKind("method")).length, 1);
  assert.equal(text(await store.record(b.visit.id), "note"), "first");
  assert.equal(await store.record(a.top.id), undefined);
  assert.equal((await entry("l-PI-3"))?.tag, "PI-3");
  assert.deepEqual((await store.meta("link"))?.cursor, 100);
  assert.equal((await held())[0]?.given, "signed");
  assert.equal((await store.meta("device"))?.count, 90);
  assert.ok(parts.asked.filter((x) => x.path === "/api/sync").every((x) => x.body.changes.length === 0));
});

test("the rounds and the next day's instruments come first, or with the base from an older office", async () => {
  for (const older of [false, true]) {
    await store.destroy(`hold-${serial}`);
    await store.open({ name: `hold-${serial++}`, calc });
    await store.putMeta("user", user);
    const parts = new Parts();
    const { top } = await parts.adds("PI-1");
    parts.older = older;
    parts.planned = [top.id];
    parts.base = [(await made("method", "", { name: "usual" })).record];
    parts.rounds = [(await made("round", "", { date: "2026-03-04", person: user.id })).record];
    const link = await phone(parts);
    const seen: string[] = [];
    const end = store.subscribe((n) => seen.push(...n.kinds.filter((k) => ["round", "method"].includes(k))));
    await link.sync();
    end();
    assert.equal(link.now().problem, undefined);
    const asked = parts.asked.map((x) => x.body.part ?? "exchange");
    const usual = older
      ? ["exchange", "base", "units", "register", "exchange"]
      : ["exchange", "base", "units", "base", "register", "exchange"];
    assert.deepEqual(asked.slice(0, usual.length), usual);
    assert.deepEqual([...new Set(seen)], older ? ["method", "round"] : ["round", "method"]);
    assert.equal((await store.byKind("method")).length, 1);
  }
});

test("the next unit is on the line while the one before is being kept", async () => {
  const { parts, a, c } = await begun();
  const { fetchUnits } = await import("../src/link/hold");
  const asked: string[][] = [];
  let second: () => void = () => undefined;
  const both = new Promise<boolean>((done) => {
    second = () => done(true);
    setTimeout(done, 2_000, false);
  });
  const busy = alone(() => both); // nothing can be kept until then
  const came = fetchUnits(
    async (path, init) => {
      asked.push(JSON.parse(String(init.body)).units);
      if (asked.length === 2) second();
      return (await parts.fetch(path, init)).json();
    },
    [a.top.id, c.top.id],
  );
  assert.equal(await both, true, "it waited for the one before");
  await busy;
  assert.equal(await came, 2);
  assert.deepEqual(asked, [[a.top.id, c.top.id], [c.top.id]]);
  assert.ok((await store.record(a.top.id)) && (await store.record(c.top.id)));
});

test("changes after the beginning are merged into held records, and a sent list is not sent again", async () => {
  const { parts, link, b } = await begun();
  const later = await made("visit", b.top.id, { note: "second" }, b.visit);
  parts.journal.push(later.change);
  await link.sync();
  assert.equal(text(await store.record(b.visit.id), "note"), "second");
  assert.equal(parts.asked.filter((x) => x.body.hold?.units).length, 1);
});

test("units fetched while a reply is on its way lose no change that the reply left out", async () => {
  const { parts, link, a } = await begun();
  const later = await made("visit", a.top.id, { note: "second" }, a.visit);
  const { fetchUnits } = await import("../src/link/hold");
  parts.meanwhile = async () => {
    // The reply was made without the unit, which is fetched before the reply comes, in its state
    // before a change.
    await fetchUnits(async (path, init) => (await parts.fetch(path, init)).json(), [a.top.id]);
  };
  const before = parts.place();
  const plain = parts.sync.bind(parts);
  parts.sync = (ask) => {
    const reply = plain(ask);
    if (parts.journal.length > 0 || reply.part?.send || reply.part?.begin) return reply;
    parts.journal.push(later.change);
    const so = { ...reply, ...parts.place() };
    parts.place = () => before; // what is fetched meanwhile is in its earlier state
    const whole = Parts.prototype.place.bind(parts);
    setTimeout(() => {
      parts.place = whole;
    }, 0);
    return so;
  };
  await link.sync();
  parts.place = Parts.prototype.place.bind(parts);
  await link.sync();
  assert.equal(text(await store.record(a.visit.id), "note"), "second");
});

test("a unit with own unsent work is merged with it, and the work stays when the unit is dropped", async () => {
  const { parts, link, b, c } = await begun();
  await store.commit({
    record: b.visit.id,
    kind: "visit",
    site: "",
    parent: b.top.id,
    set: [{ field: "mine", value: "x" }],
  });
  const reply = { ...parts.place(), count: "1" } as HoldReply;
  assert.ok(
    await takeUnits([{ unit: b.top.id, given: "g", states: parts.units.get(b.top.id) as RecordState[] }], reply),
  );
  assert.equal(value(await store.record(b.visit.id), "mine"), "x");
  await drop([b.top.id]);
  assert.equal(value(await store.record(b.visit.id), "mine"), "x", "unsent work was dropped");
  await link.sync();
  assert.equal(parts.kept.length, 1);
  await drop([b.top.id]);
  assert.equal(await store.record(b.visit.id), undefined);
  assert.deepEqual(await tags("pi-2"), ["PI-2*"]);
  assert.equal((await store.record(c.top.id)) ?? "none", "none");
});

test("an interrupted beginning continues: it does not request again what came, and work goes out first", async () => {
  const parts = new Parts();
  const units = [await parts.adds("PI-1"), await parts.adds("PI-2")];
  parts.planned = units.map((u) => u.top.id);
  parts.cut = "register";
  const link = await phone(parts);
  await store.commit({ kind: "visit", site: "", parent: "", set: [{ field: "note", value: "x" }] });
  await link.sync();
  assert.equal(link.now().problem, "offline");
  assert.equal(parts.kept.length, 1);
  parts.cut = undefined;
  const so = parts.asked.length;
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.deepEqual(
    parts.asked.slice(so).filter((x) => x.body.part === "units"),
    [],
  );
  assert.deepEqual(await tags(""), ["PI-1", "PI-2"]);
});

test("after a restore everything held comes again, and what the office lost is gone", async () => {
  const { parts, link, b } = await begun();
  parts.epoch = "e2";
  const other = (await made("visit", b.top.id, { instrument: b.top.id, note: "restored" })).record;
  parts.units.set(b.top.id, [b.top, other]);
  parts.entries.pop();
  await link.sync();
  assert.equal(link.now().problem, undefined);
  assert.equal(await store.record(b.visit.id), undefined);
  assert.equal(text(await store.record(other.id), "note"), "restored");
  assert.deepEqual(await tags(""), ["PI-1*", "PI-2"]);
  assert.equal(await store.meta("rebuild"), undefined);
});

test("an office of an earlier version, which has no parts, is asked for everything", async () => {
  const { parts, link, a } = await begun();
  const whole = await made("instrument", "", { tag: "PI-1" });
  parts.none = true;
  parts.journal.push(whole.change);
  await link.sync();
  assert.equal(await store.meta("hold"), undefined);
  assert.ok(await store.record(whole.record.id));
  assert.equal(await store.record(a.top.id), undefined);
});

test("news about records not held here waits for the next exchange; on a device that holds everything none waits", async () => {
  const { concerns } = await import("../src/link/news");
  assert.equal(await concerns({ seq: 1, records: [newId()] }), true);
  const { a, b } = await begun();
  assert.equal(await concerns({ seq: 1, records: [a.top.id, b.visit.id] }), true);
  assert.equal(await concerns({ seq: 1, records: [a.top.id], many: true }), false);
});

test("the longest unused units go first; what is planned, taken along or unsent stays", () => {
  const now = Date.parse("2026-03-04T12:00:00Z");
  const one = (id: string, days: number, more: Partial<Held> = {}): Held => ({
    id,
    used: now - days * 86_400_000,
    bytes: 10,
    place: { store: "s", epoch: "e", root: "", cursor: 1 },
    given: "",
    ...more,
  });
  const list = [
    one("old", 9),
    one("older", 10),
    one("planned", 90),
    one("along", 90, { along: "2026-03-04" }),
    one("past", 5, { along: "2026-03-03" }),
    one("unsent", 90),
    one("now", 0),
  ];
  const kept = { wanted: ["planned"], unsent: new Set(["unsent"]), today: "2026-03-04", now };
  assert.deepEqual(toDrop(list, kept, 70), []);
  assert.deepEqual(toDrop(list, kept, 50), ["older", "old"]);
  assert.deepEqual(toDrop(list, kept, 0), ["older", "old", "past"]);
});
