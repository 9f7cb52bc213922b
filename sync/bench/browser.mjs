// A pull as a phone does it: a browser merges what comes and writes it into IndexedDB. Both sides in
// the same browser, each with an empty profile; from the first request of the exchange until the
// last record is written.
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { now } from "./records.mjs";

const chromium = process.env.CHROMIUM ?? "/usr/bin/chromium";

/** browser says whether there is one. */
export const browser = () => existsSync(chromium);

async function inProfile(work) {
  const { phone, until } = await import("../../webapp/e2e/plant.mjs");
  const profile = mkdtempSync(join(tmpdir(), "gaugewright-bench-browser-"));
  const context = await phone(profile);
  try {
    const page = context.pages()[0] ?? (await context.newPage());
    page.setDefaultTimeout(600_000);
    return await work(page, until);
  } finally {
    await context.close();
    rmSync(profile, { recursive: true, force: true, maxRetries: 20, retryDelay: 250 });
  }
}

/** pulled logs a person in with the client as it is served, and waits until it holds all n records. */
export const pulled = (url, password, n) =>
  inProfile(async (page, until) => {
    const first = page.waitForRequest((r) => r.url().endsWith("/api/sync"));
    await page.goto(url);
    await page.getByLabel("Name").fill("administrator");
    await page.getByLabel("Password").fill(password);
    await page.keyboard.press("Enter");
    await first;
    const begun = now();
    await until(
      page,
      () =>
        new Promise((done) => {
          const opening = indexedDB.open("gaugewright");
          opening.onerror = () => done(false);
          opening.onsuccess = () => {
            const asked = opening.result.transaction("meta").objectStore("meta").get("whole");
            asked.onsuccess = () => {
              opening.result.close();
              done(asked.result === true);
            };
          };
        }),
      600_000,
    );
    const ms = now() - begun;
    const held = await page.evaluate(
      () =>
        new Promise((done, failed) => {
          const opening = indexedDB.open("gaugewright");
          opening.onerror = () => failed(opening.error);
          opening.onsuccess = () => {
            const asked = opening.result.transaction("records").objectStore("records").index("kind").count("visit");
            asked.onsuccess = () => done(asked.result);
          };
        }),
    );
    if (held < n) throw new Error(`the browser holds ${held} of ${n}`);
    return ms;
  });

/** replicated is the same with the peer's own client, which its server gives to a page. */
export const replicated = (url, name, n, batch) =>
  inProfile(async (page) => {
    await page.goto(`${url}/_page`);
    const [ms, held] = await page.evaluate(
      async ([from, size]) => {
        const b = new window.PouchDB("b");
        const begun = performance.now();
        await b.replicate.from(`${location.origin}/${from}`, { batch_size: size, batches_limit: 10 });
        return [performance.now() - begun, (await b.info()).doc_count];
      },
      [name, batch],
    );
    if (held !== n) throw new Error(`the browser holds ${held} of ${n}`);
    return ms;
  });
