// Phones that do not see each other: two values for one field, a clock an hour wrong, an ended
// log-in, an ended account.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { asPerson, Pocket, sound } from "./pocket.mjs";

let plant;
let ada; // two phones of two technicians
let ben;
let people;
let desk; // a reviewer's browser
let gauge;
let reviewer;

/** shifted sets the page's clock off by the hours that it finds in the device's storage. */
function shifted() {
  const right = Date;
  const wrong = () => right.now() + Number(localStorage.getItem("test hours wrong") ?? 0) * 3_600_000;
  globalThis.Date = class extends right {
    constructor(...given) {
      if (given.length === 0) super(wrong());
      else super(...given);
    }
    static now() {
      return wrong();
    }
  };
}

async function clock(page, hours) {
  await page.evaluate((h) => localStorage.setItem("test hours wrong", String(h)), hours);
  await page.reload();
  await page.getByRole("navigation").waitFor();
}

async function see(page) {
  await page.goto(`${plant.url}/instrument/${gauge}`);
  await page.getByText("As-found history").waitFor();
}

async function note(page, text) {
  await page.getByRole("button", { name: "Change: Note" }).click();
  await page.getByLabel("Note", { exact: true }).fill(text);
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
}

const said = (page, text) => page.locator("main .facts").getByText(text).waitFor({ timeout: 60000 });
const sent = (page) => page.getByText("All work sent").waitFor({ timeout: 60000 });
/**
 * atOffice waits until the office holds a note. The line that says that everything is sent may be a
 * moment late.
 */
const atOffice = async (text) => {
  for (let i = 0; i < 300; i++) {
    const { history } = await reviewer(`/api/office/history/${gauge}`);
    if (history.some((h) => h.set.some((one) => one.field === "note" && one.value === text))) return;
    await new Promise((go) => setTimeout(go, 200));
  }
  throw new Error(`the office does not have "${text}"`);
};
const fetchNow = async (page) => {
  await page.reload();
  await page.getByText("sending …").waitFor({ state: "hidden", timeout: 60000 });
};

before(async () => {
  plant = await Plant.make();
  people = Object.values(plant.people).filter((p) => p.role === "technician");
  assert.ok(people.length >= 2, "the plant has two technicians");
  reviewer = await asPerson(plant, plant.someone("reviewer"));
  ada = new Pocket(plant);
  ben = new Pocket(plant);
  await ada.begin(people[0]);
  await ben.begin(people[1]);
  await ben.context.addInitScript(shifted);
  gauge = (await reviewer("/api/office/register?q=&after=")).instruments[0].id;
});

after(async () => {
  await ada?.remove();
  await ben?.remove();
  await desk?.remove();
  await plant?.remove();
});

test("two phones change one note without seeing each other: both values are kept, on both and at the office, until one is chosen", async () => {
  for (const [p, text] of [
    [ada, "Valve on the left"],
    [ben, "Valve behind the panel"],
  ]) {
    await see(p.page);
    await p.context.setOffline(true);
    await note(p.page, text);
    await p.page.getByText("1 entry waits to be sent").waitFor();
  }
  for (const p of [ada, ben]) await p.context.setOffline(false);
  for (const text of ["Valve on the left", "Valve behind the panel"]) await atOffice(text);
  await fetchNow(ada.page);
  await fetchNow(ben.page);
  for (const p of [ada, ben]) {
    await said(p.page, "Two people changed this");
    await said(p.page, "Valve on the left");
    await said(p.page, "Valve behind the panel");
  }
  const [found] = (await reviewer(`/api/office/register?q=&after=`)).instruments.filter((i) => i.id === gauge);
  assert.deepEqual(found.contested, ["note"]);
  await note(ada.page, "Valve behind the panel, left");
  await atOffice("Valve behind the panel, left");
  await fetchNow(ben.page);
  await said(ben.page, "Valve behind the panel, left");
  assert.equal(await ben.page.getByText("Two people changed this").count(), 0);
  const [settled] = (await reviewer(`/api/office/register?q=&after=`)).instruments.filter((i) => i.id === gauge);
  assert.deepEqual(settled.contested ?? [], []);
});

test("a clock an hour wrong, either way, loses nothing and reorders nothing", async () => {
  const order = ["an hour behind", "right after it", "an hour ahead", "right at last"];
  for (const [hours, first, second] of [
    [-1, order[0], order[1]],
    [1, order[2], order[3]],
  ]) {
    await clock(ben.page, hours);
    const off = await ben.page.evaluate(() => Date.now());
    assert.ok(Math.abs(off - Date.now() - hours * 3_600_000) < 60_000, "the phone's clock is wrong");
    await see(ben.page);
    await note(ben.page, first);
    await sent(ben.page);
    await atOffice(first);
    await fetchNow(ada.page);
    await said(ada.page, first);
    await note(ada.page, second);
    await sent(ada.page);
    await atOffice(second);
    await fetchNow(ben.page);
    await said(ben.page, second);
  }
  await clock(ben.page, 0);
  const { history } = await reviewer(`/api/office/history/${gauge}`);
  const notes = history
    .flatMap((h) => h.set.filter((one) => one.field === "note").map((one) => one.value))
    .filter((v) => order.includes(v));
  assert.deepEqual(
    notes[0] === order[0] ? notes : notes.toReversed(),
    order,
    "the office lists them in the order in which people saw them",
  );
});

