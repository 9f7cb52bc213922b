import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { test } from "node:test";
import { tabsChannel } from "../src/link/news";
import * as store from "../src/store/store";

// A tab's message about the office's journal has another form than the store's message about its
// records.
test("news of the office is not mistaken for a change of a record", async () => {
  await store.open();
  let heard = 0;
  const end = store.subscribe(() => heard++);
  const other = new BroadcastChannel(tabsChannel);
  other.postMessage({ seq: 7, records: ["r1"] });
  await new Promise((done) => setTimeout(done, 200));
  other.close();
  end();
  store.close();
  assert.equal(heard, 0);
});
