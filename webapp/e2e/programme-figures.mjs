// How long the check of a programme of 10,000 steps takes in the phone's module, in Chromium with its processor slowed down four times.
// Use: node e2e/programme-figures.mjs [steps] after `make build`. The browser slows down pages but not workers, so the module runs in a page here.
import { readdirSync, readFileSync } from "node:fs";
import { availableParallelism, loadavg } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";
import { start } from "../test/reactor.mjs";
import { flags } from "./plant.mjs";

const steps = Number(process.argv[2] ?? 10_000);
const rounds = 15;
const goal = 50;
const assets = resolve(import.meta.dirname, "../dist/assets");
const name = readdirSync(assets).find((f) => /^calc-[^.]+\.wasm$/.test(f));
if (!name) throw new Error("webapp/dist holds no module: make build first");

const group = (i) => [
  `set ${["100", "250.5", "400"][i % 3]} at 10/s`,
  "settle within 0.2 for 10 s, at most 90 s",
  "read a from gauge",
  "if abs(a - 250) > 200.5 and not a < 2 {",
  '  note "far"',
  "}",
];
const text = ["unit kPa gauge", ...Array.from({ length: Math.floor(steps / 5) }, (_, i) => group(i)).flat(), "vent", ""].join("\n");
const document = { programme: text, instrument: { low: "0", high: "1000", max_rate: "20" }, standard: { low: "0", high: "700", max_rate: "20" } };
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: flags });
try {
  const page = await browser.newPage();
  const devtools = await page.context().newCDPSession(page);
  const time = (rate, what, request) =>
    devtools.send("Emulation.setCPUThrottlingRate", { rate }).then(() =>
      page.evaluate(
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
          }
          return { took: took.toSorted((a, b) => a - b), reply };
        },
        [`calc/plan\n${JSON.stringify(request)}`, rounds],
      ),
    ).then(({ took, reply }) => {
      const r = JSON.parse(reply);
      if (r.error || r.findings.length > 0) throw new Error(reply.slice(0, 500));
      console.log(`${what}: ${took[rounds >> 1].toFixed(1)} ms (${took[0].toFixed(1)} to ${took.at(-1).toFixed(1)}), ${reply.length} bytes of answer`);
      return took[rounds >> 1];
    });
  const wasm = readFileSync(join(assets, name)).toString("base64");
  await page.evaluate(`(async () => {
    const instantiate = ${start.instance};
    const bytes = Uint8Array.from(atob(${JSON.stringify(wasm)}), (c) => c.charCodeAt(0));
    globalThis.module = await instantiate(bytes, () => undefined);
  })()`);
  console.log(`${steps} steps, ${text.length} bytes; ${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}; middle of ${rounds}`);
  await time(1, "warming up", document);
  await time(1, "whole answer", document);
  await time(1, "findings alone", { ...document, only: "findings" });
  await time(4, "whole answer, processor 4 times slower", document);
  const took = await time(4, "findings alone, processor 4 times slower", { ...document, only: "findings" });
  console.log(took <= goal ? `the goal of ${goal} ms is met` : `the goal of ${goal} ms is missed ${(took / goal).toFixed(1)} times over`);
} finally {
  await browser.close();
}
