import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { Machine } from "../src/calcworker/wasi";
import { isVerdict, MarkShape } from "../src/parts/mark";
import { Latest } from "../src/screens/visit/latest";

const machine = new Machine(await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url))));

test("every verdict that the calculation gives has a word and a shape of its own", () => {
  // Limit 1, guard band 0.2, U = 0.2: two values beside each boundary, computed independently.
  const said = ["0.5", "0.9", "1.1", "1.5"].map((value) => {
    const reply = JSON.parse(
      machine.call("calc/conformity", JSON.stringify({ value, u: "0.2", high: "1", rule: "guarded-four" })),
    );
    return reply.verdict as string;
  });
  assert.deepEqual(said, ["pass", "conditional-pass", "conditional-fail", "fail"]);
  const shapes = [...said, "undecided"].map((v) => {
    if (!isVerdict(v)) throw new Error(`no word for ${v}`);
    return JSON.stringify(MarkShape({ verdict: v }), (key, x) => (key.startsWith("_") ? undefined : x));
  });
  assert.equal(new Set(shapes).size, 5);
  assert.equal(isVerdict("conditional pass"), false);
});

test("of the questions that come while one is answered only the newest is asked, and no stale answer is shown", async () => {
  const latest = new Latest<string>();
  const asked: string[] = [];
  const shown: string[] = [];
  const open: { [name: string]: (v: string) => void } = {};
  const ask = (name: string) =>
    latest.ask(
      () => {
        asked.push(name);
        return new Promise<string>((done) => {
          open[name] = done;
        });
      },
      (v) => shown.push(v),
      (e) => shown.push(String(e)),
    );
  const settle = () => new Promise((done) => setTimeout(done, 0));
  ask("1");
  assert.deepEqual(asked, ["1"], "at once");
  ask("12");
  ask("12.5");
  open["1"]?.("old");
  await settle();
  assert.deepEqual([asked, shown], [["1", "12.5"], []]);
  open["12.5"]?.("new");
  await settle();
  assert.deepEqual(shown, ["new"]);
  latest.ask(
    () => Promise.reject(new Error("broke")),
    () => shown.push("no"),
    (e) => shown.push(String(e)),
  );
  await settle();
  ask("last");
  open["last"]?.("again");
  await settle();
  assert.deepEqual(shown, ["new", "Error: broke", "again"]);
});
