import assert from "node:assert/strict";
import { test } from "node:test";
import { lastFound } from "../src/records/last-found";
import type { Json, RecordState } from "../src/wire/records";

let count = 0;
function made(kind: string, fields: { [name: string]: Json }): RecordState {
  const head = (value: Json) => ({ change: "", value, author: "", device: "", wall: "", stamp: "" });
  const kept = Object.entries(fields).map(([name, value]) => [name, { heads: [head(value)], replaced: [] }]);
  return { id: `v${++count}`, kind, site: "", parent: "", fields: Object.fromEntries(kept) };
}

const visit = (started: string, error: number, more: { [name: string]: Json } = {}) =>
  made("visit", {
    signature: {},
    started,
    item: { range: { unit: "bar" } },
    summary: {
      as_found: {
        points: [
          { point: "5.0", direction: "up", error },
          { point: "5.0", direction: "down", error: 0.5 },
        ],
      },
    },
    ...more,
  });

test("the last as-found error is that of the latest earlier signed visit, at the point and in its direction", () => {
  const now = visit("2026-05-01T08:00:00.000Z", 9);
  const before = visit("2025-05-01T08:00:00.000Z", 0.02);
  const list = [visit("2024-05-01T08:00:00.000Z", 0.01), before, now, visit("2026-06-01T08:00:00.000Z", 8)];
  assert.deepEqual(lastFound(list, now, "5", "up"), { error: 0.02, at: "2025-05-01T08:00:00.000Z" });
  assert.equal(lastFound(list, now, "5", "down")?.error, 0.5);
  assert.equal(lastFound(list, now, "7", "up"), undefined, "the point is new");
  const psi = visit("2025-09-01T08:00:00.000Z", 1, { item: { range: { unit: "psi" } } });
  assert.equal(lastFound([...list, psi], now, "5", "up")?.error, 0.02, "one in another unit says nothing here");
  const sends = (unit: string) => ({ item: { range: { unit: "bar" }, output: { unit } } });
  const volts = visit("2025-09-02T08:00:00.000Z", 1, sends("V"));
  assert.equal(lastFound([...list, volts], now, "5", "up")?.error, 0.02, "nor one of another signal");
  const loop = visit("2026-05-01T08:00:00.000Z", 9, sends("mA"));
  assert.equal(lastFound([...list, volts], loop, "5", "up"), undefined, "an error in volts is none in milliampere");
  const open = made("visit", { started: "2025-10-01T08:00:00.000Z", item: { range: { unit: "bar" } }, summary: {} });
  assert.equal(lastFound([...list, open], now, "5", "up")?.error, 0.02, "one that is not signed says nothing");
});
