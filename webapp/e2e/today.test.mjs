// A technician's day on the round: what to bring, the state of each visit, what is in progress, the
// summary, a search that forgives slips, and messages with the office.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant, ready, until } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";
import { atSizes } from "./sizes.mjs";

let plant;
let pocket;
let desk;
let page; // the phone's
let office;

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(Object.values(plant.people).find((p) => p.full === "Jorin Alder"));
  desk = new Pocket(plant);
  office = await desk.begin(plant.someone("reviewer"));
  await office.setViewportSize({ width: 1440, height: 900 });
});

after(async () => {
  await desk?.remove();
  await pocket?.remove();
  await plant?.remove();
});

/** comes waits until a page has heard of something. A hidden page asks when it becomes visible. */
async function comes(who, what) {
  for (let i = 0; i < 480 && !(await what.isVisible()); i++) {
    await who.evaluate(() => dispatchEvent(new Event("online")));
    await new Promise((done) => setTimeout(done, 250));
  }
  await what.waitFor();
}

test("the round says of each stop its kind, range, hazards and time, and what to bring", async () => {
  await page.goto(`${plant.url}/round`);
  await page.locator(".bring summary").waitFor({ timeout: 60000 });
  const rows = page.locator(".stops > li");
  assert.ok((await rows.count()) >= 12);
  assert.ok((await page.locator(".stops .sign svg").count()) === (await rows.count()));
  assert.ok((await page.locator(".hazard").count()) > 0);
  assert.match(await rows.first().innerText(), / … .*(bar|kPa|psi|mbar)/);
  assert.match(await rows.first().innerText(), /\d min/);
  const bring = await page.locator(".bring summary").innerText();
  assert.match(bring, /Bring \d+ standards? · about \d/);
  await page.locator(".bring summary").click();
  await page.locator(".bring li", { hasText: "Air data set" }).waitFor();
  await page.getByText(/^Fittings: .*G 1\/[24] B/).waitFor();
  assert.equal(await page.getByText("No standard fits").count(), 0);
  await page.locator(".stops li", { hasText: "PSL-1" }).waitFor();
  await sound(page, "the round");
  await snap(page, "today-round", [360, 390, 844]);
  await atSizes(page, "today", async (name) => {
    const line = await page.locator(".sync-line").boundingBox();
    assert.ok(name === "large text" || line.height <= 60, `${name}: the line on top is ${line.height} high`);
  });
});

test("work in progress is on top with a link to it; the day is summed up offline", async () => {
  await pocket.context.setOffline(true);
  const first = page.locator(".stops a").first();
  const tag = await first.locator(".lead").innerText();
  await first.click();
  await page.getByRole("button", { name: "Start visit" }).click();
  await page.waitForURL(/\/visit\//);
  const visit = page.url();
  await page.goto(`${plant.url}/round`);
  const top = page.locator(".under-way a", { hasText: tag });
  await top.getByText("Go on").waitFor();
  await page.locator(".stops .going", { hasText: tag }).waitFor();
  await snap(page, "today-begun");
  await atSizes(page, "today in progress");
  await top.click();
  assert.equal(page.url(), visit);
  await page.goto(`${plant.url}/round`);
  await page.getByRole("button", { name: "The day" }).click();
  const sheet = page.getByRole("dialog", { name: "The day" });
  await sheet.getByText(/1 in progress · \d+ to do/).waitFor();
  await sheet.getByRole("heading", { name: "In progress" }).waitFor();
  await sheet.getByText("All signed work of today's rounds has been sent.").waitFor();
  await sound(page, "the summary of the day");
  await snap(page, "today-summary");
  await atSizes(page, "summary of the day");
  await page.keyboard.press("Escape");
  await sheet.waitFor({ state: "detached" });
  await pocket.context.setOffline(false);
});

test("a search needs no hyphen, forgives a slip, knows range, kind, area and overdue", async () => {
  await page.goto(`${plant.url}/find`);
  const box = page.getByRole("searchbox");
  const found = page.locator("main .rows .lead");
  const finds = async (typed, want) => {
    await box.fill(typed);
    await until(page, `document.querySelector("main [role=status]").textContent.length > 0`);
    await page.waitForTimeout(300);
    assert.ok(await want(), `${typed}: ${await page.locator("main [role=status]").innerText()}`);
  };
  await finds("pi1101", async () => (await found.first().innerText()) === "PI-1101");
  await finds(
    "altimetr",
    async () => (await page.getByText(/^No exact match\. Close to it/).count()) === 1,
  );
  assert.ok((await found.allInnerTexts()).includes("AL-1"));
  await finds("pitot static", async () => (await found.allInnerTexts()).includes("PSL-1"));
  await finds("transmitter", async () => (await found.first().innerText()).startsWith("PT-"));
  await finds("0-10bar turbine", async () => (await found.count()) > 0);
  await finds("overdue", async () => (await found.count()) > 0);
  assert.equal(
    await page.locator("main .rows strong", { hasText: "overdue" }).count(),
    await found.count(),
  );
  await sound(page, "what is found");
  await snap(page, "today-find");
  await atSizes(page, "find");
});

test("phone and office write to each other about an instrument; new messages are marked", async () => {
  await page.goto(`${plant.url}/find`);
  await page.getByRole("searchbox").fill("al1");
  await page.getByRole("link", { name: /AL-1/ }).click();
  await page.getByLabel("Write to the office").fill("The left panel is out: where is it?");
  await page.getByRole("button", { name: "Send", exact: true }).click();
  await page.locator(".message.own", { hasText: "The left panel is out" }).waitFor();
  await ready(page);
  await office.goto(`${plant.url}/office`);
  await comes(office, office.getByRole("heading", { name: "1 new message" }));
  await snap(office, "today-office", [1440]);
  await office.locator(".new-messages a").click();
  await office.getByText("The left panel is out: where is it?").waitFor();
  await comes(page, page.getByText(/seen by Mirel Ostrand/));
  await page.goto(`${plant.url}/round`);
  // A person with the instrument open has seen what comes.
  await page.locator(".stops a").first().waitFor();
  await office.getByLabel("Write to the technicians").fill("On bench 3.");
  await office.getByRole("button", { name: "Send", exact: true }).click();
  await office.locator(".message.own").waitFor();
  await comes(page, page.getByRole("heading", { name: "1 new message" }));
  await snap(page, "today-message");
  await page.locator(".new-messages a").click();
  await page.getByText("On bench 3.").waitFor();
  await sound(page, "messages");
  await snap(page, "today-messages");
  await atSizes(page, "messages");
  await page.goto(`${plant.url}/round`);
  await page.locator(".stops a").first().waitFor();
  assert.equal(await page.locator(".new-messages").count(), 0, "seen once, it is new no more");
  await comes(office, office.getByText(/seen by Jorin Alder/));
  assert.deepEqual([...desk.faults, ...pocket.faults], []);
});
