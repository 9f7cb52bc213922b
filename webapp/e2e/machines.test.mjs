// Other systems: an administrator gives out a token, a webhook, a calendar and mail. A work order
// that comes with the token is shown in planning, on the phone's round and on the instrument, and
// its result goes out under its number and as a signed message.
import assert from "node:assert/strict";
import { createHmac } from "node:crypto";
import { createServer } from "node:http";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { flags, logIn, Plant } from "./plant.mjs";
import { asPerson, kept, Pocket, snap, sound } from "./pocket.mjs";

let plant;
let browser;
let desk;
let pocket;
let receiver;
let token;
let secret;
let stop; // an instrument of the technician's round
const faults = [];
const got = [];

before(async () => {
  receiver = createServer((request, response) => {
    let body = "";
    request.on("data", (b) => {
      body += b;
    });
    request.on("end", () => {
      got.push({ headers: request.headers, body });
      response.writeHead(204).end();
    });
  });
  await new Promise((done) => receiver.listen(0, "127.0.0.1", done));
  process.env.GAUGEWRIGHT_HOOKS_ALLOW = "127.0.0.0/8";
  plant = await Plant.make();
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: flags,
  });
  const context = await browser.newContext({ viewport: { width: 1440, height: 900 }, locale: "en-GB" });
  desk = await context.newPage();
  desk.setDefaultTimeout(60000);
  desk.on("pageerror", (e) => faults.push(e.message));
  await logIn(desk, plant, plant.someone("administrator"));
});

after(async () => {
  await pocket?.remove();
  await browser?.close();
  await plant?.remove();
  receiver?.close();
});

/** shows checks a page on a wide screen and on a tablet. */
async function shows(name) {
  for (const viewport of [
    { width: 1440, height: 900 },
    { width: 1024, height: 768 },
  ]) {
    await desk.setViewportSize(viewport);
    await sound(desk, `${name} at ${viewport.width}`);
  }
  await snap(desk, `machines-${name}`, [1440, 1024]);
}

/** came waits until so many messages of a type have come, and gives them. */
async function came(type, n) {
  const of = () => got.filter((m) => JSON.parse(m.body).type === type);
  for (let i = 0; i < 100 && of().length < n; i++) await new Promise((done) => setTimeout(done, 100));
  assert.ok(of().length >= n, `${of().length} messages of ${type} came`);
  return of();
}

/** machine calls the API for other systems with the token. */
async function machine(path, method = "GET", body = undefined) {
  const r = await fetch(`${plant.url}/api/v1${path}`, {
    method,
    headers: { authorization: `Bearer ${token}`, ...(body ? { "content-type": "application/json" } : {}) },
    ...(body ? { body: JSON.stringify(body) } : {}),
  });
  return { status: r.status, ...(r.status === 204 ? {} : await r.json()) };
}

test("an administrator makes a token, and another system gives a work order by it", async () => {
  await desk.goto(`${plant.url}/office/machines`);
  await desk.getByText("No token was made.").waitFor();
  await desk.getByLabel("Name", { exact: true }).fill("maintenance ledger");
  for (const may of ["read work orders and their results", "give work orders", "read instruments"])
    await desk.getByLabel(may).check();
  await shows("make-token");
  await desk.getByRole("button", { name: "Make a token" }).click();
  token = await desk.locator("code.print").first().innerText();
  assert.match(token, /^gwm_[\w-]{43}$/);
  await desk.getByRole("row", { name: /maintenance ledger/ }).waitFor();
  await shows("token");
  await desk.getByRole("button", { name: "I have kept it" }).click();
  assert.equal(await desk.getByText(token).count(), 0);

  const technician = plant.someone("technician");
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const people = (await reviewer("/api/office/people")).people;
  const { instruments } = await reviewer("/api/office/register?due=2100-01-01");
  stop = instruments.find((i) => i.status === "in service");
  const asked = await machine("/visits");
  assert.deepEqual([asked.status, asked.code], [403, "scope"]);
  const order = { tags: [stop.tag], wanted: "2027-03-31", priority: "urgent", text: "Test it before the start-up." };
  const taken = await machine("/orders/WO-4711", "PUT", order);
  assert.deepEqual([taken.status, taken.work?.[0]?.state], [201, "open"], JSON.stringify(taken));
  assert.ok(people.some((p) => p.name === technician.full || p.name === technician.name));

  await desk.goto(`${plant.url}/office/rounds`);
  await desk.getByRole("button", { name: "What is due" }).click();
  await desk.getByLabel("Due by").fill("2027-04-01");
  await desk.getByLabel("Area, tag or words").fill(stop.tag);
  await desk.getByText("Order WO-4711 · urgent · wanted by").first().waitFor();
});

