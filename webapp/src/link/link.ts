import * as store from "../store/store";
import type { LoginReply, Place, SyncReply, SyncRequest, User } from "../wire/api";
import { newId } from "../wire/records";
import { build } from "./build";
import { press } from "../store/press";
import { push, takesTwo } from "./push";
import { either, empty, enter, leave, tellLeft } from "./leave";
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

/** The protocol that this program speaks with the office; sync/link/limits.go lists the numbers. */
const protocol = 3;
/**
 * The most changes sent and requested at once, and the most characters sent: this much is lost if a
 * weak line breaks.
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
const timely = () => AbortSignal.timeout(patience);

/** placeIn gives the place in the journal that a reply names. */
function placeIn(r: SyncReply): Place {
  return { store: r.store, epoch: r.epoch ?? "", root: r.root ?? "", cursor: r.cursor, scope: r.scope ?? "" };
}

/** Link exchanges changes and photos with the office and keeps the log-in. */
export class Link {
  private access: string | undefined;
  private refreshing: Promise<void> | undefined;
  private syncing: Promise<void> | undefined;
  private again = false;
  private readonly api = (path: string, init: RequestInit) => this.json(path, init);
  private session = 0; // counts log-ins and log-outs, so that a request of one log-in is not sent in another
  private leaving: Promise<void> | undefined;
  private emptying: Promise<void> | undefined; // what a log-out leaves is being removed
  private stop = new AbortController(); // ends the requests of a log-in
  private leaveTimer: ReturnType<typeof setTimeout> | undefined;
  private presses = false; // the office takes gzip
  private two = false; // the office takes two requests at a time
  private ended = false; // the office gives no more tokens for this log-in
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
    // The other tabs read who works here from the device, where it is already written.
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
    if (user?.id !== this.state.user?.id) this.ends(); // logged out in another tab
    this.set({ user, last: last === undefined ? undefined : Date.parse(last), whole: whole === true }, false);
    if (user === undefined) this.empties();
  }

  /** ends drops what the page has of a log-in; its requests are of no use any more. */
  private ends(): void {
    this.access = undefined;
    this.session++;
    this.stop.abort();
    this.stop = new AbortController();
  }

  private empties(): void {
    this.emptying = empty(this.syncing).catch((e: unknown) => console.error(e)); // the next start or log-in tries again
  }

  /**
   * login takes a name and a password, and anything else that the office asked for. Refuses:
   * LinkError `login` if they are wrong or not enough.
   */
  async login(name: string, password: string, more: { code?: string; new?: string } = {}): Promise<void> {
    await this.enter("/api/login", { name, password, ...more });
  }

  /** enter logs in through one of the office's other ways. Refuses: as login. */
  async enter(path: string, body: unknown): Promise<void> {
    await this.take(await this.send(path, { method: "POST", body: JSON.stringify(body) }));
    this.set({ problem: undefined });
    this.nudge();
  }

  /** guest sends a request for one of the office's other ways, before anybody is logged in. */
  async guest(path: string, body?: unknown): Promise<unknown> {
    const init = body === undefined ? {} : { method: "POST", body: JSON.stringify(body) };
    return readJson(await this.send(path, init));
  }

  /**
   * logout ends the log-in; only unsent work stays on the device. Without a connection it is noted,
   * and reported to the office before any other request.
   */
  async logout(): Promise<void> {
    this.ends();
    await leave();
    this.set({ user: undefined, last: undefined, whole: false });
    this.empties();
    await Promise.all([this.emptying, this.left().catch(() => this.leaveLater())]);
  }

  /**
   * left tells the office that a log-in ended here. Refuses: LinkError until the office hears it.
   */
  private async left(): Promise<void> {
    if ((await store.meta("leaving")) !== true) return;
    this.leaving ??= (async () => {
      try {
        await tellLeft(this.outside.fetch, patience);
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

  private async take(response: Response, session = this.session): Promise<void> {
    const reply = (await readJson(response)) as LoginReply;
    if (session !== this.session) throw new LinkError("login");
    if (typeof reply.access !== "string" || typeof reply.user?.id !== "string") throw new LinkError("portal");
    const other = reply.user.id !== this.state.user?.id;
    if (other) this.ends();
    this.access = reply.access;
    this.ended = false;
    if (other) await this.emptying;
    await enter(reply.user, reply.access);
    this.set({ user: reply.user, whole: (await store.meta("whole")) === true });
  }

  /** renew resumes an earlier log-in of this browser. Refuses: LinkError if there is none. */
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
   * renewed gets an access token. For handing over work the last token is enough if the office
   * gives no more.
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
        signal: init.signal ?? timely(),
      });
    } catch (e) {
      throw new LinkError("offline", 0, "", e instanceof Error ? e.message : "offline");
    }
  }

  /** request sends one request with the log-in, and renews the log-in once if it has expired. */
  async request(path: string, init: RequestInit = {}): Promise<Response> {
    const { session } = this;
    const same = () => {
      if (session !== this.session) throw new LinkError("login");
    };
    const { signal } = this.stop;
    const go = () => this.send(path, { ...init, signal: either(init.signal ?? timely(), signal) }, same);
    if (this.access === undefined) await this.renewed(path === "/api/sync" || path.startsWith("/api/blobs/"));
    let response = await go();
    if (response.status === 401) {
      same();
      this.access = undefined;
      await this.refresh();
      response = await go();
    }
    return response;
  }

  /** json calls the office's API and gives its reply. Refuses: LinkError with the office's code. */
  async json(path: string, init: RequestInit = {}): Promise<unknown> {
    const response = await this.request(path, init);
    return response.status === 204 ? undefined : readJson(response);
  }

  /** sync exchanges everything once. A call during a sync makes it check again at the end. */
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
      // Another tab is syncing, and reports its progress.
    } else if (e === undefined) {
      this.wait = firstWait;
      this.set({ running: false, problem: undefined });
    } else {
      const problem = e instanceof LinkError ? e.problem : "storage";
      this.set({ running: false, problem });
      if (problem === "ended") await this.logout().catch((why: unknown) => console.error(why));
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
      // Spread out, so that a plant's phones do not all come back in the same second.
      this.timer = setTimeout(() => void this.sync(), delay * (0.75 + Math.random() / 2));
    }
  }

  private async exchange(): Promise<void> {
    if (this.state.user === undefined) throw new LinkError("login");
    const device = await store.meta("device");
    if (!device) throw new LinkError("storage");
    let stuck = 0;
    let over = false; // the account has ended
    let id = device.id;
    let most = piece;
    let list = false; // the office does not know the list of what is held here
    let brought = false; // what a restored office lacks, brought once, so that its silence holds up nothing
    // The reply to a request that was sent before the previous reply was merged, so that the line
    // and the device work at the same time.
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
      if (place.cursor === 0 && !this.state.whole && changes.length === 0 && (await this.first(id, place))) {
        await this.part(false);
        continue;
      }
      const usable =
        early !== undefined &&
        early.place.cursor === place.cursor &&
        early.place.root === place.root &&
        changes.length === 0;
      if (early && !usable) await early.reply.catch(() => undefined); // one request at a time, so that nobody takes this for two devices
      const reply: SyncReply | undefined = await (usable && early
        ? early.reply
        : this.bring(id, place, changes, most, list)
      ).catch((e: unknown) => {
        // Too much for the office, or for a proxy in front of it; half of it may pass.
        if (!(e instanceof LinkError) || e.status !== 413 || changes.length < 2) throw e;
        most = changes.length >> 1;
        return undefined;
      });
      early = undefined;
      if (!reply) continue;
      const here = placeIn(reply);
      over ||= reply.ended === true;
      if (reply.twin === true) await store.fork();
      if (place.store !== "" && (reply.again === true || here.store !== place.store || here.epoch !== place.epoch)) {
        await store.queueAgain({ ...here, root: "", cursor: 0 });
        if (reply.held !== undefined) await store.putMeta("hold", { name: "" });
        if (++stuck > 3) throw new LinkError("server");
        continue;
      }
      const lost = reply.held !== undefined && reply.held !== "" && reply.part === undefined && reply.same !== true;
      const halted = lost || reply.part?.begin === true || reply.part?.send === true;
      list = reply.part?.send === true && !list;
      if (!halted && here.scope !== (place.scope ?? "")) {
        // The sites have changed: records of other sites go, and all present ones come from the
        // beginning.
        await store.putMeta("sites", reply.sites);
        if (reply.sites) await store.keepSites(reply.sites);
        await store.putMeta("whole", undefined);
        await store.forgetGiven(true);
        this.set({ whole: false });
      }
      if (reply.more && !halted && changes.length === 0 && reply.twin !== true) {
        early = { place: here, reply: this.ask(id, here, []) };
        early.reply.catch(() => undefined); // reported when somebody waits for it
      }
      const acknowledged = reply.acknowledged ?? [];
      const quarantined = reply.quarantined ?? [];
      const refused = reply.refused === undefined ? undefined : { name: reply.refused, list: reply.refusals ?? [] };
      const said = reply.given && reply.text ? { sign: reply.given, text: reply.text } : undefined;
      const part = { held: reply.held ?? "", entries: reply.part?.entries ?? [] };
      await store.receive(
        lost ? [] : (reply.changes ?? []),
        lost ? place : here,
        { acknowledged, quarantined, refused },
        said,
        part,
      );
      await this.heard(!reply.more && !halted);
      if (halted) {
        if (reply.part?.send && !list) throw new LinkError("server"); // the list was sent, and is still unknown
        if (!reply.part?.send) await this.part(lost);
        continue;
      }
      // The office refuses this if the account has ended, which the person sees at the end: it
      // quarantines all the work and its photos.
      if (quarantined.length > 0) await this.refresh().catch((e: unknown) => this.ended || Promise.reject(e));
      const moved = acknowledged.length + quarantined.length > 0;
      if (changes.length > 0 && !moved) throw new LinkError(reply.newer ? "newer" : "server");
      if (reply.more || (changes.length > 0 && (await store.waiting(1)).length > 0)) continue;
      if (!(await store.offering())) await this.doubts(id, here);
      if (reply.held) await (await import("./hold")).tend(this.api, reply.part?.wanted, this.outside.now());
      await this.photos().catch((e: unknown) => {
        if (!over || !(e instanceof LinkError) || e.status !== 403) throw e; // those of other people wait for them
      });
      if (!(await store.nextGiven())) await store.forgetGiven();
      await store.finishRebuild();
      all = (await store.waiting(1)).length === 0 && !(await store.offering()); // something may have been written meanwhile
    }
    // Records that stayed for unsent work may go now.
    const sites = await store.meta("sites");
    if (sites) {
      await store.keepSites(sites);
      await store.putMeta("sites", undefined);
    }
    if (over) throw new LinkError("ended");
    if (this.ended) throw new LinkError("login");
  }

  /**
   * doubts asks whether the office still has what it had of other people's, so that only what it
   * lacks waits for their log-in.
   */
  private async doubts(device: string, place: Place): Promise<void> {
    for (let ids = await store.doubtful(pullPiece); ids.length > 0; ids = await store.doubtful(pullPiece)) {
      const reply = await this.ask(device, place, [], { has: ids, limit: 1 });
      await store.settleDoubt(ids, reply.had ?? []);
    }
  }

  /** giveBack helps others: if the office refuses it, a person's own work must still go out. */
  private async giveBack(device: string, place: Place): Promise<void> {
    const { giveBack } = await import("./back");
    try {
      await giveBack((more, raw) => this.ask(device, place, [], more, raw));
    } catch (e) {
      if (!(e instanceof LinkError) || e.problem !== "server") throw e;
      console.error(e);
    }
  }

  private bring(
    to: string,
    at: Place,
    changes: SyncRequest["changes"],
    most: number,
    list: boolean,
  ): Promise<SyncReply> {
    if (changes.length === 0 || list || !this.two) return this.ask(to, at, changes, {}, "", list);
    return push((some, more) => this.ask(to, at, some, more), changes, most, pieceSize >> 1);
  }

  private async ask(
    device: string,
    place: Place,
    changes: SyncRequest["changes"],
    more: Partial<SyncRequest> = {},
    raw = "",
    list = false,
  ): Promise<SyncReply> {
    const nonce = more.nonce ?? newId();
    const held = (await store.meta("hold"))?.name ?? "";
    const units = list ? { units: await (await import("../store/held")).heldNames() } : {};
    const q = await store.queue();
    const about = {
      wall: new Date(this.outside.now()).toISOString(),
      version: build(),
      waiting: q.others.reduce((sum, o) => sum + o.count, q.count),
      photos: q.photos,
      oldest: q.oldest === undefined ? "" : new Date(q.oldest).toISOString(),
      was: (await store.meta("was")) ?? "",
    };
    // Without locks two tabs may send requests at once, and would look like two devices.
    const lane = more.lane === 1 ? "heardBeside" : "heard";
    const last = locks() ? { last: (await store.meta(lane)) ?? "" } : {};
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
      hold: { name: held, ...units },
    };
    const said = await this.post(`${JSON.stringify(asked).slice(0, -1)}${raw}}`);
    const nothing = { ...place, acknowledged: [], quarantined: [], changes: [], more: false, time: "" };
    const reply = (said.same === true && brief ? { ...nothing, ...said } : said) as SyncReply;
    // A captive portal may answer anything; only the office knows the nonce.
    if (reply.nonce !== nonce) throw new LinkError("portal");
    if (reply.twin !== true) await store.heard(nonce, lane);
    this.two = takesTwo(reply.protocol, this.two);
    return { ...reply, held };
  }

  /** post sends a request of the exchange, compressed with gzip if the office takes it. */
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
      await this.pressing(false); // an older office, which a restored backup brought back; if not, it refuses the plain text too
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

  private async part(lost: boolean): Promise<void> {
    await (await import("./hold")).change(lost, this.api);
  }

  /**
   * first fetches what a day begins with. The cursor stays, so all of it comes again in its turn.
   * Gives: whether the device is to hold a part of the plant instead.
   */
  private async first(device: string, place: Place): Promise<boolean> {
    for (let from = place, n = 0; n < mostFirst; n++) {
      const reply = await this.ask(device, from, [], { kinds: firstKinds });
      if (reply.again === true || reply.part) return reply.again !== true && reply.part?.begin === true;
      await store.receive(reply.changes ?? [], place, { acknowledged: [], quarantined: [] });
      if (!reply.more) break;
      from = placeIn(reply);
    }
    return false;
  }

  private async heard(end: boolean): Promise<void> {
    const at = this.outside.now();
    await store.putMeta("lastSync", new Date(at).toISOString());
    if (end && !this.state.whole) await store.putMeta("whole", true);
    this.set({ last: at, whole: end || this.state.whole });
  }

  private async photos(): Promise<void> {
    const waiting = await store.unsentPhotos();
    if (waiting.length === 0) return;
    await (await import("./pieces")).bringAll(waiting, (path, init) => this.request(path, init));
  }

  /** nudge syncs soon after a write, or at once when a person asks for it. */
  nudge(): void {
    this.wait = firstWait;
    if (this.started && this.state.user) void this.sync();
    else if (this.started) void this.left().catch(() => this.leaveLater());
  }

  /** start sets when the link tries: now, on return to the page or the line, after a write, on a timer. */
  start(): void {
    if (this.started) return;
    this.started = true;
    this.tabs = new Channel("gaugewright-link", (news) => {
      if (news !== "user") this.set(news, false);
      else this.load().catch((e: unknown) => console.error(e));
    });
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && this.nudge());
    globalThis.addEventListener("online", () => this.nudge());
    globalThis.addEventListener("offline", () => this.nudge()); // so that the sign at the top shows it at once
    let soon: ReturnType<typeof setTimeout> | undefined;
    store.subscribe((notice) => {
      if (this.state.running && notice.mine) this.again = true; // it may have looked into the outbox before
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
 * ask calls the office's API with the log-in and gives its JSON reply, for screens that need a
 * connection.
 */
export function ask(path: string, init?: RequestInit): Promise<unknown> {
  return link.json(path, init);
}
