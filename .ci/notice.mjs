// Writes NOTICE: other people's code in the program and the client, with its licences. The Go
// modules are those linked into bin/gaugewright and the phone's module on any system; the packages
// are those that the client's bundles may hold. Texts come from the module cache and
// webapp/node_modules. With --check it only reports where NOTICE differs.
import { execFileSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";

const root = resolve(import.meta.dirname, "..");
const go = (args, env = {}) =>
  execFileSync(process.env.GO ?? "go", args, { cwd: root, encoding: "utf8", env: { ...process.env, ...env } }).trim();

/** texts finds the licence texts of a folder by their file names. */
function texts(dir) {
  return readdirSync(dir, { withFileTypes: true })
    .filter((f) => f.isFile())
    .map((f) => f.name)
    .filter((f) => /^(licen[cs]e|copying|notice|patents)/i.test(f))
    .sort()
    .map((f) => readFileSync(join(dir, f), "utf8").replaceAll("\r\n", "\n").trim());
}

/** modules are the Go modules that are linked, with the standard library. */
function modules() {
  const found = new Map();
  for (const [target, ...command] of [
    ["linux", "./cmd/gaugewright"],
    ["darwin", "./cmd/gaugewright"],
    ["windows", "./cmd/gaugewright"],
    ["wasip1", "./cmd/gaugewasm"],
  ]) {
    const env = { GOOS: target, CGO_ENABLED: "0", ...(target === "wasip1" ? { GOARCH: "wasm" } : {}) };
    const out = go(
      [
        "list",
        "-deps",
        "-f",
        "{{with .Module}}{{if not .Main}}{{.Path}}\t{{.Version}}\t{{.Dir}}{{end}}{{end}}",
        ...command,
      ],
      env,
    );
    for (const line of out.split("\n").filter((l) => l !== "")) {
      const [path, version, dir] = line.split("\t");
      found.set(path, { name: path, version, texts: texts(dir) });
    }
  }
  const version = /^go (\d+\.\d+)/m.exec(readFileSync(join(root, "go.mod"), "utf8"))[1];
  return [
    { name: "the Go standard library and runtime", version, texts: texts(go(["env", "GOROOT"])) },
    ...[...found.values()].sort((a, b) => (a.name < b.name ? -1 : 1)),
  ];
}

const mit = (holder) => `MIT License

${holder}

Permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated documentation files (the
"Software"), to deal in the Software without restriction, including without limitation the rights to use, copy, modify, merge, publish,
distribute, sublicense, and/or sell copies of the Software, and to permit persons to whom the Software is furnished to do so, subject to the
following conditions:

The above copyright notice and this permission notice shall be included in all copies or substantial portions of the Software.

THE SOFTWARE IS PROVIDED "AS IS", WITHOUT WARRANTY OF ANY KIND, EXPRESS OR IMPLIED, INCLUDING BUT NOT LIMITED TO THE WARRANTIES OF
MERCHANTABILITY, FITNESS FOR A PARTICULAR PURPOSE AND NONINFRINGEMENT. IN NO EVENT SHALL THE AUTHORS OR COPYRIGHT HOLDERS BE LIABLE FOR ANY
CLAIM, DAMAGES OR OTHER LIABILITY, WHETHER IN AN ACTION OF CONTRACT, TORT OR OTHERWISE, ARISING FROM, OUT OF OR IN CONNECTION WITH THE
SOFTWARE OR THE USE OR OTHER DEALINGS IN THE SOFTWARE.`;

/**
 * packages are npm's non-development dependencies. A package without a licence file names its
 * holder in its source.
 */
function packages() {
  const lock = JSON.parse(readFileSync(join(root, "webapp/package-lock.json"), "utf8"));
  return Object.entries(lock.packages)
    .filter(([path, p]) => path.startsWith("node_modules/") && !p.dev)
    .map(([path, p]) => {
      const dir = join(root, "webapp", path);
      const found = texts(dir);
      if (found.length === 0 && p.license === "MIT") {
        const main = join(dir, JSON.parse(readFileSync(join(dir, "package.json"), "utf8")).main ?? "index.js");
        const holder = existsSync(main) ? /Copyright \(c\).*/i.exec(readFileSync(main, "utf8"))?.[0] : undefined;
        if (holder !== undefined) found.push(mit(holder.trim()));
      }
      return { name: path.replace("node_modules/", ""), version: p.version, texts: found };
    })
    .sort((a, b) => (a.name < b.name ? -1 : 1));
}

/**
 * written is the text of NOTICE: the list of components, then each licence once, with its
 * components.
 */
export function written(parts) {
  const bare = parts.filter((p) => p.texts.length === 0);
  if (bare.length > 0) throw new Error(`no licence text: ${bare.map((p) => p.name).join(", ")}`);
  const by = new Map();
  for (const p of parts) for (const t of p.texts) by.set(t, [...(by.get(t) ?? []), p.name]);
  const rule = "-".repeat(100);
  const list = parts.map((p) => `  ${p.name} ${p.version}`).join("\n");
  const all = [...by].map(([t, names]) => `${rule}\n${names.join("\n")}\n${rule}\n${t}\n`).join("\n");
  return `gaugewright\n\nIts licence is in LICENSE. The program and the client carry the following works of others.\n\n${list}\n\n${all}`;
}

if (process.argv[1] === import.meta.filename) {
  const text = written([...modules(), ...packages()]);
  const file = join(root, "NOTICE");
  if (process.argv[2] !== "--check") writeFileSync(file, text);
  else if (!existsSync(file) || readFileSync(file, "utf8") !== text) {
    const names = (t) => new Set(t.match(/^ {2}\S.*$/gm) ?? []);
    const [now, was] = [names(text), names(existsSync(file) ? readFileSync(file, "utf8") : "")];
    for (const n of now) if (!was.has(n)) console.log(`NOTICE lacks${n}`);
    for (const n of was) if (!now.has(n)) console.log(`NOTICE names${n}, which is not carried`);
    console.log("NOTICE is not up to date: run make notice");
    process.exitCode = 1;
  }
}
