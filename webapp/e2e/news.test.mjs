// News at once: what a phone sends is on the office's open page within moments, an open visit says
// that it changed, and visible phones hear of it too.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant, until } from "./plant.mjs";
import { asPerson, Pocket, snap, sound } from "./pocket.mjs";

const device = "n3wsdev1ce0000000000000000";
const wallBias = 2 ** 47; // of the wall time in a stamp: sync/clock

let plant;
let desk; // a reviewer's browser
let pocket; // a phone with its page visible
let person;
let technician;
let seq = 0;

const digits = (n, wide) => n.toString(16).padStart(wide, "0");
const id = () =>
  Array.from({ length: 26 }, () => "0123456789abcdefghjkmnpqrstvwxyz"[Math.floor(Math.random() * 32)]).join("");

/** push sends a change as a phone does. Gives: when the office answered. */
async function push(record, set) {
  const now = Date.now();
  const count = 1_000_000 + ++seq;
  const change = {
    v: 1,
    id: id(),
    device,
    seq,
    author: person.id,
    wall: new Date(now).toISOString(),
    stamp: `${digits(count, 12)}-${digits(now + wallBias, 12)}-${device}`,
    record,
    kind: "visit",
    site: "",
    parent: "",
    set: set.map(([field, value]) => ({ field, value, sees: [] })),
  };
  const reply = await technician("/api/sync", "POST", {
    store: "",
    cursor: 0,
    nonce: id(),
    device,
    changes: [change],
    limit: 1,
  });
  assert.deepEqual(reply.acknowledged, [change.id], JSON.stringify(reply.quarantined));
  return performance.now();
}

const middle = (list) => list.toSorted((a, b) => a - b)[list.length >> 1];

before(async () => {
  plant = await Plant.make();
  const [mine, another] = Object.values(plant.people).filter((p) => p.role === "technician");
  technician = await asPerson(plant, mine);
  person = (await (await asPerson(plant, plant.someone("administrator")))("/api/users")).users.find(
    (u) => u.name === mine.name,
  );
  desk = new Pocket(plant);
  await desk.begin(plant.someone("reviewer"));
  pocket = new Pocket(plant);
  await pocket.begin(another ?? mine);
  await until(pocket.page, async () => (await navigator.locks.query()).held.some((l) => l.name === "gaugewright-news"));
});

after(async () => {
  await desk?.remove();
  await pocket?.remove();
  await plant?.remove();
});

const begun = (tag) => [
  ["item", { tag, description: "Pump discharge" }],
  ["person", person.id],
  ["started", `${new Date().toISOString().slice(0, 19)}Z`],
];

test("what a phone sends is on the office's open day page within moments, in every tab", async (t) => {
  const { page } = desk;
  await page.goto(`${plant.url}/office/day/${new Date().toISOString().slice(0, 10)}`);
  await page.locator(".day-bar").waitFor();
  const second = await desk.context.newPage();
  await until(page, async () => (await navigator.locks.query()).held.some((l) => l.name === "gaugewright-news"));
  const took = [];
  for (let i = 0; i < 9; i++) {
    const answered = await push(id(), begun(`NEWS-${i}`));
    await page.getByText(`NEWS-${i}`).waitFor({ timeout: 20000 });
    took.push(performance.now() - answered);
    await page.waitForTimeout(200);
  }
  t.diagnostic(
    `on the page after ${took.map((ms) => ms.toFixed(0)).join(", ")} ms; middle ${middle(took).toFixed(0)} ms`,
  );
  assert.ok(Math.max(...took) < 15000, "the page did not wait until it asks again by itself");
  await second.close();
});

test("an open visit says that it has changed, and shows it when it is asked to", async (t) => {
  const { page } = desk;
  const visit = id();
  await push(visit, begun("NEWS-V"));
  await page.goto(`${plant.url}/office/visit/${visit}`);
  await page.getByRole("heading", { name: "NEWS-V" }).waitFor();
  await until(page, async () => (await navigator.locks.query()).held.some((l) => l.name === "gaugewright-news"));
  await page.waitForTimeout(500);
  assert.equal(await page.getByText("This visit has changed since this page was shown.").count(), 0);
  await push(id(), begun("NEWS-W"));
  const answered = await push(visit, [["remark.n1", "Valve leaks at the stem"]]);
  await page.getByText("This visit has changed since this page was shown.").waitFor({ timeout: 20000 });
  t.diagnostic(`the visit says it after ${(performance.now() - answered).toFixed(0)} ms`);
  assert.equal(await page.getByText("Valve leaks at the stem").count(), 0, "nothing moves under whoever reads");
  await sound(page, "a visit that changed");
  await snap(page, "visit-changed");
  await page.getByRole("button", { name: "Show it as it is now" }).click();
  await page.getByText("Valve leaks at the stem").first().waitFor();
  await page.getByText("This visit has changed since this page was shown.").waitFor({ state: "detached" });
});

test("a visible phone has others' changes within moments, also after a restart of the office", async (t) => {
  const { page } = pocket;
  const has = async (record) => {
    const began = performance.now();
    await until(
      page,
      `new Promise((done) => {
        const opening = indexedDB.open("gaugewright");
        opening.onsuccess = () => {
          const asked = opening.result.transaction("records").objectStore("records").get("${record}");
          asked.onsuccess = () => { opening.result.close(); done(asked.result !== undefined); };
        };
      })`,
      40000,
    );
    return performance.now() - began;
  };
  const took = [];
  for (let i = 0; i < 5; i++) {
    const visit = id();
    await push(visit, begun(`NEWS-P${i}`));
    took.push(await has(visit));
  }
  t.diagnostic(`on the phone after ${took.map((ms) => ms.toFixed(0)).join(", ")} ms`);
  await plant.kill();
  await plant.start();
  const visit = id();
  await push(visit, begun("NEWS-Q"));
  await has(visit);
  assert.deepEqual(pocket.faults, []);
  assert.deepEqual(desk.faults, []);
});
