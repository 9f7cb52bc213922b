// Runs our exchange and a general-purpose peer (a replicating document database over HTTP) in turn
// on one machine.
// Usage: node side.mjs [--runs 3] [--peer FOLDER (where it is installed)] [--big 100000] [--n
// 10000] [--store postgres: ours keeps the plant in a PostgreSQL server that is started for it]
import { execFileSync, spawn } from "node:child_process";
import { chmodSync, cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync } from "node:fs";
import { createRequire } from "node:module";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { browser, pulled, replicated } from "./browser.mjs";
import { ours } from "./ours.mjs";
import { postgres } from "./postgres.mjs";
import { captures, counting, median, now, record } from "./records.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const root = join(here, "../..");
const option = (name, otherwise) => {
  const i = process.argv.indexOf(`--${name}`);
  return i < 0 ? otherwise : process.argv[i + 1];
};
const [runs, n, big, batch] = [
  Number(option("runs", 3)),
  Number(option("n", 10_000)),
  Number(option("big", 100_000)),
  500,
];
const folder = mkdtempSync(join(tmpdir(), "gaugewright-bench-"));
const password = "a long enough secret";
const processes = new Set();
process.on("exit", () => {
  for (const p of processes) p.kill("SIGKILL");
  rmSync(folder, { recursive: true, force: true });
});

const freePort = () =>
  new Promise((done) => {
    const s = createServer().listen(0, "127.0.0.1", () => {
      const { port } = s.address();
      s.close(() => done(port));
    });
  });

/** start runs a program and waits until it reports that it serves. */
const start = (file, args, env = {}) =>
  new Promise((done, failed) => {
    const begun = now();
    const p = spawn(file, args, { env: { ...process.env, ...env }, stdio: ["ignore", "pipe", "pipe"] });
    processes.add(p);
    let said = "";
    const hear = (d) => {
      said += d;
      if (/^serving/m.test(said)) done({ p, ms: now() - begun });
    };
    p.stdout.on("data", hear);
    p.stderr.on("data", hear);
    p.on("exit", (code) => (processes.delete(p), failed(new Error(`${file} ended with ${code}: ${said.slice(-500)}`))));
  });

const stop = (s) => new Promise((done) => (s.p.on("exit", done), s.p.kill("SIGKILL")));
const memory = (s) =>
  Object.fromEntries(
    [...readFileSync(`/proc/${s.p.pid}/status`, "utf8").matchAll(/^(VmHWM|VmRSS|RssAnon):\s+(\d+)/gm)].map((m) => [
      m[1],
      Number(m[2]) / 1024,
    ]),
  );

/** processor gives the processor time in milliseconds that a server has used so far. */
const processor = (s) =>
  readdirSync(`/proc/${s.p.pid}/task`)
    .map((task) => Number(readFileSync(`/proc/${s.p.pid}/task/${task}/schedstat`, "utf8").split(" ")[0]) / 1e6)
    .reduce((a, b) => a + b, 0);

function installed() {
  const given = option("peer", "");
  if (given) return given;
  const to = join(folder, "peer");
  cpSync(join(here, "peer"), to, { recursive: true });
  try {
    execFileSync("npm", ["ci", "--no-audit", "--no-fund", "--loglevel=error"], {
      cwd: to,
      stdio: ["ignore", "ignore", "pipe"],
      timeout: 300_000,
    });
    return to;
  } catch (e) {
    console.log(
      `without the peer, which could not be installed: ${String(e.stderr ?? e)
        .trim()
        .split("\n")
        .slice(-2)
        .join(" ")}`,
    );
    return "";
  }
}

const wanted = option("store") === "postgres";
if (wanted) chmodSync(folder, 0o755); // the database has a user of its own
const database = wanted ? await postgres(join(folder, "postgres")) : undefined;
if (database) processes.add(database.server);

