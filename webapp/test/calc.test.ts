import assert from "node:assert/strict";
import { test } from "node:test";
import { Bridge, CalcError, type Port } from "../src/calc/calc";
import type { CalcReply, CalcRequest } from "../src/wire/worker";

/** A worker that answers when told to. */
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

test("a refusal keeps its code and field", async () => {
  const { bridge, at } = setUp();
  const a = bridge.call("calc/a", {});
  at(0).reply({ id: 1, body: '{"error":{"code":"missing","field":"unit","message":"unit is missing"}}' });
  await assert.rejects(a, (e: unknown) => e instanceof CalcError && e.code === "missing" && e.field === "unit");
});

test("an aborted call ends the worker, and the others are asked again of a new one", async () => {
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