test("an ended log-in is reported; the outbox stays, and goes out after the next log-in", async () => {
  await see(ada.page);
  const own = await asPerson(plant, people[0]);
  await own("/api/logins", "DELETE");
  await note(ada.page, "Written with a dead log-in");
  await ada.page.getByText("log in again to send").waitFor();
  await ada.page.getByText("1 entry waits to be sent").waitFor();
  await ada.page.reload();
  await said(ada.page, "Written with a dead log-in");
  await ada.page.getByText("log in again to send").click();
  await ada.page.getByText("no longer accepts this device's log-in").waitFor();
  assert.equal(await ada.page.getByLabel("Name").inputValue(), people[0].name);
  await ada.page.getByLabel("Password").fill(people[0].password);
  await ada.page.getByRole("button", { name: "Log in", exact: true }).click();
  await sent(ada.page);
  assert.equal(await ada.page.getByText("no longer accepts").count(), 0);
  await fetchNow(ben.page);
  await see(ben.page);
  await said(ben.page, "Written with a dead log-in");
});

/** writing lets nobody read the device's database until the page's written is set. */
function writing() {
  return new Promise((done, fail) => {
    const opening = indexedDB.open("gaugewright");
    opening.onerror = () => fail(opening.error);
    opening.onsuccess = () => {
      const base = opening.result;
      const tx = base.transaction([...base.objectStoreNames], "readwrite");
      const next = () => {
        done();
        if (window.written) base.close();
        else tx.objectStore("meta").count().onsuccess = next;
      };
      next();
    };
  });
}

/** lying waits until a phone on which nobody is logged in is cleared, and gives its database by store. */
async function lying(page) {
  const read = (only) =>
    page.evaluate(
      (names) =>
        new Promise((done, fail) => {
          const opening = indexedDB.open("gaugewright");
          opening.onerror = () => fail(opening.error);
          opening.onsuccess = () => {
            const base = opening.result;
            const all = {};
            const tx = base.transaction([...base.objectStoreNames]);
            for (const name of names ?? base.objectStoreNames) {
              tx.objectStore(name).getAll().onsuccess = (e) => {
                all[name] = e.target.result;
              };
            }
            tx.objectStore("meta").get("cleared").onsuccess = (e) => {
              all.cleared = e.target.result;
            };
            tx.oncomplete = () => {
              base.close();
              done(all);
            };
            tx.onerror = () => fail(tx.error);
          };
        }),
      only,
    );
  for (let i = 0; !(await read([])).cleared; i++) {
    assert.ok(i < 300, "it is not cleared");
    await page.waitForTimeout(100);
  }
  return read();
}

const sizes = ({ changes, outbox, records, register, held, photos, given }) =>
  [changes, outbox, records, register, held, photos, given].map((list) => list.length);

/** own gives the changes written on a phone with a text in them. */
const own = (page, text) =>
  page.evaluate(
    (t) =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction("changes").objectStore("changes").getAll();
          asked.onerror = () => fail(asked.error);
          asked.onsuccess = () => {
            opening.result.close();
            done(asked.result.map((o) => o.change).filter((c) => JSON.stringify(c).includes(t)));
          };
        };
      }),
    text,
  );

async function logInHere(page, person) {
  await page.getByLabel("Name").fill(person.name);
  await page.getByLabel("Password").fill(person.password);
  await page.getByRole("button", { name: "Log in", exact: true }).click();
  await page.getByRole("navigation").waitFor();
}

