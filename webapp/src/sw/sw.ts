declare const self: ServiceWorkerGlobalScope;
declare const PRECACHE: { url: string; sha256: string }[];
declare const BUILD: string;

const prefix = "gaugewright-";
const current = prefix + BUILD;

async function digest(body: ArrayBuffer): Promise<string> {
  const sum = new Uint8Array(await crypto.subtle.digest("SHA-256", body));
  return Array.from(sum, (b) => b.toString(16).padStart(2, "0")).join("");
}

/** fill fetches every file of this build and keeps it only if it is the very one that was built. */
async function fill(): Promise<void> {
  const cache = await caches.open(current);
  for (const { url, sha256 } of PRECACHE) {
    const hashed = url.startsWith("/assets/");
    const held = hashed ? await caches.match(url) : undefined;
    const response = held ?? (await fetch(url, { cache: hashed ? "default" : "no-cache", redirect: "error" }));
    if (!response.ok) throw new Error(`${url}: ${response.status}`);
    const body = await response.clone().arrayBuffer();
    if (!(await digest(body)).startsWith(sha256)) {
      await caches.delete(current);
      throw new Error(`${url} is not the file of this build`);
    }
    await cache.put(url, response);
  }
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
  // Sent by the page when a person has accepted the update; never by itself.
  if (e.data === "switch") e.waitUntil(self.skipWaiting());
});

const kept = new Set(PRECACHE.map((p) => p.url));

self.addEventListener("fetch", (e) => {
  const url = new URL(e.request.url);
  if (e.request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  if (url.pathname === "/verify") return; // a page of its own, which no device keeps
  if (kept.has(url.pathname)) e.respondWith(fromCache(url.pathname, e.request));
  else if (e.request.mode === "navigate") e.respondWith(fromCache("/", e.request));
});

export {};
