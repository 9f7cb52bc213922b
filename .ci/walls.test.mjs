import assert from "node:assert/strict";
import test from "node:test";
import { crossed, idle, read } from "./walls.mjs";

test("an import against the table is named, however it is written", () => {
  const wrong = crossed([
    [
      "screens/visit/a.tsx",
      'import { b } from "./b";\nimport type { C } from "../round/c";\nexport { d } from "../round/deep/d";\nimport "../../parts/e";\n',
    ],
    ["screens/round/c.ts", 'import { f } from "../../shell/f";\nconst g = import("../visit/g");\n'],
    ["views/trace/h.ts", 'import { i } from "../../forms/i";\nimport { j } from "../../records/j";\n'],
    ["shell/f.tsx", 'import { a } from "../screens/visit/a";\n'],
    ["elsewhere/k.ts", ""],
  ]);
  assert.deepEqual(wrong, [
    "screens/visit/a.tsx imports ../round/c: screens/visit may not import screens/round",
    "screens/visit/a.tsx imports ../round/deep/d: screens/visit may not import screens/round",
    "screens/round/c.ts imports ../../shell/f: screens/round may not import shell",
    "screens/round/c.ts imports ../visit/g: screens/round may not import screens/visit",
    "views/trace/h.ts imports ../../forms/i: views may not import forms",
    "elsewhere/k.ts: the folder elsewhere is not in the table",
  ]);
});

test("a row that nothing needs is named", () => {
  assert.deepEqual(idle([["nav/a.ts", 'import "../words/b";\n']], { nav: "words link", gone: "" }), [
    "nav link: no file needs this",
    "gone: no file needs this",
  ]);
});

test("the client keeps to the table", () => {
  const files = read();
  assert.ok(files.length > 100, `${files.length} files`);
  assert.deepEqual(crossed(files), []);
  assert.deepEqual(idle(files), []);
});
