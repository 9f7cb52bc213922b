// What devices and the office do when things go wrong: a page killed during a write, an emptied
// storage, a full one, a captive portal, two tabs; and what the office sees of it.
import assert from "node:assert/strict";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { asPerson, kept, Pocket, sound } from "./pocket.mjs";

let plant;
let ada; // a technician's phone
let desk; // a reviewer's browser
let technician;
let gauge;
let reviewer;
let dir;
const kills = 8;
const shots = process.env.SHOTS;

async function shot(page, name) {
  if (!shots) return;
  for (const theme of ["day", "night"]) {
    await page.evaluate((t) => {
      document.documentElement.dataset.theme = t;
    }, theme);
    await page.screenshot({ path: join(shots, `${name}-${theme}.png`), fullPage: true });
  }
}

const see = async (page, id = gauge) => {
  await page.goto(`${plant.url}/instrument/${id}`);
  await page.getByText("As-found history").waitFor();
};

/** counted counts the entries in a part of the device's database. */
const counted = (page, part) =>
  page.evaluate(
    (name) =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction(name).objectStore(name).count();
          asked.onerror = () => fail(asked.error);
          asked.onsuccess = () => {
            opening.result.close();
            done(asked.result);
          };
        };
      }),
    part,
  );

/** sent waits until nothing waits on the device any more, and the screen says so. */
async function sent(page) {
  for (let i = 0; i < 600 && (await counted(page, "outbox")) > 0; i++) await page.waitForTimeout(100);
  await page.getByText("All work sent").waitFor();
}

async function note(page, text) {
  await page.getByRole("button", { name: "Change: Note" }).click();
  await page.getByLabel("Note", { exact: true }).fill(text);
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
}

/**
 * stored counts the content of the device's database, and finds what is torn: a change without its
 * place, a record without its change.
 */
const stored = (page) =>
  page.evaluate(
    () =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const tx = opening.result.transaction(["changes", "outbox", "records", "meta"]);
          const all = {};
          for (const name of ["changes", "outbox", "records"]) {
            tx.objectStore(name).getAll().onsuccess = (e) => {
              all[name] = e.target.result;
            };
          }
          tx.objectStore("meta").get("device").onsuccess = (e) => {
            all.device = e.target.result;
          };
          tx.objectStore("meta").get("link").onsuccess = (e) => {
            all.link = e.target.result;
          };
          tx.onabort = () => fail(tx.error);
          tx.oncomplete = () => {
            opening.result.close();
            const own = new Map(all.changes.map((c) => [c.id, c]));
            const records = new Map(all.records.map((r) => [r.id, r]));
            const torn = [];
            for (const o of all.outbox)
              if (own.get(o.id)?.seq !== o.seq) torn.push(`the queue has ${o.seq} without its change`);
            for (const c of all.changes) {
              if (c.seq > all.device.seq) torn.push(`change ${c.seq} is beyond the device's count`);
              for (const s of c.change.set) {
                const field = records.get(c.change.record)?.state.fields[s.field];
                const there = field?.heads.some((h) => h.change === c.id) || field?.replaced.includes(c.id);
                if (!there) torn.push(`change ${c.seq} is not in its record`);
              }
            }
            done({
              torn,
              changes: all.changes.length,
              seq: all.device.seq,
              id: all.device.id,
              cursor: all.link?.cursor,
              waits: all.outbox.length,
              records: all.records.length,
            });
          };
        };
      }),
  );

before(async () => {
  plant = await Plant.make();
  dir = mkdtempSync(join(tmpdir(), "gaugewright-sync-"));
  technician = Object.values(plant.people).find((p) => p.role === "technician");
  reviewer = await asPerson(plant, plant.someone("reviewer"));
  gauge = (await reviewer("/api/office/register?q=&after=")).instruments[0].id;
  ada = new Pocket(plant);
  desk = new Pocket(plant);
  await ada.begin(technician);
  await desk.begin(plant.someone("reviewer"));
});

after(async () => {
  await ada?.remove();
  await desk?.remove();
  await plant?.remove();
  if (dir) rmSync(dir, { recursive: true, force: true });
});

