import assert from "node:assert/strict";
import { test } from "node:test";
import { layoutOf } from "../src/views/connection";
import { connectionWords } from "../src/words/connection";
import { connection as german } from "../src/words/de/connection";
import { kindsWords } from "../src/words/kinds";

test("each kind of work has a drawing of its own parts, from the source to what is tested", () => {
  const tested = ["instrument", "system", "disc"];
  for (const kind of [...Object.keys(kindsWords.things), "programme"])
    for (const more of [{}, { signal: true }, { together: true }]) {
      const { parts, note } = layoutOf(kind, more);
      assert.ok(["source", "tester"].includes(parts[0] ?? ""), `${kind}: ${parts[0]} comes first`);
      assert.equal(new Set(parts).size, parts.length, `${kind}: a part is there twice`);
      assert.equal(parts.filter((p) => tested.includes(p)).length, 1, `${kind}: ${parts}`);
      // Gas that is shut in must have a way out that is no part of what is tested.
      assert.ok(parts.includes("vent") || parts[0] === "tester", `${kind}: nothing vents it`);
      assert.ok(parts.includes("standard") || parts[0] === "tester", `${kind}: no standard`);
      for (const words of [connectionWords, german]) {
        for (const p of parts) assert.ok(words.parts[p].length > 3, `${kind}: ${p} has no name`);
        assert.ok(words.notes[note].length > 20, `${kind}: ${note} says nothing`);
      }
    }
  const parts = (kind: string, more = {}): readonly string[] => layoutOf(kind, more).parts;
  assert.ok(parts("gauge", { signal: true }).includes("loop"));
  assert.ok(!parts("gauge").includes("loop"));
  assert.ok(parts("gauge", { together: true }).includes("others"));
  assert.ok(parts("switch").includes("contact"));
  // Who loses control of a pitot-static system joins pitot to static first: the valve is shown.
  for (const kind of ["airspeed", "pitot-static-leak"]) assert.ok(parts(kind).includes("cross"));
});
