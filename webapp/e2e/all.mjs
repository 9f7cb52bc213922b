// Runs every browser test, a file after another, and says how long each took. A file that fails is run once more and its second try is said aloud: a
// browser on a busy machine can miss a beat. One that fails twice has failed.
import { spawnSync } from "node:child_process";
import { readdirSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const wanted = process.argv.slice(2);
const files = readdirSync(here)
  .filter((f) => f.endsWith(".test.mjs") && (wanted.length === 0 || wanted.some((w) => f.startsWith(w))))
  .sort();
if (files.length === 0) throw new Error(`no browser test is called ${wanted.join(" or ")}`);

const told = [];
let failed = 0;
for (const file of files) {
  const began = performance.now();
  let tries = 0;
  let good = false;
  while (!good && tries < 2) {
    tries++;
    good = spawnSync(process.execPath, ["--test", "--test-reporter=spec", join(here, file)], { stdio: "inherit" }).status === 0;
  }
  if (!good) failed++;
  const seconds = ((performance.now() - began) / 1000).toFixed(0);
  told.push(`${file}: ${good ? "passed" : "FAILED"}${good && tries > 1 ? " at the second try" : ""} in ${seconds} s`);
}
console.log(told.join("\n"));
process.exitCode = failed === 0 ? 0 : 1;
