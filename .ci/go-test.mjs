// Runs go test and lists the skipped tests. A skip fails the run unless .ci/skips names the test,
// with a reason. With --whole, each test in .ci/must-run must have passed: these need programs that
// a machine may lack. The other arguments are those of go test.
import { spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { createInterface } from "node:readline";

/** lines reads a list: "PACKAGE TEST rest", where # begins a comment. */
export function lines(text) {
  const list = [];
  for (const line of text.split("\n")) {
    const m = /^(\S+) (\S+) (.+)$/.exec(line);
    if (m !== null && !line.startsWith("#")) list.push({ pack: m[1], test: m[2], rest: m[3] });
    else if (line.trim() !== "" && !line.startsWith("#"))
      throw new Error(`a list line reads ${JSON.stringify(line)}; PACKAGE TEST REASON is needed`);
  }
  return list;
}

/** judge returns what is wrong with the results of tests: { pack, test, action } each. */
export function judge(ends, skips, must, whole) {
  const wrong = [];
  for (const e of ends)
    if (e.action === "skip" && !skips.some((s) => s.pack === e.pack && s.test === e.test))
      wrong.push(`skipped: ${e.pack} ${e.test} (.ci/skips does not name it)`);
  if (whole)
    for (const m of must)
      if (!ends.some((e) => e.pack === m.pack && e.test === m.test && e.action === "pass"))
        wrong.push(`not passed: ${m.pack} ${m.test} (needs ${m.rest})`);
  return wrong;
}

async function main() {
  const here = import.meta.dirname;
  const skips = lines(readFileSync(join(here, "skips"), "utf8"));
  const must = lines(readFileSync(join(here, "must-run"), "utf8"));
  const args = process.argv.slice(2);
  const whole = args[0] === "--whole";
  const child = spawn(process.env.GO ?? "go", ["test", "-json", ...(whole ? args.slice(1) : args)], {
    stdio: ["ignore", "pipe", "inherit"],
  });
  const ended = new Promise((done) => child.on("close", done));
  const ends = [];
  const said = new Map(); // the output of tests that have not ended
  for await (const line of createInterface({ input: child.stdout })) {
    let e;
    try {
      e = JSON.parse(line);
    } catch {
      console.log(line); // the go command's own output
      continue;
    }
    const pack = (e.Package ?? e.ImportPath ?? "").replace(/^gaugewright\/?/, "") || ".";
    const key = `${pack} ${e.Test ?? ""}`;
    switch (e.Action) {
      case "build-output":
        process.stdout.write(e.Output);
        break;
      case "output":
        said.set(key, (said.get(key) ?? "") + e.Output);
        break;
      case "pass":
      case "fail":
      case "skip":
        if (e.Test !== undefined) ends.push({ pack, test: e.Test, action: e.Action });
        if (e.Action === "fail") process.stdout.write(said.get(key) ?? "");
        else if (e.Test === undefined && e.Action === "pass")
          console.log(`ok  ${pack} ${e.Elapsed?.toFixed(1) ?? ""} s`);
        said.delete(key);
        break;
    }
  }
  const code = await ended;
  const wrong = judge(ends, skips, must, whole);
  const passed = ends.filter((e) => e.action === "pass").length;
  const failed = ends.filter((e) => e.action === "fail").length;
  console.log(`${passed} tests passed, ${failed} failed, ${ends.length - passed - failed} skipped`);
  for (const w of wrong) console.log(w);
  process.exitCode = code !== 0 || wrong.length > 0 || passed === 0 ? 1 : 0;
}

if (process.argv[1] === import.meta.filename) await main();
