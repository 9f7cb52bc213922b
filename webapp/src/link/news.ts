import { meta, record } from "../store/store";
import type { Link } from "./link";

/**
 * News is what came into the office's journal: its last number and the records that changed. many
 * says that these are not all.
 */
export type News = { seq: number; records: string[]; many?: boolean };

/** Three of the office's heartbeats without a byte: the stream is broken. */
const silence = 60_000;
const firstWait = 2_000;
const longestWait = 120_000;

/** The channel between the tabs; the store announces its records on another one. */
export const tabsChannel = "gaugewright-journal";

const listeners = new Set<(n: News) => void>();
const tell = (n: News) => {
  for (const fn of listeners) fn(n);
};

/**
 * onNews calls fn with news of the office's journal, while the page is visible and online. Gives: a
 * function that ends it.
 */
export function onNews(fn: (n: News) => void): () => void {
  listeners.add(fn);
  return () => listeners.delete(fn);
}

/**
 * follow exchanges as soon as the office has something new. One tab of the browser holds the stream
 * and informs the others. Polling goes on as before; a browser without locks only polls.
 */
export async function follow(link: Link): Promise<void> {
  if (typeof navigator.locks === "undefined" || typeof BroadcastChannel === "undefined") return;
  const tabs = new BroadcastChannel(tabsChannel);
  tabs.onmessage = (e: MessageEvent<News>) => tell(e.data);
  const heard = async (n: News) => {
    tell(n);
    tabs.postMessage(n);
    if (n.seq > ((await meta("link"))?.cursor ?? 0) && (await concerns(n))) await link.sync();
  };
  for (let wait = firstWait; ; ) {
    await inView(link);
    const gone = new AbortController();
    const hidden = () => document.visibilityState !== "visible" && gone.abort();
    document.addEventListener("visibilitychange", hidden);
    const listening = () => listen(link, gone, heard);
    const began = Date.now();
    try {
      await navigator.locks.request("gaugewright-news", { signal: gone.signal }, listening);
    } catch {
      // no connection, no such route, or hidden: the exchange says what is wrong
    }
    document.removeEventListener("visibilitychange", hidden);
    wait = Date.now() - began > longestWait / 2 ? firstWait : Math.min(wait * 2, longestWait);
    await new Promise((done) => setTimeout(done, gone.signal.aborted ? 0 : wait * (0.75 + Math.random() / 2)));
  }
}

/**
 * concerns says whether news is worth an exchange at once: any news if this device holds
 * everything; in a large plant, news of a record held here. The rest comes with the next exchange,
 * within a minute, so that a company's day does not cost a phone a thousand exchanges.
 */
export async function concerns(n: News): Promise<boolean> {
  if (!(await meta("hold"))?.name) return true;
  const here = await Promise.all(n.records.map((id) => record(id)));
  return here.some((r) => r !== undefined);
}

/** inView waits until the page is visible and somebody is logged in. */
function inView(link: Link): Promise<void> {
  return new Promise((done) => {
    const look = () => {
      if (document.visibilityState !== "visible" || link.now().user === undefined || link.now().problem === "login")
        return;
      stop();
      document.removeEventListener("visibilitychange", look);
      done();
    };
    const stop = link.subscribe(look);
    document.addEventListener("visibilitychange", look);
    look();
  });
}

/** listen reads the stream until it ends. */
async function listen(link: Link, gone: AbortController, heard: (n: News) => Promise<void>): Promise<void> {
  const response = await link.request("/api/news", { signal: gone.signal });
  if (!response.ok || !response.body || !(response.headers.get("content-type") ?? "").startsWith("text/event-stream"))
    throw new Error(String(response.status));
  const reader = response.body.pipeThrough(new TextDecoderStream()).getReader();
  let rest = "";
  for (;;) {
    const quiet = setTimeout(() => gone.abort(), silence);
    const { value, done } = await reader.read().finally(() => clearTimeout(quiet));
    if (done) return;
    const lines = (rest + value).split("\n");
    rest = lines.pop() ?? "";
    for (const line of lines)
      if (line.startsWith("data: ")) heard(JSON.parse(line.slice(6)) as News).catch((e: unknown) => console.error(e));
  }
}
