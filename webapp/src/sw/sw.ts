declare const self: ServiceWorkerGlobalScope;
type Built = { url: string; sha256: string };
declare const PRECACHE: Built[];
/** The scripts of each language but English, kept by devices set to that language. */
declare const LANGUAGES: { [language: string]: Built[] };
declare const BUILD: string;

const prefix = "gaugewright-";
const current = prefix + BUILD;

async function digest(body: ArrayBuffer): Promise<string> {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return Array.from(sum, (b) => b.toString(16).padStart(2, "0")).join("");
}

/**
 * keep fetches files of this build and keeps each only if it is exactly the file that was built.
 */
async function keep(files: Built[]): Promise<void> {
  const cache = await caches.open(current);
  for (const { url, sha256 } of files) {
    const hashed = url.startsWith("/assets/");
    const held = hashed ? await caches.match(url) : undefined;
    const response = held ?? (await fetch(url, { cache: hashed ? "default" : "no-cache", redirect: "error" }));
    if (!response.ok) throw new Error(`${url}: ${response.status}`);
    const body = await response.clone().arrayBuffer();
    if (!(await digest(body)).startsWith(sha256)) throw new Error(`${url} is not the file of this build`);
    await cache.put(url, response);
  }
}

/** spoken lists the files of this device's language, which the page has named. */
async function spoken(): Promise<Built[]> {
  const said = await caches.match("/language");
  return LANGUAGES[said ? await said.text() : ""] ?? [];
}

async function fill(): Promise<void> {
  try {
    await keep([...PRECACHE, ...(await spoken())]);
  } catch (e) {
    await caches.delete(current);
    throw e;
  }
}

/** learn keeps the newly chosen language, and answers whether it is kept. */
async function learn(answer: MessagePort | undefined): Promise<void> {
  const kept = await spoken()
    .then(keep)
    .catch((e: unknown) => String(e));
  answer?.postMessage(kept === undefined);
}

async function activate(): Promise<void> {
  for (const name of await caches.keys()) {
    if (name.startsWith(prefix) && name !== current) await caches.delete(name);
  }
  await self.clients.claim();
}

async function fromCache(url: string, request: Request): Promise<Response> {
  const cache = await caches.open(current);
  return (await cache.match(url)) ?? fetch(request);
}

self.addEventListener("install", (e) => e.waitUntil(fill()));
self.addEventListener("activate", (e) => e.waitUntil(activate()));
self.addEventListener("message", (e) => {
  // The page sends this when a person has accepted the update; it never happens by itself.
  if (e.data === "switch") e.waitUntil(self.skipWaiting());
  if (e.data === "language") e.waitUntil(learn(e.ports[0]));
});

const kept = new Set([PRECACHE, ...Object.values(LANGUAGES)].flat().map((p) => p.url));

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  if (url.pathname === "/verify") return; // a page of its own, which no device keeps
  if (kept.has(url.pathname)) e.respondWith(fromCache(url.pathname, e.request));
  else if (e.request.mode === "navigate") e.respondWith(fromCache("/", e.request));
});

export {};