const records = Array.from({ length: n }, (_, i) => record(i));
const readings = captures(n, 100);
const payload = records.reduce((sum, r) => sum + JSON.stringify(r).length, 0);
const few = (k) => Array.from({ length: 10 }, (_, i) => record(1e5 + k * 10 + i, "few"));
const lists = Array.from({ length: 50 }, (_, c) => Array.from({ length: 40 }, (_, i) => record(c * 40 + i, `c${c}`)));
const figures = { ours: {}, peer: {} };
const note = (who, what, value) => (figures[who][what] ??= []).push(value);

/** play takes one driver through all steps; line counts bytes where there is one, inBrowser pulls into one. */
async function play(who, d, line, server, inBrowser) {
  const step = async (what, work) => {
    line?.take();
    const ms = await work();
    if (line) {
      const b = line.take();
      note(who, `${what} up`, b.up);
      note(who, `${what} down`, b.down);
    } else note(who, what, ms);
    console.log(`  ${who} ${what}: ${ms.toFixed(1)} ms`);
  };
  if (d.raw) await step("raw", () => d.raw(records));
  await step("push", () => d.push(records));
  await step("pull", () => d.pull());
  if ((await d.stored()) !== n) throw new Error(`${who} pulled ${await d.stored()} of ${n}`);
  if (!line && browser()) await step("pull in a browser", inBrowser);
  for (let i = 0; i < 15; i++) await step("idle", () => d.idle());
  for (let i = 0; i < 7; i++) await step("few", () => d.few(few(i)));
  const before = processor(server);
  await step("many", () => d.many(lists));
  if (!line) note(who, "many, processor", processor(server) - before);
  if (d.captures) await step("captures", () => d.captures(readings));
  else await step("captures, raw", () => d.raw(readings.map((r, i) => ({ _id: `capture-${i}`, ...r }))));
}

async function ourRun(binary, run, count) {
  const data = join(folder, `ours-${run}`);
  const port = await freePort();
  const store = database ? ["--store", database.plant()] : [];
  const serve = (...more) =>
    start(binary, ["serve", "--data", data, "--addr", `127.0.0.1:${port}`, ...store, ...more], {
      GAUGEWRIGHT_FIRST_PASSWORD: password,
    });
  let s = await serve("--new");
  const line = count ? await counting(port) : undefined;
  const d = await ours({ port: line?.port ?? port, folder, run, batch, password });
  await play("ours", d, line, s, () => pulled(`http://localhost:${port}`, password, n));
  line?.close();
  if (count || run !== runs) return void (await stop(s));
  note("ours", "memory", memory(s).VmHWM);
  if (big > n) {
    // The same ten changes against a journal ten times as long; then a start on it.
    for (let i = n; i < big; i += 5000)
      await d.push(Array.from({ length: Math.min(5000, big - i) }, (_, k) => record(i + k)));
    await d.pull();
    for (let i = 0; i < 15; i++) {
      const ms = await d.few(few(100 + i));
      note("ours", "few, big", ms);
    }
    await stop(s);
    for (let i = 0; i < 3; i++) {
      s = await serve();
      note("ours", "start", s.ms);
      if (i < 2) await stop(s);
    }
    note("ours", "memory at start", memory(s).VmHWM);
    const again = await ours({ port, folder, run: `${run}again`, batch, password });
    await again.push(few(999));
    note("ours", "memory serving", memory(s).VmHWM);
    note("ours", "memory of its own", memory(s).RssAnon);
  }
  await stop(s);
}

async function peerRun(peer, run, count) {
  const port = await freePort();
  const s = await start("node", [join(peer, "serve.cjs"), String(port), join(folder, `peer-${run}`)]);
  const line = count ? await counting(port) : undefined;
  const local = join(folder, "peer-local");
  mkdirSync(local, { recursive: true });
  const drive = createRequire(join(peer, "package.json"))("./drive.cjs");
  await play(
    "peer",
    await drive({
      url: `http://127.0.0.1:${line?.port ?? port}`,
      folder: local,
      run: `r${run}${count ? "b" : ""}`,
      batch,
    }),
    line,
    s,
    () => replicated(`http://127.0.0.1:${port}`, `mainr${run}`, n, batch),
  );
  if (!count) note("peer", "memory", memory(s).VmHWM);
  line?.close();
  await stop(s);
}

