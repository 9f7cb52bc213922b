import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import * as store from "../src/store/store";
import type { Change } from "../src/wire/records";
import { plainCalc, user, write } from "./office-played";

let serial = 0;
let written: Change[] = [];
beforeEach(async () => {
  store.close();
  await store.open({
    name: `refused-${serial++}`,
    calc: async (name, doc) => {
      const made = (await plainCalc(name, doc)) as { change?: { author: string } };
      if (made.change) made.change.author = (doc as { author: string }).author;
      return made as never;
    },
  });
  await store.putMeta("user", user);
  for (let n = 0; n < 3; n++) await write();
  written = await store.waiting(9);
});

const place = { store: "store-1", epoch: "epoch-1", root: "", cursor: 7, scope: "" };
const id = (n: number) => written[n]?.id ?? "";
const because = (n: number) => ({ id: id(n), reason: "the account has ended" });
/** What an office said: of what was sent, and its list; the rest of that is of changes that are not here. */
type Said = { taken?: number[]; aside?: number[]; list?: number[]; more?: number; name?: string };
const hear = ({ taken, aside, list, more, name }: Said, changes: Change[] = [], held = "") =>
  store.receive(
    changes,
    place,
    {
      acknowledged: (taken ?? []).map(id),
      quarantined: (aside ?? []).map(because),
      refused: list && {
        name: name ?? "list-1",
        list: [
          ...list.map(because),
          ...Array.from({ length: more ?? 0 }, (_, i) => ({ id: `0ther${i}`, reason: "no" })),
        ],
      },
    },
    undefined,
    { held, entries: [] },
  );
const refused = async () => (await store.queue()).refused.map((r) => r.id).sort();
const which = (...n: number[]) => n.map(id).sort();

test("what a whole list lacks is refused no longer, but for what was set aside with it", async () => {
  await hear({ aside: [0, 1] });
  assert.deepEqual(await refused(), which(0, 1));
  await hear({ aside: [2], list: [1] });
  assert.deepEqual(await refused(), which(1, 2), "the list was made before the third was set aside");
  assert.equal(await store.meta("refused"), undefined, "so that the next request asks what came of it");
  await hear({ list: [1, 2] });
  assert.deepEqual([await refused(), await store.meta("refused")], [which(1, 2), "list-1"]);
  await hear({ list: [], name: "" });
  assert.deepEqual([await refused(), await store.meta("refused")], [[], ""]);
});

test("of a list that is cut, only what was on it before is known to have left it", async () => {
  await hear({ aside: [0, 1], list: [0] });
  assert.deepEqual(await refused(), which(0, 1));
  await hear({ list: [2], more: 199, name: "list-2" });
  assert.deepEqual(await refused(), which(1, 2), "the first was on the list and has left it, the second never was");
});

test("one person's list says nothing of another's work", async () => {
  await hear({ taken: [1, 2], aside: [0], list: [0] });
  await store.putMeta("user", { ...user, id: "u2", name: "Ben" });
  await hear({ list: [], name: "" });
  assert.deepEqual(await refused(), which(0));
  await store.putMeta("user", user);
  await hear({ list: [], name: "" });
  assert.deepEqual(await refused(), []);
});

test("a list that came for other units than are held now is not taken, what was answered is", async () => {
  await store.putMeta("hold", { name: "units-1" });
  await hear({ taken: [1], aside: [2], list: [0] });
  assert.deepEqual([await refused(), await store.meta("refused")], [which(2), undefined]);
  assert.deepEqual(
    (await store.waiting(9)).map((c) => c.id),
    which(0),
  );
  await hear({ list: [0, 2] }, [], "units-1");
  assert.deepEqual([await refused(), await store.meta("refused")], [which(0, 2), "list-1"]);
});

test("what comes back from the office it has: it is neither refused nor waits", async () => {
  await hear({ aside: [0, 1] });
  await hear({}, [written[0] as Change, written[2] as Change]);
  assert.deepEqual([await refused(), (await store.queue()).count], [which(1), 0]);
});
