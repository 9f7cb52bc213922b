import * as store from "../store/store";
import type { LoginReply, Place, SyncReply, SyncRequest, User } from "../wire/api";
import { newId } from "../wire/records";
import { build } from "./build";
import { press } from "../store/press";
import { LinkError, type Problem, readJson, readReply } from "./reply";
import { Channel, locks, one } from "./tabs";

export { LinkError, type Problem };

export type LinkState = {
  running: boolean;
  problem: Problem | undefined;
  last: number | undefined;
  user: User | undefined;
  whole: boolean;
};

type Outside = { fetch: typeof fetch; now: () => number };

/** What this program speaks with the office: sync/link/limits.go lists the numbers. */
const protocol = 2;
/**
 * Most changes sent and asked for in one request, and most characters sent: what a weak line loses
 * when it breaks.
 */
const piece = 200;
const pieceSize = 1 << 20;
const pullPiece = 500;
const firstKinds = ["site", "person", "instrument", "standard", "method", "round"];
const mostFirst = 50;
const patience = 30_000;
const calm = 60_000;
const firstWait = 4_000;
const longestWait = 300_000;

/** Link exchanges changes and photos with the office and keeps the login. */
export class Link {
  private access: string | undefined;
  private refreshing: Promise<void> | undefined;
  private syncing: Promise<void> | undefined;
  private again = false;
  private session = 0; // counts log-ins and log-outs: what was asked in one is not sent in another
  private leaving: Promise<void> | undefined;
  private leaveTimer: ReturnType<typeof setTimeout> | undefined;
  private presses = false; // the office takes gzip
  private ended = false; // the office gives no further token for this log-in
  private wait = firstWait;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private started = false;
  private readonly listeners = new Set<(s: LinkState) => void>();
  private state: LinkState = { running: false, problem: undefined, last: undefined, user: undefined, whole: true };
  private readonly outside: Outside;
  private tabs: Channel<Partial<LinkState> | "user"> | undefined;

  constructor(outside: Outside) {
    this.outside = outside;
  }

  /** now gives the state for display. */
  now(): LinkState {
    return this.state;
  }

  /** subscribe calls fn when the state changes. */
  subscribe(fn: (s: LinkState) => void): () => void {
    this.listeners.add(fn);
    return () => this.listeners.delete(fn);
  }

  private set(part: Partial<LinkState>, away = true): void {
    this.state = { ...this.state, ...part };
    for (const fn of this.listeners) fn(this.state);
    if (!away) return;
    // Who works here is read from the device, where it was written before.
    if ("user" in part) this.tabs?.tell("user");
    else this.tabs?.tell(part);
  }

  /** load reads who works on this device; no connection is needed for it. */
  async load(): Promise<void> {
    const [user, last, whole, presses] = await Promise.all([
      store.meta("user"),
      store.meta("lastSync"),
      store.meta("whole"),
      store.meta("presses"),
    ]);
    this.presses = presses === true;
    if (user === undefined) this.access = undefined; // logged out in another tab
    this.set({ user, last: last === undefined ? undefined : Date.parse(last), whole: whole === true }, false);
  }

  /**
   * login takes a name and a password, and what else the office asked for. Refuses: LinkError
   * `login` when they are wrong or do not suffice.
   */
  async login(name: string, password: string, more: { code?: string; new?: string } = {}): Promise<void> {
    await this.enter("/api/login", { name, password, ...more });
  }

  /** enter logs in by what one of the office's ways in asks for. Refuses: as login. */
  async enter(path: string, body: unknown): Promise<void> {
    await this.take(await this.send(path, { method: "POST", body: JSON.stringify(body) }));
    this.set({ problem: undefined });
    this.nudge();
  }

  /** guest asks one of the office's ways in something, before anybody is logged in. */
  async guest(path: string, body?: unknown): Promise<unknown> {
    const init = body === undefined ? {} : { method: "POST", body: JSON.stringify(body) };
    return readJson(await this.send(path, init));
  }