test("a shared phone: one person's unsent work waits for their log-in, and the office takes in what was quarantined by mistake", async () => {
  const [first, second] = people;
  const { page } = ada;
  await see(page);
  await ada.context.setOffline(true);
  for (const text of ["Left on the phone", "Sent by mistake"]) await note(page, text);
  await page.getByText("2 entries wait to be sent").waitFor();
  // Until the page has read what is unsent, nobody can log out: it would not ask.
  await page.evaluate(writing);
  await page.locator("nav a[href='/device']").click();
  const logOut = page.getByRole("button", { name: "Log out", exact: true });
  await logOut.waitFor();
  assert.equal(await logOut.isEnabled(), false, "logging out before it is known what is unsent");
  await page.evaluate(() => {
    window.written = true;
  });
  await logOut.click();
  await page.getByText("2 entries of yours have not reached the office").waitFor();
  await page.getByRole("button", { name: "Stay logged in" }).click();
  await page.getByRole("button", { name: "Log out", exact: true }).click();
  await page.getByRole("button", { name: "Log out anyway" }).click();
  await page.getByRole("heading", { name: "Log in" }).waitFor();

  // It holds the two changes, and what they say of the gauge.
  const left = await lying(page);
  assert.deepEqual(sizes(left), [2, 2, 1, 0, 0, 0, 0]);
  assert.deepEqual(
    [Object.keys(left.records[0].state.fields), left.records[0].id, JSON.stringify(left).includes(second.full)],
    [["note"], gauge, false],
  );

  // The office hears of the log-out as soon as there is a connection: the cookie opens nothing any
  // more.
  await ada.context.setOffline(false);
  await page.reload();
  await page.getByRole("heading", { name: "Log in" }).waitFor();
  let status = 200;
  for (let i = 0; i < 50 && status === 200; i++) {
    await page.waitForTimeout(100);
    const cookies = await ada.context.cookies(plant.url);
    status = cookies.some((c) => c.name.endsWith("gw_refresh")) ? 200 : 401;
  }
  assert.equal(status, 401, "no cookie is left");

  await logInHere(page, second);
  const waits = `2 entries of ${first.full} wait for ${first.full}'s log-in`;
  await page.locator("header").getByText(waits).waitFor();
  await see(page);
  await note(page, "Written by the second");
  await atOffice("Written by the second");
  await page.locator("header").getByText(waits).waitFor();
  await page.goto(`${plant.url}/device`);
  await page.locator("main").getByText(waits).waitFor();
  assert.deepEqual((await reviewer("/api/office/quarantine")).quarantined, [], "nothing is set aside");

  // A phone with an earlier version sends it all the same.
  const [mistaken] = await own(page, "Sent by mistake");
  const asSecond = await asPerson(plant, second);
  const sent = await asSecond("/api/sync", "POST", { nonce: "n1", device: mistaken.device, changes: [mistaken] });
  assert.equal(sent.quarantined.length, 1);
  desk = new Pocket(plant);
  await desk.begin(plant.someone("reviewer"));
  await desk.page.goto(`${plant.url}/office/aside`);
  const group = desk.page.locator("main section").filter({ hasText: "Sent by mistake" });
  await group.getByRole("heading", { name: first.full }).waitFor();
  await group.getByText(`sent from the log-in of ${second.full}`).waitFor();
  await sound(desk.page, "what was set aside");
  await group.getByRole("button", { name: "Accept it" }).click();
  await group.getByText("Enter a reason").waitFor();
  await group.getByLabel("Reason for accepting or rejecting").fill("The phone is shared");
  await group.getByRole("button", { name: "Accept it" }).click();
  await desk.page.getByText("Every entry was accepted.").waitFor();
  await atOffice("Sent by mistake");
  await desk.page.getByRole("button", { name: "Show closed ones too" }).click();
  await desk.page.getByText("accepted").first().waitFor();
  await desk.page.getByText("The phone is shared").waitFor();

  await page.getByRole("button", { name: "Log out", exact: true }).click();
  await page.getByRole("heading", { name: "Log in" }).waitFor();
  assert.deepEqual(sizes(await lying(page)), [1, 1, 1, 0, 0, 0, 0]); // the other one the office has taken in
  await logInHere(page, first);
  await atOffice("Left on the phone");
  await page.getByText("All work sent").waitFor();
  assert.equal(await page.getByText("log-in").filter({ hasText: "wait" }).count(), 0);
  assert.deepEqual((await reviewer("/api/office/quarantine")).quarantined, []);
});

test("an ended account: its unsent work is quarantined for the office, not dropped", async () => {
  await see(ben.page);
  await ben.context.setOffline(true);
  await note(ben.page, "Written before the account ended");
  await ben.page.getByText("1 entry waits to be sent").waitFor();
  await ben.close();
  const administrator = await asPerson(plant, plant.someone("administrator"));
  const { users } = await administrator("/api/users");
  const account = users.find((u) => u.name === people[1].name);
  await administrator(`/api/users/${account.id}/revoke`, "POST");
  const page = await ben.open();
  await page.goto(`${plant.url}/round`);
  await page.getByText("Your access has ended. Ask the office.").waitFor({ timeout: 60000 });
  await page.getByRole("heading", { name: "Log in" }).waitFor();
  await sound(page, "an ended account");
  assert.deepEqual(sizes(await lying(page)), [0, 0, 0, 0, 0, 0, 0]);
  const { quarantined } = await reviewer("/api/office/quarantine");
  assert.ok(JSON.stringify(quarantined).includes("Written before the account ended"), "the office has it");
  await fetchNow(ada.page);
  await see(ada.page);
  await said(ada.page, "Written by the second");
  assert.equal(await ada.page.getByText("Written before the account ended").count(), 0, "it is nobody else's yet");

  // The account is restored, and the work comes with it, without further action.
  await administrator(`/api/users/${account.id}/restore`, "POST");
  await atOffice("Written before the account ended");
  assert.deepEqual((await reviewer("/api/office/quarantine")).quarantined, []);
  await page.goto(`${plant.url}/device`);
  await logInHere(page, people[1]);
  await page.getByText("All work sent").first().waitFor();
  await see(page);
  await said(page, "Written before the account ended");
});

test("no script failed on the way", () => {
  assert.deepEqual([...ada.faults, ...ben.faults, ...(desk?.faults ?? ["the reviewer's browser was not opened"])], []);
});
