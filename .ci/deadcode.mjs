// Names each function that no command reaches, unless .ci/unreachable names it with its reason. The
// phone's module is named there as well: what it exports is called from outside, which deadcode
// does not see. A line of .ci/unreachable whose function is gone or reached fails as well. With
// --linked it asks the linker (.ci/linked), which takes a tenth of the time.
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { lines } from "./go-test.mjs";

const go = process.env.GO ?? "go";
const asked = process.argv.includes("--linked")
  ? ["run", "./.ci/linked"]
  : ["tool", "deadcode", "./cmd/...", "./calc/internal/bitdigest"];
const out = execFileSync(go, asked, {
  encoding: "utf8",
  maxBuffer: 1 << 26,
});
const found = new Map(); // PACKAGE FUNCTION to its position
for (const line of out.split("\n")) {
  const m = /^(.+)\/([^/]+\.go:\d+):\d+: unreachable func: (.+)$/.exec(line);
  if (m !== null) found.set(`${m[1]} ${m[3]}`, `${m[1]}/${m[2]}`);
}
const allowed = lines(readFileSync(join(import.meta.dirname, "unreachable"), "utf8"));
let bad = 0;
for (const [key, place] of found) {
  const [pack, func] = key.split(" ");
  if (allowed.some((a) => a.pack === pack && a.test === func)) continue;
  console.log(`${place}: nothing reaches ${func}`);
  bad++;
}
for (const a of allowed)
  if (!found.has(`${a.pack} ${a.test}`)) {
    console.log(`.ci/unreachable: ${a.pack} ${a.test} is gone or reached; take its line out`);
    bad++;
  }
process.exitCode = bad === 0 ? 0 : 1;
