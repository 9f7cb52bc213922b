// Runs Lighthouse on the round and on an instrument's page, on a phone that is logged in. The
// results are printed, not judged. `make lighthouse` fetches Lighthouse from npm for the run;
// LIGHTHOUSE names an installed program.
import { execFileSync, spawn } from "node:child_process";
import { flags, Plant, ready } from "./plant.mjs";
import { Pocket } from "./pocket.mjs";

const port = 9333;
const kinds = ["performance", "accessibility", "best-practices"];
const program = process.env.LIGHTHOUSE ? [process.env.LIGHTHOUSE] : ["npx", "--yes", "lighthouse@12"];

const plant = await Plant.make();
const pocket = new Pocket(plant);
let browser;
try {
  const page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  const instrument = await page.locator("main a[href^='/instrument/']").first().getAttribute("href");
  await pocket.close(); // from here on Lighthouse uses the browser alone
  browser = spawn(
    process.env.CHROMIUM ?? "/usr/bin/chromium",
    [...flags, `--user-data-dir=${pocket.profile}`, `--remote-debugging-port=${port}`, "about:blank"],
    { stdio: "ignore" },
  );
  for (const [name, path] of [
    ["round", "/"],
    ["instrument", instrument],
  ]) {
    const [command, ...first] = program;
    const given = [
      ...first,
      plant.url + path,
      `--port=${port}`,
      "--disable-storage-reset",
      "--output=json",
      "--quiet",
      `--only-categories=${kinds.join()}`,
    ];
    const report = JSON.parse(
      execFileSync(command, given, { maxBuffer: 1 << 28, encoding: "utf8", stdio: ["ignore", "pipe", "inherit"] }),
    );
    console.log(`${name}: ${kinds.map((k) => `${k} ${Math.round(report.categories[k].score * 100)}`).join(", ")}`);
    const lost = Object.values(report.audits).filter((a) => a.score !== null && a.score < 0.9);
    for (const a of lost) console.log(`    ${a.id}: ${a.displayValue ?? a.title}`);
  }
} finally {
  if (browser) {
    const ended =
      browser.exitCode === null && browser.signalCode === null
        ? new Promise((done) => browser.once("exit", done))
        : undefined;
    browser.kill("SIGKILL");
    await ended;
  }
  await pocket.remove();
  await plant.remove();
}
