// Phones that do not see each other: two values for one field, a clock an hour wrong, a log-in that was ended, an account that was ended.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { asPerson, kept, Pocket } from "./pocket.mjs";

let plant;
let ada; // two phones of two technicians
let ben;
let people;
let gauge;
let reviewer;

/** shifted makes the page's clock wrong by the hours that it finds in the device's storage. */
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
  await page.getByText("As found, over the years").waitFor();
}

async function note(page, text) {
  await page.getByRole("button", { name: "Change: Note" }).click();
  await page.getByLabel("Note", { exact: true }).fill(text);
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
}

const said = (page, text) => page.locator("main .facts").getByText(text).waitFor({ timeout: 60000 });
const sent = (page) => page.getByText("All work sent").waitFor({ timeout: 60000 });
/** atOffice waits until the office holds a note; the line that says all is sent may be a moment behind what was just kept. */
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
  await plant?.remove();
});

test("two phones change one note without seeing each other: both values stand, on both and at the office, until one is chosen", async () => {
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

test("a clock an hour wrong, either way, takes nothing and turns nothing round", async () => {
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
  const notes = history.flatMap((h) => h.set.filter((one) => one.field === "note").map((one) => one.value)).filter((v) => order.includes(v));
  assert.deepEqual(notes[0] === order[0] ? notes : notes.toReversed(), order, "the office lists them in the order in which people saw them");
});

test("a log-in that was ended is told, the outbox stays, and goes out after the next log-in", async () => {
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

test("an account that was ended: its unsent work is put aside for the office, not dropped", async () => {
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
  await see(page);
  await page.getByText("1 entry was set aside by the office").waitFor({ timeout: 60000 });
  await page.getByText("log in again to send").waitFor();
  assert.equal((await kept(page, gauge)).note, "Written before the account ended", "it stays on the phone too");
  const { quarantined } = await reviewer("/api/office/quarantine");
  assert.ok(JSON.stringify(quarantined).includes("Written before the account ended"), "the office has it");
  await fetchNow(ada.page);
  await see(ada.page);
  await said(ada.page, "Written with a dead log-in");
  assert.equal(await ada.page.getByText("Written before the account ended").count(), 0, "it is nobody else's yet");
});

test("no script failed on the way", () => {
  assert.deepEqual([...ada.faults, ...ben.faults], []);
});
