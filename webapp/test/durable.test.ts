import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import * as store from "../src/store/store";
import { plainCalc, user } from "./office-played";

let serial = 0;
beforeEach(async () => {
  store.close();
  await store.open({ name: `durable-${serial++}`, calc: plainCalc });
  await store.putMeta("user", user);
});

/**
 * Aborts the transaction that writes this note of the device after all of its requests have
 * succeeded, as a full disk or a killed page does.
 */
async function cutAt(key: string, work: () => Promise<unknown>): Promise<void> {
  const put = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function (this: IDBObjectStore, value: unknown, at?: IDBValidKey) {
    const request = at === undefined ? put.call(this, value) : put.call(this, value, at);
    if (this.name === "meta" && at === key) request.addEventListener("success", () => request.transaction?.abort());
    return request;
  };
  try {
    await work();
  } finally {
    IDBObjectStore.prototype.put = put;
  }
}

const write = () => store.commit({ kind: "visit", site: "", parent: "", set: [{ field: "note", value: "x" }] });

test("what the disk refused is not reported as saved, and nothing of it is there", async () => {
  await cutAt("device", () => assert.rejects(write(), { name: "StoreError" }));
  assert.deepEqual([(await store.queue()).count, (await store.byKind("visit")).length], [0, 0]);
  assert.equal((await write()).change.seq, 1, "its number is free again");
});

test("a reply that the disk refused leaves the place and the outbox unchanged", async () => {
  const { change } = await write();
  const before = { store: "s", epoch: "e", root: "", cursor: 3 };
  const none = { acknowledged: [], quarantined: [] };
  await store.receive([], before, none);
  const said = { sign: "signed", text: `[${JSON.stringify(change)}]` };
  await cutAt("given", () =>
    assert.rejects(
      store.receive([change], { ...before, cursor: 9 }, { acknowledged: [change.id], quarantined: [] }, said),
      { name: "StoreError" },
    ),
  );
  assert.deepEqual([(await store.meta("link"))?.cursor, (await store.queue()).count], [3, 1]);
  await store.receive([change], { ...before, cursor: 9 }, { acknowledged: [change.id], quarantined: [] }, said);
  assert.deepEqual([(await store.meta("link"))?.cursor, (await store.queue()).count], [9, 0]);
});

test("a reply that cannot be merged does not move the place", async () => {
  const before = { store: "s", epoch: "e", root: "", cursor: 3 };
  const none = { acknowledged: [], quarantined: [] };
  await store.receive([], before, none);
  store.close();
  await store.open({
    name: `durable-${serial - 1}`,
    calc: async () => {
      throw new Error("the calculation ended");
    },
  });
  const { change } = (await plainCalc("sync/draft", { id: "r", seq: 1, count: 0, change_id: "c", kind: "visit" })) as {
    change: never;
  };
  await assert.rejects(store.receive([change], { ...before, cursor: 9 }, none));
  assert.equal((await store.meta("link"))?.cursor, 3);
});