test("two values for one note are shown with who wrote what over what, and the office's choice reaches the phone", async () => {
  for (const [p, text] of [
    [ada, "Valve on the left"],
    [desk, "Valve behind the panel"],
  ]) {
    await see(p.page);
    await p.context.setOffline(true);
    await note(p.page, text);
  }
  for (const p of [ada, desk]) await p.context.setOffline(false);
  for (const p of [ada, desk]) await sent(p.page);
  await ada.page.reload();
  await ada.page.getByRole("button", { name: /^Keep this one: Valve behind the panel, by/ }).waitFor();
  await shot(ada.page, "instrument");
  await sound(ada.page, "an instrument with two values");
  const page = desk.page;
  await page.setViewportSize({ width: 1280, height: 900 });
  await page.goto(`${plant.url}/office/contested`);
  await page.getByText("1 record", { exact: true }).waitFor();
  await shot(page, "contested-list");
  await page.locator(".contested-list a").first().click();
  await page.getByText("Valve on the left").waitFor();
  await page.getByText(technician.full).first().waitFor();
  await shot(page, "contested");
  await page.setViewportSize({ width: 390, height: 844 });
  await shot(page, "contested-narrow");
  await sound(page, "two values on a phone");
  await page.getByRole("button", { name: /^Keep this one: Valve on the left, by/ }).click();
  await page.getByText("This record has no more conflicts.").waitFor();
  await page.getByText("Chosen.").waitFor();
  await ada.page.reload();
  await ada.page.getByText("Two people changed this").waitFor({ state: "detached", timeout: 60000 });
  await ada.page.locator("main .facts").getByText("Valve on the left").waitFor();
});

test("the phone settles what its role may write, with one tap and offline", async () => {
  await desk.context.setOffline(true);
  await see(desk.page);
  await note(desk.page, "From the desk");
  await note(ada.page, "From the field");
  await sent(ada.page);
  await desk.context.setOffline(false);
  await sent(desk.page);
  await ada.page.reload();
  await ada.page.getByRole("button", { name: /^Keep this one: From the desk, by/ }).waitFor({ timeout: 60000 });
  await ada.context.setOffline(true);
  await ada.page.getByRole("button", { name: /^Keep this one: From the desk, by/ }).click();
  await ada.page.getByText("Two people changed this").waitFor({ state: "detached" });
  await ada.context.setOffline(false);
  await sent(ada.page);
  await ada.page.reload();
  await sent(ada.page);
  const { records } = await reviewer("/api/office/contested");
  assert.deepEqual(records, []);
});

test("a page killed right after a tap, eight times: each note is whole or not there, none is torn, and all that is there arrives", async () => {
  await ada.context.setOffline(true);
  await see(ada.page);
  const began = Date.now();
  await note(ada.page, "nobody kills this one");
  const whole = Date.now() - began;
  const before = await stored(ada.page);
  let seen = 0;
  for (let n = 0; n < kills; n++) {
    const page = await ada.context.newPage();
    await see(page);
    await page.getByRole("button", { name: "Change: Note" }).click();
    await page.getByLabel("Note", { exact: true }).fill(`killed ${n}`);
    const cdp = await ada.context.newCDPSession(page);
    await page.evaluate(() => [...document.querySelectorAll("button")].find((b) => b.textContent === "Keep").click());
    await new Promise((r) => setTimeout(r, (n * 2 * whole) / kills)); // from immediately to well after the write
    if (n % 2 === 0) cdp.send("Page.crash").catch(() => undefined);
    else await page.close({ runBeforeUnload: false });
    await new Promise((r) => setTimeout(r, 30));
    await page.close().catch(() => undefined);
    const now = await stored(ada.page);
    assert.deepEqual(now.torn, [], `after kill ${n}`);
    assert.equal(now.changes, now.seq, `after kill ${n}: every number has its change`);
    assert.ok(
      now.changes - before.changes <= n + 1 && now.changes >= before.changes + seen,
      `after kill ${n}: ${now.changes} changes`,
    );
    seen = now.changes - before.changes;
  }
  console.log(`# of ${kills} killed writes ${seen} were kept whole, ${kills - seen} not at all`);
  await ada.context.setOffline(false);
  await ada.page.reload();
  await sent(ada.page);
  const { history } = await reviewer(`/api/office/history/${gauge}`);
  assert.equal(history.filter((h) => h.set.some((s) => String(s.value).startsWith("killed"))).length, seen);
});