  /**
   * logout ends the login; what is kept on the device stays. Without a line it is noted, and
   * reported to the office before anything else is asked of it.
   */
  async logout(): Promise<void> {
    this.access = undefined;
    this.session++;
    await store.putMeta("leaving", true);
    for (const note of ["user", "access", "refused"] as const) await store.putMeta(note, undefined);
    this.set({ user: undefined });
    await this.left().catch(() => this.leaveLater());
  }

  /**
   * left ends at the office a login that was ended here. Refuses: LinkError while the office does
   * not hear of it.
   */
  private async left(): Promise<void> {
    if ((await store.meta("leaving")) !== true) return;
    this.leaving ??= (async () => {
      try {
        const init = {
          method: "POST",
          body: "{}",
          headers: { "content-type": "application/json" },
          credentials: "same-origin" as const,
        };
        const answer = await this.outside
          .fetch("/api/logout", { ...init, cache: "no-store", signal: AbortSignal.timeout(patience) })
          .catch((e: unknown) => {
            throw new LinkError("offline", 0, "", e instanceof Error ? e.message : "offline");
          });
        // A network's own page may answer with 200; the office has nothing to say.
        if (answer.status !== 204) throw new LinkError(answer.ok ? "portal" : "server", answer.status);
        await store.putMeta("leaving", undefined);
      } finally {
        this.leaving = undefined;
      }
    })();
    await this.leaving;
  }

  private leaveLater(): void {
    if (!this.started) return;
    clearTimeout(this.leaveTimer);
    this.leaveTimer = setTimeout(() => void this.left().catch(() => this.leaveLater()), calm);
  }

  private async take(response: Response): Promise<void> {
    const reply = (await readJson(response)) as LoginReply;
    if (typeof reply.access !== "string" || typeof reply.user?.id !== "string") throw new LinkError("portal");
    if (reply.user.id !== this.state.user?.id) {
      this.session++;
      await store.putMeta("refused", undefined);
    }
    this.access = reply.access;
    this.ended = false;
    await store.putMeta("user", reply.user);
    await store.putMeta("names", {
      ...(await store.meta("names")),
      [reply.user.id]: reply.user.full || reply.user.name,
    });
    await store.putMeta("access", reply.access);
    this.set({ user: reply.user });
  }

  /** renew goes on with an earlier login of this browser. Refuses: LinkError when there is none. */
  renew(): Promise<void> {
    return this.refresh();
  }

  private refresh(): Promise<void> {
    this.refreshing ??= (async () => {
      const { session } = this;
      try {
        const reply = await this.send("/api/refresh", { method: "POST", body: "{}" });
        if (session !== this.session) throw new LinkError("login");
        await this.take(reply);
      } catch (e) {
        this.ended ||= e instanceof LinkError && e.problem === "login" && session === this.session;
        throw e;
      } finally {
        this.refreshing = undefined;
      }
    })();
    return this.refreshing;
  }

  /**
   * renewed gets an access token; for handing work over, the last one does where the office gives
   * no further one.
   */
  private async renewed(handing: boolean): Promise<void> {
    try {
      await this.refresh();
    } catch (e) {
      const last = handing && e instanceof LinkError && e.problem === "login" ? await store.meta("access") : undefined;
      if (last === undefined) throw e;
      this.access = last;
    }
  }

  private async send(path: string, init: RequestInit, ready: () => void = () => undefined): Promise<Response> {
    await this.left();
    ready();
    const headers = new Headers(init.headers);
    if (typeof init.body === "string" && !headers.has("content-type")) headers.set("content-type", "application/json");
    if (this.access !== undefined) headers.set("authorization", `Bearer ${this.access}`);
    try {
      return await this.outside.fetch(path, {
        ...init,
        headers,
        credentials: "same-origin",
        cache: "no-store",
        signal: init.signal ?? AbortSignal.timeout(patience),
      });
    } catch (e) {
      throw new LinkError("offline", 0, "", e instanceof Error ? e.message : "offline");
    }
  }

  /** request sends one request with the login, renewing it once when it has run out. */
  async request(path: string, init: RequestInit = {}): Promise<Response> {
    const { session } = this;
    const same = () => {
      if (session !== this.session) throw new LinkError("login");
    };
    if (this.access === undefined) await this.renewed(path === "/api/sync" || path.startsWith("/api/blobs/"));
    let response = await this.send(path, init, same);
    if (response.status === 401) {
      same();
      this.access = undefined;
      await this.refresh();
      response = await this.send(path, init, same);
    }
    return response;
  }

