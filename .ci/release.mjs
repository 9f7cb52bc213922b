// Builds what is given out, into release/: static programs for Linux on amd64 and arm64, Debian
// packages of them, what they are made of (CycloneDX), and the SHA-256 of each. The same commit
// gives the same bytes: times are those of the commit. --check builds the commit once more from a clone
// in another folder, the client too, and compares every file. --arch=amd64 builds for one processor.
import { execFileSync } from "node:child_process";
import { createHash } from "node:crypto";
import {
  chmodSync,
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { gzipSync } from "node:zlib";

const root = resolve(import.meta.dirname, "..");
const run = (command, args, env = {}) =>
  execFileSync(command, args, { cwd: root, encoding: "utf8", maxBuffer: 1 << 28, env: { ...process.env, ...env } });
const go = process.env.GO ?? "go";
const inventory = "github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.10.0";
const packaging = join(root, "cmd/gaugewright/packaging");

const only = process.argv.find((a) => a.startsWith("--arch="))?.slice("--arch=".length);

/** when is the time of the commit, in seconds: what goes into files that have a time. */
const when = () => run("git", ["log", "-1", "--format=%ct"]).trim();

/** versionOf reads the release from the program's own source, its only home. */
function versionOf() {
  const found = /const release = "([^"]+)"/.exec(readFileSync(join(root, "cmd/gaugewright/version.go"), "utf8"));
  if (!found) throw new Error("cmd/gaugewright/version.go names no release");
  return found[1];
}

function program(arch, revision, out) {
  run(
    go,
    [
      "build",
      "-trimpath",
      "-buildvcs=false",
      "-ldflags",
      `-s -w -buildid= -X main.revision=${revision}`,
      "-o",
      out,
      "./cmd/gaugewright",
    ],
    { CGO_ENABLED: "0", GOOS: "linux", GOARCH: arch },
  );
}

/** debian makes a package: the program, its service and the file of its options. */
function debian(arch, version, from, to, time) {
  const tree = mkdtempSync(join(tmpdir(), "gaugewright-deb-"));
  try {
    const put = (name, mode, bytes) => {
      const path = join(tree, name);
      mkdirSync(resolve(path, ".."), { recursive: true });
      writeFileSync(path, bytes);
      chmodSync(path, mode);
    };
    put("usr/bin/gaugewright", 0o755, readFileSync(from));
    put("usr/lib/systemd/system/gaugewright.service", 0o644, readFileSync(join(packaging, "gaugewright.service")));
    put("usr/lib/sysusers.d/gaugewright.conf", 0o644, 'u gaugewright - "gaugewright" /var/lib/gaugewright\n');
    put("etc/gaugewright/gaugewright.env", 0o640, readFileSync(join(packaging, "gaugewright.env")));
    put("usr/share/doc/gaugewright/copyright", 0o644, readFileSync(join(root, "NOTICE")));
    put("usr/share/doc/gaugewright/LICENSE", 0o644, readFileSync(join(root, "LICENSE")));
    put(
      "usr/share/doc/gaugewright/changelog.gz",
      0o644,
      gzipSync(readFileSync(join(root, "CHANGELOG.md")), { level: 9 }),
    );
    const size = Math.ceil(walk(tree).reduce((n, f) => n + statSync(f).size, 0) / 1024);
    put("DEBIAN/conffiles", 0o644, "/etc/gaugewright/gaugewright.env\n");
    put(
      "DEBIAN/control",
      0o644,
      [
        "Package: gaugewright",
        `Version: ${version}`,
        `Architecture: ${arch}`,
        "Maintainer: the gaugewright authors <gaugewright@example.org>",
        "Section: science",
        "Priority: optional",
        `Installed-Size: ${size}`,
        "Description: records of the tests of pressure instruments",
        " Serves phones that work without a line and an office that signs off; keeps the",
        " record, issues certificates and finds what a standard that was out has touched.",
        "",
      ].join("\n"),
    );
    put(
      "DEBIAN/postinst",
      0o755,
      [
        "#!/bin/sh",
        "set -e",
        'if [ "$1" = configure ] && command -v systemd-sysusers >/dev/null; then',
        "  systemd-sysusers gaugewright.conf",
        "  chgrp gaugewright /etc/gaugewright/gaugewright.env || true",
        "  install -d -o gaugewright -g gaugewright -m 0700 /var/lib/gaugewright",
        "fi",
        "if [ -d /run/systemd/system ]; then systemctl daemon-reload; fi",
        "",
      ].join("\n"),
    );
    for (const folder of [tree, ...folders(tree)]) chmodSync(folder, 0o755); // whatever the umask is
    for (const f of walk(tree)) utimesSync(f, Number(time), Number(time));
    run("dpkg-deb", ["--root-owner-group", "-Zxz", "--build", tree, to], { SOURCE_DATE_EPOCH: time });
  } finally {
    rmSync(tree, { recursive: true });
  }
}