test("a captive portal is reported and loses nothing, and the work continues afterwards", async () => {
  await see(ada.page);
  const before = await stored(ada.page);
  await ada.context.route("**/api/**", (route) =>
    route.fulfill({
      status: 200,
      contentType: "text/html",
      body: "<html><h1>Welcome to the harbour's network</h1></html>",
    }),
  );
  await note(ada.page, "Behind the network's own page");
  await ada.page.getByText("this network wants a log-in page first").waitFor({ timeout: 60000 });
  await ada.page.getByText("1 entry waits to be sent").waitFor();
  assert.equal((await kept(ada.page, gauge)).note, "Behind the network's own page");
  const during = await stored(ada.page);
  assert.deepEqual([during.records, during.waits, during.torn], [before.records, 1, []]);
  await ada.context.unroute("**/api/**");
  await ada.page.reload();
  await sent(ada.page);
  assert.equal(
    (await reviewer(`/api/office/history/${gauge}`)).history.at(-1).set[0].value,
    "Behind the network's own page",
  );
});

test("a full storage is reported where it happens and loses nothing; once there is space the same is saved", async () => {
  const before = await stored(ada.page);
  await ada.close();
  const page = await ada.open(); // this browser has not asked yet how much space there is
  const cdp = await ada.context.newCDPSession(page);
  await cdp.send("Storage.overrideQuotaForOrigin", { origin: plant.url, quotaSize: 1024 });
  const long = "A long remark that finds no room. ".repeat(50).trim();
  try {
    await see(page);
    await page.getByRole("button", { name: "Change: Note" }).click();
    await page.getByLabel("Note", { exact: true }).fill(long);
    await page.getByRole("button", { name: "Keep", exact: true }).click();
    await page.getByText("this was NOT kept").waitFor({ timeout: 30000 });
    await shot(page, "full");
    const during = await stored(page);
    assert.deepEqual([during.torn, during.changes, during.records], [[], before.changes, before.records]);
  } finally {
    await cdp.send("Storage.overrideQuotaForOrigin", { origin: plant.url });
  }
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
  await page.reload();
  await sent(page);
  assert.equal((await kept(page, gauge)).note, long);
});

test("two tabs: one talks to the office, both see every write, nothing is counted twice", async () => {
  const one = ada.page;
  await see(one);
  const two = await ada.context.newPage();
  await see(two);
  const asked = [0, 0];
  [one, two].forEach((p, i) => p.on("request", (r) => r.url().endsWith("/api/sync") && asked[i]++));
  const before = await stored(one);
  for (let n = 0; n < 4; n++) {
    await note(n % 2 === 0 ? one : two, `tab ${n}`);
    await (n % 2 === 0 ? two : one).locator("main .facts").getByText(`tab ${n}`).waitFor();
  }
  await Promise.all([sent(one), sent(two)]);
  await Promise.all([one, two].map((p) => p.getByText("sending …").waitFor({ state: "hidden" })));
  const now = await stored(one);
  assert.deepEqual([now.torn, now.changes, now.seq, now.id], [[], before.changes + 4, before.seq + 4, before.id]);
  const { devices } = await reviewer("/api/office/devices");
  assert.equal(devices.find((d) => d.id === now.id).twin, "", "two tabs are one device");
  assert.ok(asked[0] + asked[1] > 0);
  await two.close();
});

