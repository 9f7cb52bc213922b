// Other systems: an administrator gives a token, a webhook, a calendar and mail; a work order that
// comes by the token stands on planning, on the phone's round and instrument, and its result goes
// out by its number and as a signed message.
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

/** shows looks at a page on a wide screen and on a tablet. */
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

/** machine asks the API for machines with the token. */
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

test("what happens is told, signed, and stands in the log", async () => {
  await desk.goto(`${plant.url}/office/machines/hooks`);
  await desk.getByLabel("Name", { exact: true }).fill("ledger");
  await desk.getByLabel("Address", { exact: true }).fill("https://10.0.0.1/in");
  await desk.getByRole("button", { name: "Tell another address" }).click();
  await desk.getByText("private network").waitFor();
  await desk.getByLabel("Address", { exact: true }).fill(`http://127.0.0.1:${receiver.address().port}/in`);
  await desk.getByRole("button", { name: "Tell another address" }).click();
  secret = await desk.locator("code.print").first().innerText();
  await desk.getByRole("button", { name: "I have kept it" }).click();
  await desk.getByRole("heading", { name: "What was sent" }).waitFor();

  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const { waiting, visits } = await reviewer("/api/office/day?date=2026-01-01");
  const one = [...waiting, ...visits].find((v) => v.status === "signed");
  await reviewer(`/api/office/visits/${one.id}/return`, "POST", { remark: "Please read the second point again." });
  const [first] = await came("visit.returned", 1); // what falls due today is told besides
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

test("a calendar is given out and ended; mail says that it is off", async () => {
  await desk.goto(`${plant.url}/office/machines/calendars`);
  await desk.getByLabel("Name", { exact: true }).fill("Boiler house");
  await desk.getByLabel("Due dates").check();
  await desk.getByRole("button", { name: "Give out a calendar" }).click();
  const address = await desk.locator("code.print").first().innerText();
  const calendar = await (await fetch(address)).text();
  assert.match(calendar, /^BEGIN:VCALENDAR\r\n/);
  assert.ok(calendar.includes("BEGIN:VEVENT"));
  await desk.getByRole("row", { name: /Boiler house/ }).waitFor();
  await shows("calendars");
  await desk.getByRole("button", { name: "End it: Boiler house" }).click();
  await desk.getByText("No calendar is given out.").waitFor();
  assert.equal((await fetch(address)).status, 404);

  await desk.getByRole("link", { name: "Mail" }).click();
  await desk.getByText("No mail server is configured").waitFor();
  const reviewer = plant.someone("reviewer").full;
  await desk.getByLabel(`Mail address of ${reviewer}`).fill("reviewer@plant.example");
  await desk.getByLabel(`Daily message to ${reviewer}`).check();
  await desk.getByRole("button", { name: `Keep what ${reviewer} is told` }).click();
  await desk.getByText("Kept.").waitFor();
  await shows("mail");
});

test("the phone shows the order, and a visit there is for it", async () => {
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
