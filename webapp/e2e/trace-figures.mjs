// Measures how long a logger's record of a million rows takes on a phone, how long the page freezes
// meanwhile, and how much memory it takes. Use: node e2e/trace-figures.mjs [rows] after `make
// build`. The page is slowed down four times. Workers cannot be, so their time is printed and
// multiplied.
import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { author } from "./author.mjs";
import { Plant } from "./plant.mjs";
import { Pocket } from "./pocket.mjs";

const rows = Number(process.argv[2] ?? 1_000_000);
const slower = 4;
const file = join(tmpdir(), `gaugewright-trace-${process.pid}.csv`);
const plant = await Plant.make();
const pocket = new Pocket(plant);
try {
  const lines = ["time [s];pressure [bar];temperature [degC]"];
  for (let i = 0; i < rows; i++)
    lines.push(
      `${(i / 100).toFixed(2)};${(6 - i * 1e-8 + Math.sin(i) / 1000).toFixed(5)};${(20 + (i % 100) / 100).toFixed(2)}`,
    );
  writeFileSync(file, `${lines.join("\n")}\n`);
  const size = readFileSync(file).length;
  const technician = plant.someone("technician");
  const me = await author(plant, technician);
  const now = new Date().toISOString();
  const range = { low: "0", high: "10", unit: "bar", mode: "gauge" };
  const definition = {
    kind: "leak",
    phases: [{ name: "pressure", pressure: "6", stabilise_s: 5, measure_s: 60, every_s: 5, limit_pa_s: "20" }],
  };
  const item = { tag: "LK-1", range, particulars: { volume_m3: "0.0125" } };
  const visit = await me.write("visit", {
    instrument: "",
    method: { id: "", version: 1, name: "Tightness", definition },
    item,
    started: now,
    person: me.user.id,
    cautions: { codes: [], at: now },
  });
  const step = {
    id: "p1",
    do: "read",
    screen: 1,
    many: true,
    every_s: 5,
    seconds: 60,
    trace: true,
    of: "indicated",
    unit: "bar",
    text: "Pressure",
  };
  await me.write("run", { label: "as found", plan: { steps: [step], screens: 1, duration_s: 60 } }, visit);
  const page = await pocket.begin(technician);
  await page.goto(`${plant.url}/visit/${visit}`);
  await page.getByRole("button", { name: "Take it from a logger's file" }).click();
  await page.locator("input[type=file]").setInputFiles(file);
  await page.getByLabel("gauge: zero when vented").check();
  const cdp = await page.context().newCDPSession(page);
  const browser = await page.context().browser()?.newBrowserCDPSession();
  const memory = async () => {
    if (!browser) {
      const m = await cdp.send("Runtime.getHeapUsage");
      return m.usedSize + (m.backingStorageSize ?? 0);
    }
    const { processInfo } = await browser.send("SystemInfo.getProcessInfo");
    return Math.max(
      ...processInfo
        .filter((p) => p.type === "renderer")
        .map((p) => Number(/VmRSS:\s+(\d+)/.exec(readFileSync(`/proc/${p.id}/status`, "utf8"))?.[1] ?? 0) * 1024),
    );
  };
  await cdp.send("Emulation.setCPUThrottlingRate", { rate: slower });
  await page.evaluate(() => {
    globalThis.longest = 0;
    let before = performance.now();
    const look = () => {
      const t = performance.now();
      globalThis.longest = Math.max(globalThis.longest, t - before);
      before = t;
      requestAnimationFrame(look);
    };
    look();
  });
  const atFirst = await memory();
  let most = 0;
  let over = false;
  const watch = (async () => {
    while (!over) {
      most = Math.max(most, await memory());
      await new Promise((done) => setTimeout(done, 100));
    }
  })();
  const begun = performance.now();
  await page.getByRole("button", { name: "These columns are right" }).click();
  await page.getByText("rows are used").waitFor({ timeout: 300_000 });
  const read = performance.now() - begun;
  const stood = await page.evaluate(() => globalThis.longest);
  const keeping = performance.now();
  await page.getByRole("button", { name: "Use this record" }).click();
  await page.getByText("Close this run").waitFor({ timeout: 300_000 });
  const kept = performance.now() - keeping;
  const stoodKeeping = await page.evaluate(() => globalThis.longest);
  over = true;
  await watch;
  const s = (ms) => `${(ms / 1000).toFixed(2)} s`;
  console.log(
    `${rows} rows, ${(size / 1e6).toFixed(1)} MB: read in ${s(read)} with the page slowed ${slower} times and the worker not; at most ${s(slower * read)} with both`,
  );
  console.log(
    `the page stood still for ${s(stood)} at most while it was read, ${s(stoodKeeping)} in all; kept in ${s(kept)}`,
  );
  console.log(
    `memory of the ${browser ? "page's process" : "page"} ${(atFirst / 1e6).toFixed(0)} MB before, at most ${(most / 1e6).toFixed(0)} MB`,
  );
  console.log(
    await page
      .locator("main")
      .innerText()
      .then((t) => t.split("\n").slice(0, 6).join(" | ")),
  );
} finally {
  rmSync(file, { force: true });
  await pocket.remove();
  await plant.remove();
}
