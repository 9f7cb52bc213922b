// Runs every browser test, one file after another, and prints how long each took. A file that fails
// is not run again. What its pages showed at the end of each failed test is kept under
// webapp/build/e2e. The arguments are beginnings of the names of the files to run.
import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { Plant } from "./plant.mjs";

const here = import.meta.dirname;
const kept = resolve(here, "../build/e2e");
const wanted = process.argv.slice(2);
const files = readdirSync(here)
  .filter((f) => f.endsWith(".test.mjs") && (wanted.length === 0 || wanted.some((w) => f.startsWith(w))))
  .sort();
if (files.length === 0) throw new Error(`no browser test is called ${wanted.join(" or ")}`);

const made = mkdtempSync(join(tmpdir(), "gaugewright-made-"));
await (await Plant.make()).keep(made);
const ends = [];
let failed = 0;
for (const file of files) {
  const began = performance.now();
  const folder = join(kept, file.replace(/\.test\.mjs$/, ""));
  rmSync(folder, { recursive: true, force: true });
  const args = ["--import", join(here, "keep.mjs"), "--test-reporter=spec", join(here, file)];
  const env = { ...process.env, KEEP: folder, MADE_PLANT: made };
  const good = spawnSync(process.execPath, args, { stdio: "inherit", env }).status === 0;
  if (!good) failed++;
  const seconds = ((performance.now() - began) / 1000).toFixed(0);
  ends.push(
    `${file}: ${good ? "passed" : "FAILED"} in ${seconds} s${existsSync(folder) ? `; pictures in ${folder}` : ""}`,
  );
}
rmSync(made, { recursive: true });
console.log(ends.join("\n"));
process.exitCode = failed === 0 ? 0 : 1;
