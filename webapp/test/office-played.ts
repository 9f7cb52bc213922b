import assert from "node:assert/strict";
import { Link } from "../src/link/link";
import * as store from "../src/store/store";
import type { SyncRequest } from "../src/wire/api";
import type { Change, RecordState } from "../src/wire/records";

// The link does not look into records, so a draft that only numbers changes is enough here.
export async function plainCalc(name: string, doc: unknown) {
  if (name === "sync/settle") return { records: [], count: 0 } as never;
  assert.equal(name, "sync/draft");
  const d = doc as { id: string; seq: number; count: number; change_id: string; kind: string };
  const change = {
    v: 1,
    id: d.change_id,
    seq: d.seq,
    record: d.id,
    kind: d.kind,
    wall: "2026-03-01T08:00:00.000Z",
    stamp: "",
    set: [],
  };
  const record: RecordState = { id: d.id, kind: d.kind, site: "", parent: "", fields: {} };
  return { change, record, count: d.count + 1 } as never;
}

export const user = { id: "u1", name: "Ada", role: "technician" as const, sites: [] };
export const json = (body: unknown, status = 200) =>
  new Response(JSON.stringify(body), { status, headers: { "content-type": "application/json; charset=utf-8" } });
export const login = (who = user) => json({ access: "token", expires: 0, user: who });

/** An office that keeps what it receives. */
export class Office {
  /** Who logs in. */
  user = user;
  store = "store-1";
  epoch = "epoch-1";
  /** The place it expects; undefined takes any. */
  root: string | undefined;
  readonly kept = new Map<string, Change>();
  arrivals = 0;
  asked: string[] = [];
  nonce = "";
  before: (path: string, body: string) => Response | Promise<Response | undefined> | undefined = () => undefined;
  after: (path: string, reply: Response) => Response = (_path, reply) => reply;
  blobs: (path: string, init?: RequestInit) => Promise<Response | undefined> = async () => undefined;
  /** For requests that came in gzip: their length, and that of the text. */
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
    if (path === "/api/login" || path === "/api/refresh") return login(this.user);
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

export async function setUp() {
  const office = new Office();
  await store.putMeta("user", user);
  const link = new Link({ fetch: office.fetch as typeof fetch, now: () => 1_700_000_000_000 });
  await link.load();
  return { office, link };
}

export const write = () => store.commit({ kind: "visit", site: "", parent: "", set: [{ field: "note", value: "x" }] });
