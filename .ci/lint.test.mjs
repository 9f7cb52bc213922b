// .ci/lint finds what go vet and staticcheck find: it names a planted error of each, and its list
// has every analyser of go vet.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";

const go = process.env.GO ?? "go";
const root = join(import.meta.dirname, "..");
const lint = join(root, "bin", "lint");

function run(cwd, command, ...args) {
  const { status, stdout, stderr, error } = spawnSync(command, args, { cwd, encoding: "utf8" });
  if (error !== undefined) throw error;
  return { status, said: stdout + stderr };
}

if (!existsSync(lint)) {
  const built = run(root, go, "build", "-o", lint, "./.ci/lint");
  assert.equal(built.status, 0, built.said);
}

/** names reads the analysers that a tool's help lists. */
function names(help) {
  const list = /Registered analyzers:\n\n((?: {4}\S.*\n)+)/.exec(help);
  return list[1].trim().split(/\n/).map((line) => line.trim().split(/\s+/)[0]);
}

test("each analyser of go vet", () => {
  const ours = names(run(root, lint, "help").said);
  const theirs = names(run(root, go, "tool", "vet", "help").said);
  assert.ok(theirs.length > 25, `go vet lists ${theirs.length}`);
  assert.deepEqual(theirs.filter((name) => !ours.includes(name)), []);
  for (const name of ["SA4006", "S1002", "ST1005", "U1000report"]) assert.ok(ours.includes(name), name);
});

// One error in each marked line: of go vet, of each part of staticcheck, and unused code; code that
// only a test uses counts as used.
const planted = {
  "go.mod": "module planted\n\ngo 1.26\n",
  "planted.go": `// Package planted has errors.
package planted

import (
	"errors"
	"strconv"
)

// Wrong is sent.
func Wrong(yes bool, n int) (string, error) {
	if yes == true { // want S1002
		return "", errors.New("Begins large.") // want ST1005
	}
	s := strconv.Itoa(n) // want SA4006
	s = "other"
	return s, nil
}

func alone() {} // want U1000

func ofTheTest() int { return 1 }
`,
  "planted_test.go": `package planted

import "testing"

func TestIt(t *testing.T) {
	t.Logf("%d", "a text") // want printf
	if ofTheTest() != 1 {
		t.Fail()
	}
}
`,
};

test("a planted error of each kind, and nothing else", () => {
  const dir = mkdtempSync(join(tmpdir(), "lint-"));
  try {
    const want = [];
    for (const [name, text] of Object.entries(planted)) {
      writeFileSync(join(dir, name), text);
      for (const [i, line] of text.split("\n").entries()) if (line.includes("// want")) want.push(`${name}:${i + 1}`);
    }
    const { status, said } = run(dir, go, "vet", `-vettool=${lint}`, "./...");
    const found = [...said.matchAll(/(planted\w*\.go:\d+):\d+: /g)].map((m) => m[1]);
    assert.deepEqual([...new Set(found)].sort(), want.sort(), said);
    assert.notEqual(status, 0);
  } finally {
    rmSync(dir, { recursive: true });
  }
});