test("a token of one site is given that site and no other", async () => {
  await desk.goto(`${plant.url}/office/machines`);
  await desk.getByLabel("Name", { exact: true }).fill("site ledger");
  for (const may of ["read instruments", "read work orders and their results"]) await desk.getByLabel(may).check();
  const sites = desk.getByRole("group", { name: "Sites" });
  const name = await sites.locator("label").first().innerText();
  await sites.getByLabel(name).check();
  await shows("make-token-site");
  await desk.getByRole("button", { name: "Make a token" }).click();
  const ofSite = await desk.locator("code.print").first().innerText();
  const row = desk.getByRole("row", { name: /site ledger/ });
  await row.getByText(name).waitFor();
  await desk.getByRole("row", { name: /maintenance ledger/ }).getByText("the whole plant").waitFor();
  await desk.getByRole("button", { name: "I have kept it" }).click();
  const whole = token;
  token = ofSite;
  const about = await machine("/about");
  assert.deepEqual(
    about.sites.map((s) => s.name),
    [name],
  );
  const some = await machine("/instruments?limit=200");
  token = whole;
  const all = await machine("/instruments?limit=200");
  assert.ok(some.items.length > 0 && some.items.length < 200 && all.items.length > some.items.length);
  token = ofSite;
  const elsewhere = all.items.find((i) => !some.items.some((s) => s.id === i.id));
  assert.equal((await machine(`/instruments/${elsewhere.id}`)).status, 404);
  assert.equal((await machine(`/instruments/${some.items[0].id}`)).tag, some.items[0].tag);
  token = whole;
  await row.getByRole("button", { name: /End it/ }).click();
  await row.getByText("expired").waitFor();
});

test("what happens is told, signed, and stands in the log", async () => {
  await desk.goto(`${plant.url}/office/machines/hooks`);
  await desk.getByLabel("Name", { exact: true }).fill("ledger");
  await desk.getByLabel("Address", { exact: true }).fill("https://10.0.0.1/in");
  await desk.getByRole("button", { name: "Add a webhook" }).click();
  await desk.getByText("private network").waitFor();
  await desk.getByLabel("Address", { exact: true }).fill(`http://127.0.0.1:${receiver.address().port}/in`);
  await desk.getByRole("button", { name: "Add a webhook" }).click();
  secret = await desk.locator("code.print").first().innerText();
  await desk.getByRole("button", { name: "I have kept it" }).click();
  await desk.getByRole("heading", { name: "What was sent" }).waitFor();

  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const { waiting, visits } = await reviewer("/api/office/day?date=2026-01-01");
  const one = [...waiting, ...visits].find((v) => v.status === "signed");
  await reviewer(`/api/office/visits/${one.id}/return`, "POST", { remark: "Please read the second point again." });
  const [first] = await came("visit.returned", 1); // messages on what is due today come besides
  const { "webhook-id": id, "webhook-timestamp": at, "webhook-signature": signature } = first.headers;
  const key = Buffer.from(secret.replace("whsec_", ""), "base64");
  assert.equal(signature, `v1,${createHmac("sha256", key).update(`${id}.${at}.${first.body}`).digest("base64")}`);

  await desk.reload();
  const row = desk.getByRole("row", { name: /a visit was sent back/ });
  await row.getByText("arrived").waitFor();
  await shows("hooks");
  await row.getByRole("button", { name: /Send again/ }).click();
  const [, again] = await came("visit.returned", 2);
  assert.equal(again.headers["webhook-id"], id);
});

test("a calendar link is made and ended; mail is shown as off", async () => {
  await desk.goto(`${plant.url}/office/machines/calendars`);
  await desk.getByLabel("Name", { exact: true }).fill("Boiler house");
  await desk.getByLabel("Due dates").check();
  await desk.getByRole("button", { name: "Share a calendar" }).click();
  const address = await desk.locator("code.print").first().innerText();
  const calendar = await (await fetch(address)).text();
  assert.match(calendar, /^BEGIN:VCALENDAR\r\n/);
  assert.ok(calendar.includes("BEGIN:VEVENT"));
  await desk.getByRole("row", { name: /Boiler house/ }).waitFor();
  await shows("calendars");
  await desk.getByRole("button", { name: "End it: Boiler house" }).click();
  await desk.getByText("No calendar is shared.").waitFor();
  assert.equal((await fetch(address)).status, 404);

  await desk.getByRole("link", { name: "Mail" }).click();
  await desk.getByText("No mail server is configured").waitFor();
  const reviewer = plant.someone("reviewer").full;
  await desk.getByLabel(`Mail address of ${reviewer}`).fill("reviewer@plant.example");
  await desk.getByLabel(`Daily message to ${reviewer}`).check();
  await desk.getByRole("button", { name: `Save what ${reviewer} receives` }).click();
  await desk.getByText("Saved.").waitFor();
  await shows("mail");
});

test("the phone shows the work order, and a visit there belongs to it", async () => {
  pocket = new Pocket(plant);
  const page = await pocket.begin(plant.someone("technician"));
  await page.goto(`${plant.url}/instrument/${stop.id}`);
  await page.getByText("Test it before the start-up.").waitFor();
  await page.getByText("Order WO-4711 · urgent").waitFor();
  await sound(page, "the instrument");
  await snap(page, "machines-instrument");
  await page.getByRole("button", { name: /Start visit|Go on with the visit/ }).click();
  await page.waitForURL(/\/visit\//);
  const visit = page.url().split("/").at(-1);
  assert.equal((await kept(page, visit)).order?.number, "WO-4711");
  for (let i = 0; i < 100; i++) {
    const order = await machine("/orders/WO-4711");
    if (order.work[0].state === "begun") {
      assert.equal(order.work[0].visits[0].id, visit);
      break;
    }
    assert.ok(i < 99, "the order never heard of its visit");
    await new Promise((done) => setTimeout(done, 200));
  }
  assert.deepEqual([faults, pocket.faults], [[], []]);
});
