import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { test } from "node:test";
import { Bridge, CalcError, type Port } from "../src/calc/calc";
import { Machine } from "../src/calcworker/wasi";
import type { CalcReply, CalcRequest } from "../src/wire/worker";

/** A worker that answers on command. */
class Slow implements Port {
  readonly asked: CalcRequest[] = [];
  ended = false;
  reply: (r: CalcReply) => void = () => undefined;
  broken: (why: string) => void = () => undefined;
  post(r: CalcRequest): void {
    this.asked.push(r);
  }
  onReply(fn: (r: CalcReply) => void): void {
    this.reply = fn;
  }
  onBroken(fn: (why: string) => void): void {
    this.broken = fn;
  }
  end(): void {
    this.ended = true;
  }
}

function setUp() {
  const workers: Slow[] = [];
  const bridge = new Bridge(() => {
    const w = new Slow();
    workers.push(w);
    return w;
  });
  return { workers, bridge, at: (i: number) => workers[i] ?? assert.fail(`no worker ${i}`) };
}

test("answers find their question, in any order", async () => {
  const { bridge, at } = setUp();
  const a = bridge.call("calc/a", { n: 1 });
  const b = bridge.call("calc/b", { n: 2 });
  at(0).reply({ id: 2, body: '{"b":true}' });
  at(0).reply({ id: 1, body: '{"a":true}' });
  assert.deepEqual(await a, { a: true });
  assert.deepEqual(await b, { b: true });
});

test("a text is compressed beside the calculations", async () => {
  const { bridge, at } = setUp();
  const a = bridge.press("as read");
  assert.deepEqual([at(0).asked[0]?.name, at(0).asked[0]?.body], ["press", "as read"]);
  const pressed = new ArrayBuffer(3);
  at(0).reply({ id: 1, pressed });
  assert.equal(await a, pressed);
  const broken = bridge.press("as read");
  at(0).reply({ id: 2, broken: "no such stream" });
  await assert.rejects(broken, (e: unknown) => e instanceof CalcError);
});

test("a refusal keeps its code and field", async () => {
  const { bridge, at } = setUp();
  const a = bridge.call("calc/a", {});
  at(0).reply({ id: 1, body: '{"error":{"code":"missing","field":"unit","message":"unit is missing"}}' });
  await assert.rejects(a, (e: unknown) => e instanceof CalcError && e.code === "missing" && e.field === "unit");
});

test("an aborted call ends the worker, and a new one runs the other calls", async () => {
  const { bridge, at, workers } = setUp();
  const stop = new AbortController();
  const a = bridge.call("calc/a", {}, stop.signal);
  const b = bridge.call("calc/b", {});
  stop.abort();
  await assert.rejects(a, { name: "AbortError" });
  assert.equal(at(0).ended, true);
  assert.equal(workers.length, 2);
  assert.deepEqual(
    at(1).asked.map((r) => r.name),
    ["calc/b"],
  );
  at(1).reply({ id: 2, body: "{}" });
  assert.deepEqual(await b, {});
});

test("a broken worker fails its calls, and the next call has a new one", async () => {
  const { bridge, at, workers } = setUp();
  const a = bridge.call("calc/a", {});
  at(0).broken("out of memory");
  await assert.rejects(a, (e: unknown) => e instanceof CalcError && e.code === "broken");
  const b = bridge.call("calc/b", {});
  assert.equal(workers.length, 2);
  at(1).reply({ id: 2, body: "[]" });
  assert.deepEqual(await b, []);
});

test("the module collects garbage on request, and not during a calculation", async () => {
  const module = await WebAssembly.compile(await readFile(new URL("calc.wasm", import.meta.url)));
  const programme = JSON.stringify({
    programme: `unit bar gauge\n${"set 1\nhold 1 s\n".repeat(2000)}vent\n`,
    only: "findings",
  });
  /** after gives the megabytes of a machine's memory after many calls. */
  const after = (tidies: boolean) => {
    const machine = new Machine(module);
    for (let i = 0; i < 40; i++) {
      assert.match(machine.call("calc/plan", programme), /"findings":\[/);
      if (tidies) machine.tidy();
    }
    const { exports } = machine as unknown as { exports: { memory: WebAssembly.Memory } };
    return exports.memory.buffer.byteLength / 1e6;
  };
  const [kept, left] = [after(true), after(false)];
  assert.ok(kept < 16, `${kept} MB with a moment to tidy after each call`);
  assert.ok(
    left > 2 * kept && left < 140,
    `${left} MB without one: what was left behind should lie there, up to the module's own limit`,
  );
});
