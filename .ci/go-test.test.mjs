import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import test from "node:test";
import { judge, lines } from "./go-test.mjs";

test("a list has a reason in each line", () => {
  assert.deepEqual(lines("# words\n\ncalc TestBits why not\n"), [{ pack: "calc", test: "TestBits", rest: "why not" }]);
  assert.throws(() => lines("calc TestBits\n"), /REASON/);
});

test("the lists are read", () => {
  for (const name of ["skips", "must-run"])
    assert.ok(lines(readFileSync(join(import.meta.dirname, name), "utf8")).length > 3);
});

test("a skip that nobody named is found", () => {
  const skips = lines("calc TestBits why\n");
  const end = (test, action) => ({ pack: "calc", test, action });
  assert.deepEqual(judge([end("TestBits", "skip"), end("TestA", "pass")], skips, [], true), []);
  assert.match(judge([end("TestA", "skip")], skips, [], true).join(), /skipped: calc TestA/);
  assert.match(judge([{ pack: "calc/units", test: "TestBits", action: "skip" }], skips, [], true).join(), /skipped/);
});

test("a test that must run has passed", () => {
  const must = lines("calc TestAgainstScipy python3-scipy\n");
  const end = (action) => [{ pack: "calc", test: "TestAgainstScipy", action }];
  assert.deepEqual(judge(end("pass"), [], must, true), []);
  assert.deepEqual(judge([], [], must, false), []);
  for (const ends of [[], end("skip"), end("fail")])
    assert.match(judge(ends, [], must, true).join(), /not passed: calc TestAgainstScipy \(needs python3-scipy\)/);
});