/** metric reads a figure of a Go benchmark. */
function metric(text, name, unit) {
  const line = text.split("\n").find((l) => l.startsWith(name));
  const m = line?.match(new RegExp(`([\\d.e+]+) ${unit.replace("/", "\\/")}`));
  return m ? Number(m[1]) : Number.NaN;
}
const goBench = (env, ...args) =>
  execFileSync("go", ["test", "-run", "NONE", ...args], {
    cwd: root,
    env: { ...process.env, ...env },
    encoding: "utf8",
  });

/** onDisk adds what the folder's own store writes and how often it syncs. */
function onDisk(add) {
  const disk = goBench({}, "-bench", "Acknowledged", "-benchtime", "1x", "./sync/store");
  for (const [clients, least] of [
    [1, 0.6],
    [50, 7],
  ]) {
    const of = (unit) => metric(disk, `BenchmarkAcknowledged/clients=${clients}`, unit);
    add(
      `acknowledged changes, ${clients} at once / raw fsyncs`,
      of("acknowledged/s"),
      of("fsyncs/s"),
      "/s",
      `${least} × (right: fsyncs)`,
      of("ratio") >= least,
    );
  }
  const wear = goBench({}, "-bench", "Wear", "-benchtime", "3000x", "./sync/store");
  for (const [shape, what] of [
    ["new", "written to disk for a small new record"],
    ["runs", "  for a reading of a run"],
  ]) {
    const kB = metric(wear, `BenchmarkWear/${shape}`, "kB/change");
    add(what, kB, Number.NaN, "kB", "8 kB", kB <= 8);
  }
}

