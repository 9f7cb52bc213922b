import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { test } from "node:test";
import * as store from "../src/store/store";
import { plainCalc, setUp, write } from "./office-played";

// What a started link asks of its page.
const nothing = () => undefined;
const page = {
  document: { addEventListener: nothing, querySelector: () => null, visibilityState: "visible" },
  addEventListener: nothing,
  navigator: {},
};
for (const [name, value] of Object.entries(page))
  Object.defineProperty(globalThis, name, { value, configurable: true });

test("what is written at the end of an exchange is sent at once, not in the next minute", async () => {
  await store.open({ name: "nudge", calc: plainCalc });
  const { office, link } = await setUp();
  // The exchange looks into the outbox for the last time, and then something is written.
  let late = true;
  const inner = link as unknown as { exchange(): Promise<void> };
  const usual = inner.exchange.bind(link);
  inner.exchange = async () => {
    await usual();
    if (late) await write();
    late = false;
  };
  link.start();
  for (let i = 0; i < 300 && office.kept.size === 0; i++) await new Promise((done) => setTimeout(done, 10));
  const { count } = await store.queue();
  assert.deepEqual([late, office.kept.size, count], [false, 1, 0]);
  const begun = link as unknown as { started: boolean; timer: ReturnType<typeof setTimeout> };
  begun.started = false; // no timer keeps the test waiting
  clearTimeout(begun.timer);
});