const walk = (dir) =>
  readdirSync(dir, { withFileTypes: true, recursive: true })
    .filter((e) => e.isFile())
    .map((e) => join(e.parentPath, e.name))
    .sort();

const folders = (dir) =>
  readdirSync(dir, { withFileTypes: true, recursive: true })
    .filter((e) => e.isDirectory())
    .map((e) => join(e.parentPath, e.name));

/** materials lists the parts of a program: Go modules and the packages of the client. */
function materials(to) {
  const bom = JSON.parse(
    run(
      go,
      [
        "run",
        inventory,
        "app",
        "-json",
        "-noserial",
        "-notimestamp",
        "-std",
        "-licenses",
        "-main",
        "cmd/gaugewright",
        ".",
      ],
      {
        CGO_ENABLED: "0",
      },
    ),
  );
  const client = JSON.parse(
    execFileSync("npm", ["sbom", "--omit", "dev", "--package-lock-only", "--sbom-format", "cyclonedx"], {
      cwd: join(root, "webapp"),
      encoding: "utf8",
    }),
  );
  bom.components = [...(bom.components ?? []), ...client.components].sort((a, b) =>
    a["bom-ref"] < b["bom-ref"] ? -1 : 1,
  );
  writeFileSync(to, `${JSON.stringify(bom, null, 2)}\n`);
}

function build(out) {
  if (!process.argv.includes("--no-sbom") && statSync(join(root, ".git")).isFile())
    throw new Error("build in a clone: the list of materials cannot be read in a worktree, whose .git is a file");
  rmSync(out, { recursive: true, force: true });
  mkdirSync(out, { recursive: true });
  const time = when();
  const version = versionOf();
  const revision = run("git", ["describe", "--always", "--dirty=.changed", "--abbrev=7", "--exclude", "*"]).trim();
  for (const arch of only ? [only] : ["amd64", "arm64"]) {
    const file = join(out, `gaugewright-linux-${arch}`);
    program(arch, revision, file);
    debian(arch, version, file, join(out, `gaugewright_${version}_${arch}.deb`), time);
  }
  copyFileSync(join(packaging, "gaugewright.service"), join(out, "gaugewright.service"));
  if (!process.argv.includes("--no-sbom")) materials(join(out, "gaugewright.cdx.json"));
  const sums = readdirSync(out)
    .sort()
    .map(
      (f) =>
        `${createHash("sha256")
          .update(readFileSync(join(out, f)))
          .digest("hex")}  ${f}\n`,
    )
    .join("");
  writeFileSync(join(out, "SHA256SUMS"), sums);
  return sums;
}

/**
 * elsewhere builds the same commit from a clone, in a folder of another name and length and with
 * another umask, and gives its hashes.
 */
function elsewhere(commit) {
  const place = mkdtempSync(join(tmpdir(), "gaugewright-built-again-in-another-folder-"));
  const clone = join(place, "a folder with blanks");
  try {
    run("git", ["clone", "--quiet", "--no-local", root, clone]);
    run("git", ["-C", clone, "checkout", "--quiet", "--detach", commit]);
    run("cp", ["-a", join(root, "webapp/node_modules"), join(clone, "webapp/node_modules")]);
    const more = process.argv.slice(2).filter((a) => a !== "--check");
    const sh = (...words) => run("sh", ["-c", `umask 0077; cd "$1"; shift; exec "$@"`, "sh", clone, ...words]);
    sh(go, "run", "./cmd/webbuild");
    sh("node", ".ci/release.mjs", ...more);
    return readFileSync(join(clone, "release/SHA256SUMS"), "utf8");
  } finally {
    run("chmod", ["-R", "u+w", place]);
    rmSync(place, { recursive: true });
  }
}

const checks = process.argv.includes("--check");
const commit = run("git", ["rev-parse", "HEAD"]).trim();
if (checks && run("git", ["status", "--porcelain", "--untracked-files=no"]) !== "")
  throw new Error("commit first: a clone has what is committed only");
const first = build(join(root, "release"));
process.stdout.write(first);
if (checks) {
  const second = elsewhere(commit);
  if (second !== first) throw new Error(`a second build in another folder has other bytes:\n${second}`);
  console.log("a second build in another folder has the same bytes");
}