test("a copied profile: both copies work on, the office hears of it, and nothing is lost", async () => {
  const page = ada.page;
  const { id } = await stored(page);
  const copy = await page.evaluate(
    () =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const tx = opening.result.transaction("meta");
          tx.objectStore("meta").get("device").onsuccess = (e) => {
            tx.objectStore("meta").get("heard").onsuccess = (h) =>
              done({ device: e.target.result, heard: h.target.result });
          };
        };
      }),
  );
  assert.equal(typeof copy.heard, "string");
  // What a copy of the profile has: the same id, the same count, the same last reply.
  await desk.page.evaluate(
    (c) =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onsuccess = () => {
          const tx = opening.result.transaction("meta", "readwrite");
          tx.objectStore("meta").put(c.device, "device");
          tx.objectStore("meta").put(c.heard, "heard");
          tx.onabort = () => fail(tx.error);
          tx.oncomplete = () => done();
        };
      }),
    copy,
  );
  for (let turn = 0; turn < 3; turn++) {
    for (const p of [ada, desk]) {
      await p.page.goto(`${plant.url}/device`);
      await p.page.getByRole("button", { name: "Send now" }).click();
      await p.page.getByText("sending …").waitFor({ state: "hidden" });
    }
  }
  const [a, b] = [await stored(ada.page), await stored(desk.page)];
  assert.notEqual(a.id, b.id);
  assert.ok([a.id, b.id].includes(id), "one of them keeps the id");
  const forked = a.id === id ? desk : ada;
  await forked.page.getByText("A copy of this device's storage was met").waitFor();
  await shot(forked.page, "device");
  const { devices } = await reviewer("/api/office/devices");
  assert.ok(devices.find((d) => d.id === id).warnings.includes("twin"));
  const office = desk.page;
  await office.setViewportSize({ width: 1280, height: 900 });
  await office.goto(`${plant.url}/office/devices`);
  await office.getByText("two devices used this id").waitFor();
  await shot(office, "devices");
  await office.setViewportSize({ width: 390, height: 844 });
  await shot(office, "devices-narrow");
  await sound(office, "devices on a phone");
});

test("unsent work goes over in a file, twice, and the phone's own sending finds it known", async () => {
  const page = ada.page;
  await see(page);
  await ada.context.setOffline(true);
  await note(page, "Carried in a file");
  await page.getByText("1 entry waits to be sent").click();
  const [file] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save unsent work to a file" }).click(),
  ]);
  const path = join(dir, "unsent.json");
  await file.saveAs(path);
  assert.equal(JSON.parse(readFileSync(path, "utf8")).changes.length, 1);
  await desk.page.goto(`${plant.url}/office/devices`);
  for (const said of ["1 entry was taken in, 0 were known already.", "0 entries were taken in, 1 was known already."]) {
    const [chooser] = await Promise.all([
      desk.page.waitForEvent("filechooser"),
      desk.page.getByRole("button", { name: "Take in a file of unsent work" }).click(),
    ]);
    await chooser.setFiles(path);
    await desk.page.getByText(said).waitFor();
  }
  await shot(desk.page, "unsent");
  const values = async () =>
    (await reviewer(`/api/office/history/${gauge}`)).history.filter((h) =>
      h.set.some((s) => s.value === "Carried in a file"),
    ).length;
  assert.equal(await values(), 1);
  await ada.context.setOffline(false);
  await page.reload();
  await sent(page);
  assert.equal(await values(), 1);
});

test("an emptied storage is reported, and everything comes back from the office", async () => {
  const before = await stored(ada.page);
  const cdp = await ada.context.newCDPSession(ada.page);
  await ada.page.goto("about:blank");
  await cdp.send("Storage.clearDataForOrigin", {
    origin: plant.url,
    storageTypes: "indexeddb,local_storage,cache_storage,service_workers",
  });
  await ada.page.goto(plant.url);
  await ada.page.getByText("This browser had emptied its storage.").waitFor({ timeout: 60000 });
  for (let i = 0; i < 600 && (await counted(ada.page, "records")) < before.records; i++)
    await ada.page.waitForTimeout(100);
  await sent(ada.page);
  const now = await stored(ada.page);
  assert.notEqual(now.id, before.id, "an emptied device is a new one");
  assert.equal(now.records, before.records);
  await see(ada.page);
  await ada.page.locator("main .facts").getByText("Carried in a file").waitFor();
});

test("no script failed on the way", () => {
  assert.deepEqual([...ada.faults, ...desk.faults], []);
});