  /** json asks the office's API and gives its reply. Refuses: LinkError with the office's code. */
  async json(path: string, init: RequestInit = {}): Promise<unknown> {
    const response = await this.request(path, init);
    return response.status === 204 ? undefined : readJson(response);
  }

  /** sync exchanges everything once; a call during a running one makes it look again at the end. */
  sync(): Promise<void> {
    if (this.syncing) {
      this.again = true;
      return this.syncing;
    }
    this.syncing = one(async () => {
      this.set({ running: true });
      await this.exchange();
    }).then(
      (here) => this.finished(undefined, here),
      (e: unknown) => this.finished(e),
    );
    return this.syncing;
  }

  private async finished(e: unknown, here = true): Promise<void> {
    this.syncing = undefined;
    if (!here) {
      // Another tab does it, and reports how it goes.
    } else if (e === undefined) {
      this.wait = firstWait;
      this.set({ running: false, problem: undefined });
    } else {
      const problem = e instanceof LinkError ? e.problem : "storage";
      this.set({ running: false, problem });
    }
    const delay = e === undefined ? calm : this.wait;
    if (e !== undefined) this.wait = Math.min(this.wait * 2, longestWait);
    if (this.again && e === undefined) {
      this.again = false;
      await this.sync();
      return;
    }
    this.again = false;
    if (this.started) {
      clearTimeout(this.timer);
      // Spread out, so that a plant's phones do not all return in the same second.
      this.timer = setTimeout(() => void this.sync(), delay * (0.75 + Math.random() / 2));
    }
  }

  private async exchange(): Promise<void> {
    if (this.state.user === undefined) throw new LinkError("login");
    const device = await store.meta("device");
    if (!device) throw new LinkError("storage");
    let stuck = 0;
    let id = device.id;
    let most = piece;
    let brought = false; // what a restored office lacks, once: its silence holds nothing up
    // The answer to a question put before the one before it was merged: the line and the device
    // work at the same time.
    let early: { place: Place; reply: Promise<SyncReply> } | undefined;
    for (let all = false; !all; ) {
      id = (await store.meta("device"))?.id ?? id;
      const place: Place = { store: "", epoch: "", root: "", cursor: 0, scope: "", ...(await store.meta("link")) };
      const back = await store.meta("back");
      if (back && back.at < back.to && !brought) {
        brought = true;
        await this.giveBack(id, place);
      }
      await store.offerMore(piece);
      const changes = await store.waiting(most, pieceSize);
      if (place.cursor === 0 && !this.state.whole && changes.length === 0) await this.first(id, place);
      const usable =
        early !== undefined &&
        early.place.cursor === place.cursor &&
        early.place.root === place.root &&
        changes.length === 0;
      if (early && !usable) await early.reply.catch(() => undefined); // one question at a time, so that nobody takes this for two devices
      const reply = await (usable && early ? early.reply : this.ask(id, place, changes)).catch((e: unknown) => {
        // Too much for the office, or for a proxy in front of it: half of it may not be.
        if (!(e instanceof LinkError) || e.status !== 413 || changes.length < 2) throw e;
        most = changes.length >> 1;
        return undefined;
      });
      early = undefined;
      if (!reply) continue;
      const scope = reply.scope ?? "";
      const here: Place = {
        store: reply.store,
        epoch: reply.epoch ?? "",
        root: reply.root ?? "",
        cursor: reply.cursor,
        scope,
      };
      if (reply.twin === true) await store.fork();
      if (place.store !== "" && (reply.again === true || here.store !== place.store || here.epoch !== place.epoch)) {
        await store.queueAgain({ ...here, root: "", cursor: 0 });
        if (++stuck > 3) throw new LinkError("server");
        continue;
      }
      if (scope !== (place.scope ?? "")) {
        // Other sites than before: what is no longer given goes, and all that is comes from the
        // beginning.
        await store.putMeta("sites", reply.sites);
        if (reply.sites) await store.keepSites(reply.sites);
        await store.putMeta("whole", undefined);
        await store.forgetGiven(true);
        this.set({ whole: false });
      }
      if (reply.more && changes.length === 0 && reply.twin !== true) {
        early = { place: here, reply: this.ask(id, here, []) };
        early.reply.catch(() => undefined); // reported when it is waited for
      }
      const acknowledged = reply.acknowledged ?? [];
      const quarantined = reply.quarantined ?? [];
      const refused = reply.refused === undefined ? undefined : { name: reply.refused, list: reply.refusals ?? [] };
      const said = reply.given && reply.text ? { sign: reply.given, text: reply.text } : undefined;
      await store.receive(reply.changes ?? [], here, { acknowledged, quarantined, refused }, said);
      await this.heard(!reply.more);
      // Refused when the account has ended, which the person sees at the end: the office puts
      // all the work aside, and the photos of it.
      if (quarantined.length > 0) await this.refresh().catch((e: unknown) => this.ended || Promise.reject(e));
      const moved = acknowledged.length + quarantined.length > 0;
      if (changes.length > 0 && !moved) throw new LinkError(reply.newer ? "newer" : "server");
      if (reply.more || (changes.length > 0 && (await store.waiting(1)).length > 0)) continue;
      if (!(await store.offering())) await this.doubts(id, here);
      await this.photos();
      if (!(await store.nextGiven())) await store.forgetGiven();
      await store.finishRebuild();
      all = (await store.waiting(1)).length === 0 && !(await store.offering()); // something may have been written meanwhile
    }
    // What stayed because there was unsent work on it may go now.
    const sites = await store.meta("sites");
    if (sites) {
      await store.keepSites(sites);
      await store.putMeta("sites", undefined);
    }
    if (this.ended) throw new LinkError("login");
  }

