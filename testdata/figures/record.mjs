// Runs a command, shows what it prints, and keeps it in testdata/figures/NAME.txt under the date,
// the commit and the machine: node testdata/figures/record.mjs NAME COMMAND…
// A command that fails leaves the earlier file as it is.
import { execFileSync, spawn } from "node:child_process";
import { writeFileSync } from "node:fs";
import { cpus, loadavg, release, totalmem, type } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";

const [name, command, ...args] = process.argv.slice(2);
if (!command || !/^[a-z-]+$/.test(name)) throw new Error("say a name of small letters and hyphens, and a command");
const here = dirname(fileURLToPath(import.meta.url));
const git = (...a) => execFileSync("git", a, { cwd: here, encoding: "utf8" }).trim();
const changed = git("status", "--porcelain", "--untracked-files=no") !== "";
const head = [
  `date     ${new Date().toISOString().slice(0, 10)}`,
  `commit   ${git("rev-parse", "--short=12", "HEAD")}${changed ? ", with changes that are not committed" : ""}`,
  `machine  ${cpus()[0].model}, ${cpus().length} processors, ${(totalmem() / 2 ** 30).toFixed(0)} GiB, ${type()} ${release()}`,
  `load     ${loadavg()[0].toFixed(1)} before`,
  `node     ${process.version}`,
  `command  ${[command, ...args].join(" ")}`,
];

const child = spawn(command, args, { stdio: ["inherit", "pipe", "inherit"] });
let text = "";
child.stdout.setEncoding("utf8");
child.stdout.on("data", (piece) => {
  text += piece;
  process.stdout.write(piece);
});
child.on("error", (e) => {
  throw e;
});
child.on("close", (code) => {
  if (code !== 0) process.exit(code ?? 1);
  writeFileSync(join(here, `${name}.txt`), `${head.join("\n")}\n\n${text.trimEnd()}\n`);
});