function table() {
  const o = (k) => median(figures.ours[k] ?? [Number.NaN]);
  const p = (k) => median(figures.peer[k] ?? [Number.NaN]);
  const both = (k) => o(`${k} up`) + o(`${k} down`);
  const peerBoth = (k) => p(`${k} up`) + p(`${k} down`);
  const rows = [];
  const add = (what, mine, its, unit, goal, met) => {
    const f = (x) =>
      Number.isFinite(x) ? `${x >= 100 ? Math.round(x).toLocaleString("en-US") : x.toPrecision(3)} ${unit}` : "–";
    const ratio = Number.isFinite(mine / its) ? (mine / its).toPrecision(2) : "–";
    rows.push([what, f(mine), f(its), ratio, goal, met === undefined ? "–" : met ? "met" : "NOT met"]);
  };
  const versus = (met, its) => (Number.isFinite(its) ? met : undefined);
  const rate = (ms) => (n / ms) * 1000;
  add(
    `push ${n} records, every answer synced`,
    rate(o("push")),
    rate(p("raw")),
    "/s",
    "3 × the peer's raw bulk",
    versus(rate(o("push")) >= 3 * rate(p("raw")), p("raw")),
  );
  add(
    `push ${n} readings on 100 runs, 200 at once`,
    rate(o("captures")),
    rate(p("captures, raw")),
    "/s",
    "3 × the peer's raw bulk of them, as records",
    versus(rate(o("captures")) >= 3 * rate(p("captures, raw")), p("captures, raw")),
  );
  add(
    "  time of that, against the same number of new records",
    o("captures"),
    o("push"),
    "ms",
    "1.3 × (right: new records)",
    o("captures") <= 1.3 * o("push"),
  );
  add("  push against the peer's replication", rate(o("push")), rate(p("push")), "/s", "", undefined);
  add(
    `pull ${n} records to a fresh device`,
    o("pull"),
    p("pull"),
    "ms",
    "1/5 of the peer",
    versus(o("pull") <= p("pull") / 5, p("pull")),
  );
  add(
    "  in a browser, merged and written there",
    o("pull in a browser"),
    p("pull in a browser"),
    "ms",
    "",
    undefined,
  );
  add("idle: time", o("idle"), p("idle"), "ms", "2 ms, one request", o("idle") <= 2);
  add("idle: bytes both ways", both("idle"), peerBoth("idle"), "B", "600 B", both("idle") <= 600);
  add(
    `10 changes against ${n}`,
    o("few"),
    p("few"),
    "ms",
    "1/5 of the peer",
    versus(o("few") <= p("few") / 5, p("few")),
  );
  add("  bytes both ways", both("few"), peerBoth("few"), "B", "24,000 B", both("few") <= 24_000);
  add(
    `10 changes against ${big}`,
    o("few, big"),
    o("few"),
    "ms",
    "1.2 × of the small base (right)",
    o("few, big") <= 1.2 * o("few"),
  );
  add(
    "50 clients × 40 records",
    o("many"),
    p("many"),
    "ms",
    "1/2 of the peer's raw bulk",
    versus(o("many") <= p("many") / 2, p("many")),
  );
  const each = (o("many, processor") * 1000) / lists.flat().length;
  const peerEach = (p("many, processor") * 1000) / lists.flat().length;
  add("  processor of the server for each", each, peerEach, "µs", "25 µs", each <= 25);
  add(
    "push on the wire / payload",
    o("push up") / payload,
    p("push up") / payload,
    "",
    "0.70",
    o("push up") / payload <= 0.7,
  );
  add("memory at its highest, after all this", o("memory"), p("memory"), "MB", "", undefined);
  add(`start with ${big} records`, o("start"), Number.NaN, "ms", "100 ms", o("start") <= 100);
  add(
    "  memory at its highest then, having served",
    o("memory serving"),
    Number.NaN,
    "MB",
    "60 MB",
    o("memory serving") <= 60,
  );
  add("    of that its own; the rest are pages of files", o("memory of its own"), Number.NaN, "MB", "", undefined);
  if (!database) onDisk(add); // what PostgreSQL writes is its own
  const native = metric(goBench({}, "-bench", "Merge$", "./sync/merge"), "BenchmarkMerge", "changes/s");
  add("merge, native", native, Number.NaN, "changes/s", "50,000", native >= 50_000);
  const exec = join(execFileSync("go", ["env", "GOROOT"], { encoding: "utf8" }).trim(), "lib/wasm/go_js_wasm_exec");
  const wasm = metric(
    goBench({ GOOS: "js", GOARCH: "wasm" }, "-exec", exec, "-bench", "Merge$", "./sync/merge"),
    "BenchmarkMerge",
    "changes/s",
  );
  add("merge, WebAssembly in Node", wasm, Number.NaN, "changes/s", "", undefined);
  const width = [0, 1, 2, 3, 4, 5].map((i) =>
    Math.max(...rows.map((r) => r[i].length), ["what", "ours", "peer", "ratio", "goal", ""][i].length),
  );
  const print = (r) =>
    console.log(r.map((c, i) => (i === 0 || i > 3 ? c.padEnd(width[i]) : c.padStart(width[i]))).join("  "));
  console.log(
    `\nmedians of ${runs} alternating runs; bytes from one run each over a counting line; node ${process.version}`,
  );
  print(["what", "ours", "peer", "ratio", "goal", ""]);
  rows.forEach(print);
  console.log(
    "The peer does not sync its disk before it answers. Its client writes into a database on disk; ours writes what " +
      "it pulls into a file and syncs that. In the browser both merge and write into IndexedDB.",
  );
}

const peer = installed();
const binary = join(folder, "gaugewright");
execFileSync("go", ["build", "-trimpath", "-o", binary, "./cmd/gaugewright"], { cwd: root, stdio: "inherit" });
for (let run = 1; run <= runs; run++) {
  console.log(`run ${run}`);
  await ourRun(binary, run, false);
  if (peer) await peerRun(peer, run, false);
}
await ourRun(binary, "bytes", true);
if (peer) await peerRun(peer, "bytes", true);
table();
await database?.end();
process.exit(0);