  /**
   * doubts asks whether the office still has what it had of other people, so that only what it
   * lacks waits for their log-in.
   */
  private async doubts(device: string, place: Place): Promise<void> {
    for (let ids = await store.doubtful(pullPiece); ids.length > 0; ids = await store.doubtful(pullPiece)) {
      const reply = await this.ask(device, place, [], { has: ids, limit: 1 });
      await store.settleDoubt(ids, reply.had ?? []);
    }
  }

  /** giveBack is for others: its failure at the office must not keep a person's own work here. */
  private async giveBack(device: string, place: Place): Promise<void> {
    const { giveBack } = await import("./back");
    try {
      await giveBack((more, raw) => this.ask(device, place, [], more, raw));
    } catch (e) {
      if (!(e instanceof LinkError) || e.problem !== "server") throw e;
      console.error(e);
    }
  }

  private async ask(
    device: string,
    place: Place,
    changes: SyncRequest["changes"],
    more: Partial<SyncRequest> = {},
    raw = "",
  ): Promise<SyncReply> {
    const nonce = newId();
    const q = await store.queue();
    const about = {
      wall: new Date(this.outside.now()).toISOString(),
      version: build(),
      waiting: q.others.reduce((sum, o) => sum + o.count, q.count),
      photos: q.photos,
      oldest: q.oldest === undefined ? "" : new Date(q.oldest).toISOString(),
      was: (await store.meta("was")) ?? "",
    };
    // Without locks two tabs may ask at once, and would be taken for two devices.
    const last = locks() ? { last: (await store.meta("heard")) ?? "" } : {};
    const brief = changes.length === 0 && Object.keys(more).length === 0;
    const refused = (await store.meta("refused")) ?? "?";
    const asked: SyncRequest = {
      ...place,
      protocol,
      nonce,
      device,
      changes,
      limit: pullPiece,
      ...more,
      ...(brief ? { brief } : {}),
      ...last,
      refused,
      about,
    };
    const said = await this.post(`${JSON.stringify(asked).slice(0, -1)}${raw}}`);
    const nothing = { ...place, acknowledged: [], quarantined: [], changes: [], more: false, time: "" };
    const reply = (said.same === true && brief ? { ...nothing, ...said } : said) as SyncReply;
    // A page that logs people into a network also answers, with anything; only the office knows the
    // nonce.
    if (reply.nonce !== nonce) throw new LinkError("portal");
    if (reply.twin !== true) await store.heard(nonce);
    return reply;
  }

