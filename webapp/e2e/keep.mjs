// Loaded before a browser test (node --import). After a failed test it keeps a picture of every
// open page in the folder that KEEP names. With TRACE=1 it also keeps a Playwright trace of every
// browser profile, which makes the tests take a fifth longer. "npx playwright-core show-trace FILE"
// opens a trace.
import { mkdirSync } from "node:fs";
import { join } from "node:path";
import { afterEach, beforeEach } from "node:test";
import { chromium } from "playwright-core";

const folder = process.env.KEEP ?? "webapp/build/e2e/one";
const traced = process.env.TRACE === "1";
const open = new Set();

async function watch(context) {
  open.add(context);
  context.once("close", () => open.delete(context));
  if (traced) await context.tracing.start({ snapshots: true });
  return context;
}

const launch = chromium.launch.bind(chromium);
chromium.launch = async (...args) => {
  const browser = await launch(...args);
  const fresh = browser.newContext.bind(browser);
  browser.newContext = async (...a) => watch(await fresh(...a));
  return browser;
};
const persistent = chromium.launchPersistentContext.bind(chromium);
chromium.launchPersistentContext = async (...args) => watch(await persistent(...args));

/**
 * each does something with every open profile. A profile that has just been closed has nothing to
 * keep.
 */
async function each(does) {
  let n = 0;
  for (const context of open)
    await does(context, ++n).catch((e) => console.error(`not kept: ${String(e.message).split("\n")[0]}`));
}

beforeEach(() => (traced ? each((context) => context.tracing.startChunk()) : undefined));

afterEach(async (t) => {
  if (t.passed !== false) return traced ? each((context) => context.tracing.stopChunk()) : undefined;
  const name = join(folder, t.name.replace(/[^a-z0-9]+/gi, "-").slice(0, 80));
  mkdirSync(folder, { recursive: true });
  await each(async (context, n) => {
    for (const [i, page] of context.pages().entries()) {
      const path = `${name}-${n}-${i + 1}.png`;
      await page.screenshot({ path, timeout: 5000 });
      console.error(`kept: ${path}`);
    }
    if (!traced) return;
    const path = `${name}-${n}.zip`;
    await context.tracing.stopChunk({ path });
    console.error(`kept: ${path}`);
  });
});
