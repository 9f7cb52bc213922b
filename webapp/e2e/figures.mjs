// Measures how fast the client is. The figures are printed and not judged, since they depend on the
// machine. `make figures` runs this after a build.
import { readFileSync, rmSync } from "node:fs";
import { availableParallelism, cpus, loadavg, tmpdir } from "node:os";
import { join } from "node:path";
import { film } from "./camera.mjs";
import { held, logIn, Plant } from "./plant.mjs";
import { asPerson, Pocket, whole } from "./pocket.mjs";
import { prepare, run } from "./visit.mjs";

const rounds = 5;
const slow = 4;
const middle = (list) => list.toSorted((a, b) => a - b)[Math.floor(list.length / 2)];
const say = (what, list, unit = "ms") =>
  console.log(
    `${what.padEnd(66)} ${middle(list)
      .toFixed(unit === "ms" ? 1 : 0)
      .padStart(9)} ${unit}   (${list.map((x) => x.toFixed(1)).join(" ")})`,
  );

console.log(
  `${cpus()[0].model}, ${availableParallelism()} cores, load ${loadavg()[0].toFixed(1)}; middle of ${rounds} unless one is given\n`,
);

const began = performance.now();
const plant = await Plant.make();
const pocket = new Pocket(plant);
const camera = join(tmpdir(), `gaugewright-figures-${process.pid}.y4m`);
try {
  say("server: first start, the plant being invented", [performance.now() - began]);
  const starts = [];
  for (let i = 0; i < rounds; i++) {
    await plant.kill();
    const t = performance.now();
    await plant.start();
    starts.push(performance.now() - t);
  }
  say("server: start on the plant, to serving", starts);
  const memory = () =>
    Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${plant.server.pid}/status`, "utf8"))[1]) / 1000;
  say("server: memory after the start (resident)", [memory()], "MB");

  // The first visit of a phone: nothing is stored yet.
  const cold = { 1: [], [slow]: [] };
  for (const rate of [1, slow]) {
    for (let i = 0; i < rounds; i++) {
      const fresh = new Pocket(plant);
      const page = await fresh.open();
      await throttle(page, rate);
      await page.goto(plant.url, { waitUntil: "commit" });
      cold[rate].push(await usable(page, "input[type=password]"));
      await fresh.remove();
    }
    say(`phone: cold start to the log-in${rate === 1 ? "" : `, CPU ${rate} times slower`}`, cold[rate]);
  }

  let page = await pocket.open();
  await logIn(page, plant, plant.someone("technician"));
  const t = performance.now();
  await page.locator("main a[href^='/instrument/']").first().waitFor({ timeout: 120000 });
  say("phone: from the log-in to today's round", [performance.now() - t]);
  await whole(page);
  say("phone: from the log-in to everything", [performance.now() - t]);
  say("server: memory after a phone has fetched everything (resident)", [memory()], "MB");
  await held(page);
  const id = (await page.locator("main a[href^='/instrument/']").first().getAttribute("href")).split("/").pop();
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const png = await reviewer(`/api/labels/${id}.png`);

  await plant.kill();
  for (const rate of [1, slow]) {
    const took = [];
    for (let i = 0; i < rounds; i++) {
      await page.close();
      page = await pocket.context.newPage();
      await throttle(page, rate);
      await page.goto(plant.url, { waitUntil: "commit" });
      took.push(await usable(page, "main a[href^='/instrument/']"));
    }
    say(`phone: offline start to today's round${rate === 1 ? "" : `, CPU ${rate} times slower`}`, took);
  }
  await pocket.close();

  page = await pocket.open({ args: [film(camera, png)] });
  const scans = [];
  for (let i = 0; i < rounds; i++) {
    await page.goto(`${plant.url}/find`);
    await page.getByRole("button", { name: "Scan a tag" }).waitFor();
    await page.waitForTimeout(500);
    scans.push(
      await page.evaluate(
        () =>
          new Promise((done) => {
            const start = performance.now();
            const look = () =>
              document.querySelector(".instrument .history")
                ? requestAnimationFrame(() => done(performance.now() - start))
                : requestAnimationFrame(look);
            [...document.querySelectorAll("button")].find((b) => b.textContent === "Scan a tag").click();
            look();
          }),
      ),
    );
  }
  say("phone: from the button through the camera to the history", scans);

  // A visit, up to half of its readings, so that the evaluation has something to do.
  await page.goto(`${plant.url}/instrument/${id}`);
  await page.getByRole("button", { name: "Start visit" }).click();
  await prepare(page);
  const here = new Error("enough readings");
  let kept = 0;
  const stop = () => {
    if (kept >= 6) throw here;
  };
  await run(
    () => page,
    String,
    async (n) => (kept = n),
    stop,
  ).catch((e) => {
    if (e !== here) throw e;
  });
  for (const rate of [1, slow]) {
    await throttle(page, rate);
    const presses = await page.evaluate(pressKeys, 30);
    say(
      `phone: key press to the verdict, ${kept} readings kept${rate === 1 ? "" : `, CPU ${rate} times slower`}`,
      presses.slice(10),
    );
    const longest = presses
      .slice(10)
      .toSorted((a, b) => a - b)
      .at(-1);
    say("       the longest of them", [longest]);
  }
  console.log("       (the browser slows the page's thread only, not the worker's in which the verdict is worked out)");
} finally {
  await pocket.remove();
  await plant.remove();
  rmSync(camera, { force: true });
}

async function throttle(page, rate) {
  const devtools = await page.context().newCDPSession(page);
  await devtools.send("Emulation.setCPUThrottlingRate", { rate });
}

/** usable gives the time from the navigation until an element is shown, by the page's own clock. */
async function usable(page, selector) {
  const shown = await page.waitForFunction(
    (s) => (document.querySelector(s)?.getClientRects().length ? performance.now() : undefined),
    selector,
    { polling: "raf", timeout: 60000 },
  );
  return shown.jsonValue();
}

/**
 * pressKeys presses a digit and deletes it again, in the page, and times each press until the new
 * error is on the screen.
 */
async function pressKeys(times) {
  const button = (name) =>
    [...document.querySelectorAll(".pad-key")].find(
      (b) => b.textContent === name || b.getAttribute("aria-label") === name,
    );
  const band = () => document.querySelector(".preview .limit-band")?.getAttribute("aria-label") ?? "";
  const took = [];
  for (let i = 0; i < 12; i++) {
    button("Delete a digit").click(); // down to an empty pad
    await new Promise((r) => setTimeout(r, 30));
  }
  for (const d of ["8", ".", "1"]) {
    button(d).click();
    await new Promise((r) => setTimeout(r, 300));
  }
  for (let i = 0; i < times; i++) {
    const before = band();
    const key = i % 2 === 0 ? button("5") : button("Delete a digit");
    await new Promise((r) => setTimeout(r, 60));
    const start = performance.now();
    const changed = new Promise((done) => {
      const seen = new MutationObserver(() => {
        if (band() === before) return;
        seen.disconnect();
        done(performance.now());
      });
      seen.observe(document.querySelector("main"), {
        subtree: true,
        childList: true,
        attributes: true,
        characterData: true,
      });
    });
    key.click();
    const limit = new Promise((done) => setTimeout(() => done(Number.NaN), 3000));
    took.push((await Promise.race([changed, limit])) - start);
  }
  return took;
}
