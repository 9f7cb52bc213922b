// The calculation module inside a page of Chromium, whose processor can be slowed down: the browser
// can slow pages but not workers.
import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";
import { start } from "../test/reactor.mjs";
import { flags } from "./plant.mjs";

const assets = resolve(import.meta.dirname, "../dist/assets");

/**
 * slowModule starts the built module. time(rate, request, rounds) gives how long the calls of one
 * request took, in order, and the reply.
 */
export async function slowModule() {
  const name = readdirSync(assets).find((f) => /^calc-[^.]+\.wasm$/.test(f));
  if (!name) throw new Error("webapp/dist holds no module: make build first");
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: flags });
  const page = await browser.newPage();
  const devtools = await page.context().newCDPSession(page);
  const wasm = readFileSync(join(assets, name)).toString("base64");
  await page.evaluate(`(async () => {
    const instantiate = ${start.instance};
    const bytes = Uint8Array.from(atob(${JSON.stringify(wasm)}), (c) => c.charCodeAt(0));
    globalThis.module = await instantiate(bytes, () => undefined);
  })()`);
  return {
    async time(rate, request, rounds) {
      await devtools.send("Emulation.setCPUThrottlingRate", { rate });
      const { took, reply } = await page.evaluate(
        async ([body, times]) => {
          const { exports } = globalThis.module;
          const bytes = new TextEncoder().encode(body);
          const took = [];
          let reply = "";
          for (let i = 0; i < times; i++) {
            await new Promise((r) => setTimeout(r, 20));
            const from = performance.now();
            const at = exports.reserve(bytes.length);
            new Uint8Array(exports.memory.buffer, at, bytes.length).set(bytes);
            const n = exports.call();
            took.push(performance.now() - from);
            if (i === 0) reply = new TextDecoder().decode(new Uint8Array(exports.memory.buffer, exports.reply(), n));
            exports.tidy(); // as the phone's worker does, after the answer
          }
          return { took: took.toSorted((a, b) => a - b), reply };
        },
        [request, rounds],
      );
      return { took, middle: took[rounds >> 1], reply };
    },
    close: () => browser.close(),
  };
}