  /** post sends a request of the exchange, in gzip to an office that takes it. */
  private async post(text: string): Promise<Partial<SyncReply>> {
    const path = "/api/sync";
    const small = this.presses ? await press(text) : undefined;
    if (small) {
      const response = await this.request(path, {
        method: "POST",
        body: small,
        headers: { "content-type": "application/json", "content-encoding": "gzip" },
      });
      if (response.status !== 400 && response.status !== 415) return readReply(response);
      await this.pressing(false); // an older one, which a backup of the program brought back; if not, the text is refused as well
    }
    const response = await this.request(path, { method: "POST", body: text });
    const takes = (response.headers.get("accept-encoding") ?? "").includes("gzip");
    if (response.ok && takes && !small) await this.pressing(true);
    return readReply(response);
  }

  private async pressing(on: boolean): Promise<void> {
    if (this.presses === on) return;
    this.presses = on;
    await store.putMeta("presses", on || undefined);
  }

  /**
   * first fetches what a day begins with, before the years of visits: the cursor stays where it is,
   * everything comes by again in its turn.
   */
  private async first(device: string, place: Place): Promise<void> {
    for (let from = place, n = 0; n < mostFirst; n++) {
      const reply = await this.ask(device, from, [], { kinds: firstKinds });
      if (reply.again === true) return;
      await store.receive(reply.changes ?? [], place, { acknowledged: [], quarantined: [] });
      if (!reply.more) return;
      from = {
        store: reply.store,
        epoch: reply.epoch ?? "",
        root: reply.root ?? "",
        cursor: reply.cursor,
        scope: reply.scope ?? "",
      };
    }
  }

  private async heard(end: boolean): Promise<void> {
    const at = this.outside.now();
    await store.putMeta("lastSync", new Date(at).toISOString());
    if (end && !this.state.whole) await store.putMeta("whole", true);
    this.set({ last: at, whole: end || this.state.whole });
  }

  private async photos(): Promise<void> {
    let refused = 0;
    const waiting = await store.unsentPhotos();
    if (waiting.length === 0) return;
    const { bring } = await import("./pieces");
    for (const sha256 of waiting) {
      const path = `/api/blobs/${sha256}`;
      const there = await this.request(path, { method: "HEAD" });
      if (!there.ok) {
        if (there.status !== 404) throw new LinkError("server", there.status);
        const body = await store.blob(sha256);
        if (!body) continue;
        const put = await bring(there, body, (init) => this.request(path, init));
        if (!put.ok) {
          refused = put.status;
          continue; // one photo must not hold up the others
        }
      }
      await store.photoSent(sha256);
    }
    if (refused !== 0) throw new LinkError("server", refused);
  }

  /** nudge syncs soon after something was written, or at once when a person asks for it. */
  nudge(): void {
    this.wait = firstWait;
    if (this.started && this.state.user) void this.sync();
    else if (this.started) void this.left().catch(() => this.leaveLater());
  }

  /**
   * start attaches the moments at which the link tries: now, coming back to the page, the line
   * coming back, every write, a timer.
   */
  start(): void {
    if (this.started) return;
    this.started = true;
    this.tabs = new Channel("gaugewright-link", (news) => {
      if (news !== "user") this.set(news, false);
      else this.load().catch((e: unknown) => console.error(e));
    });
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.nudge());
    globalThis.addEventListener("online", () => this.nudge());
    globalThis.addEventListener("offline", () => this.nudge()); // so that the sign on top says so at once
    let soon: ReturnType<typeof setTimeout> | undefined;
    store.subscribe((notice) => {
      if (this.state.running || notice.records.length === 0) return;
      clearTimeout(soon);
      soon = setTimeout(() => this.state.problem === undefined && this.nudge(), 1_500);
    });
    this.nudge();
    import("./news").then((m) => m.follow(this)).catch(console.error);
  }
}

/** link is the page's one link. */
export const link = new Link({ fetch: (input, init) => fetch(input, init), now: () => Date.now() });

/**
 * ask calls the office's API with the login and gives its JSON reply, for screens that need a
 * connection.
 */
export function ask(path: string, init?: RequestInit): Promise<unknown> {
  return link.json(path, init);
}
