// The office plans a round for a technician, and the phone follows: its order, what is left out,
// and that it was taken back.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { Plant } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";
import { atSizes } from "./sizes.mjs";

const bert = { name: "bert", password: "another long password", role: "technician" };
const cleo = { name: "cleo", password: "one more long password", role: "reviewer" };
const tags = ["P-ONE", "P-TWO", "P-THREE"];
let plant;
let office; // writes through the API
let desk;
let pocket;
let page; // the office's
let phone; // the technician's

before(async () => {
  plant = await Plant.empty();
  office = await author(plant, plant.someone("administrator"));
  const definition = {
    kind: "gauge",
    points: { count: 5 },
    directions: "up",
    cycles: 1,
    exercise: 1,
    tap: true,
    hold_s: 30,
    hold_top_s: 60,
    way: "applied-set",
    decision: { rule: "simple" },
  };
  const method = await office.write("method", {
    name: "Three points",
    kind: "gauge",
    version: 1,
    definition,
    cautions: [],
  });
  for (const one of [bert, cleo]) await office.ask("/api/users", "POST", one);
  const about = {
    kind: "gauge",
    range: { low: "0", high: "10", unit: "bar", mode: "gauge" },
    resolution: "0.05",
    limit: { rule: "terms", of_span_percent: "1" },
    status: "in service",
    area: "Boilers",
  };
  for (const tag of tags) await office.write("instrument", { ...about, tag, serial: tag, due: "2020-01-01", method });
  await office.write("instrument", { ...about, tag: "P-BARE", serial: "bare", due: "2098-01-01" });
  desk = new Pocket(plant);
  page = await desk.begin(plant.someone("administrator"));
  await page.setViewportSize({ width: 1280, height: 900 });
  pocket = new Pocket(plant);
  phone = await pocket.begin({ ...bert, full: "bert" });
});

after(async () => {
  await desk?.remove();
  await pocket?.remove();
  await plant?.remove();
});

const press = (name) => page.getByRole("button", { name, exact: true }).click();
const planned = () => phone.locator(".stops .lead").allTextContents();

/** comes waits until the phone's round is this one. A phone asks when its page becomes visible. */
async function comes(want) {
  for (let i = 0; i < 480; i++) {
    if (JSON.stringify(await planned()) === JSON.stringify(want)) return;
    await phone.evaluate(() => dispatchEvent(new Event("online")));
    await new Promise((done) => setTimeout(done, 250));
  }
  assert.deepEqual(await planned(), want);
}

/** heardBy waits until a page shows news that it must hear of first. */
async function heardBy(who, what) {
  for (let i = 0; i < 480 && !(await what.isVisible()); i++) {
    await who.evaluate(() => dispatchEvent(new Event("online")));
    await new Promise((done) => setTimeout(done, 250));
  }
  await what.waitFor();
}

const heard = (what) => heardBy(phone, what);

/** gone waits until the office's page, once it has heard of a change, no longer shows something. */
async function gone(what) {
  for (let i = 0; i < 480 && (await what.count()) > 0; i++) {
    await page.evaluate(() => dispatchEvent(new Event("online")));
    await new Promise((done) => setTimeout(done, 250));
  }
  assert.equal(await what.count(), 0);
}

test("chosen instruments become a round; what is wrong stands at its field", async () => {
  await page.goto(`${plant.url}/office/register`);
  for (const tag of ["P-BARE", ...tags])
    await page.getByRole("checkbox", { name: `Choose ${tag}`, exact: true }).check();
  await press("Plan a round");
  await page.getByText("no method: choose one, or leave it out").first().waitFor();
  await page.getByText(/not due before/).waitFor();
  await press("Save the round");
  await page.getByText("For: choose who does the round.").waitFor();
  await page.getByText(/Stops without a method: P-BARE/).waitFor();
  await page.getByRole("button", { name: "Leave out P-BARE" }).click();
  await page.getByRole("option", { name: "bert" }).waitFor({ state: "attached" });
  await page.getByLabel("For", { exact: true }).selectOption({ label: "bert" });
  assert.equal(await page.getByLabel("Title", { exact: true }).inputValue(), "Boilers, 3 instruments");
  await page.getByLabel("Title", { exact: true }).fill("");
  await page.getByText("Title: a few words are needed.").waitFor();
  await page.getByLabel("Title", { exact: true }).fill("Boiler house");
  await page.getByRole("button", { name: "P-THREE earlier" }).click();
  await page.getByText(/^About \d+ min at the instruments, without/).waitFor();
  assert.equal(await page.locator(".plan-stops > li").getByText("no standard is on record").count(), tags.length);
  await sound(page, "plan a round");
  await snap(page, "rounds-plan", [390, 1280]);
  await atSizes(page, "plan a round");
  await press("Save the round");
  await page.getByRole("heading", { name: "Boiler house · 0 of 3 done" }).waitFor();
  await page
    .getByText(/20\d\d · bert$/)
    .first()
    .waitFor();
  await sound(page, "a round");
  await snap(page, "rounds-one", [390, 1280]);
  await atSizes(page, "one round");
  await atSizes(phone, "the round on the phone");
  await comes(["P-ONE", "P-THREE", "P-TWO"]);
});

test("a stop without a suitable standard on the day gets a warning with the nearest one, and is planned all the same", async () => {
  const range = { low: "0", high: "20", unit: "bar", mode: "gauge", of_span_percent: "0.01", k: "2" };
  const standard = (serial, more) =>
    office.write("standard", {
      name: "Reference",
      serial,
      calibrated: "2020-01-01",
      due: "2097-01-01",
      status: "in service",
      ranges: [range],
      ...more,
    });
  const warned = (text) =>
    page.locator(".plan-stops > li", { hasText: "P-ONE" }).locator(".plan-warning", { hasText: text });
  await standard("S-AWAY", { status: "out of service", ranges: [{ ...range, mode: "absolute" }] });
  await press("Change the round");
  await heardBy(
    page,
    warned(/closest is Reference S-AWAY 0 … 20 bar absolute: marked out of service, measures absolute/),
  );
  await press("Save the change");
  await page.getByText("The round is saved.").waitFor();
  await press("Change the round");
  await warned(/S-AWAY/).waitFor();
  await standard("S-LOW", { ranges: [{ ...range, high: "700", unit: "kPa" }] });
  await heardBy(page, warned(/S-LOW 0 … 700 kPa gauge: range does not reach high enough/));
  await standard("S-POOR", { ranges: [{ ...range, of_span_percent: "1" }] });
  await heardBy(page, warned(/S-POOR .*: the test uncertainty ratio of 0.50 : 1 at 0 bar is below the required 4.0 : 1/));
  await standard("S-LATE", { due: "2021-03-04", ranges: [{ ...range, of_span_percent: "0.02" }] });
  await heardBy(page, warned(/S-LATE 0 … 20 bar gauge: calibration expired on/));
  await sound(page, "a stop without a standard");
  await snap(page, "rounds-unserved", [390, 1280]);
  await standard("S-GOOD", { ranges: [{ ...range, high: "2000", unit: "kPa" }] });
  await gone(warned("no standard"));
  await page.getByLabel("Date", { exact: true }).fill("2097-01-02");
  await warned(/S-GOOD .*: calibration expired on/).waitFor();
  await press("Cancel");
});

test("the phone follows another order and a stop left out, and keeps a begun visit of it in reach", async () => {
  await phone.locator(".stops a").first().click();
  await phone.getByRole("button", { name: "Start visit" }).click();
  await phone.waitForURL(/\/visit\//);
  await phone.goto(`${plant.url}/round`);
  await phone.locator(".stops .going").waitFor();
  await press("Change the round");
  await page.getByText(/^About \d+ min/).waitFor();
  await page.getByRole("button", { name: "P-TWO earlier" }).click();
  await page.getByRole("button", { name: "Leave out P-ONE" }).click();
  await press("Save the change");
  await page.getByText("The round is saved.").waitFor();
  await comes(["P-TWO", "P-THREE"]);
  await phone.getByText("The office left these out of the round").waitFor();
  await phone.getByRole("link", { name: /P-ONE/ }).waitFor();
});

test("a round is taken back with a reason, which the phone shows; a copy is in the coming days", async () => {
  await press("Cancel the round");
  await press("Cancel it now");
  await page.getByText("Reason: enter why").waitFor();
  await page.getByLabel("Reason").fill("The boiler is down.");
  await press("Cancel it now");
  await page.getByText("Cancelled: The boiler is down.").waitFor();
  await heard(phone.getByText("The boiler is down."));
  await comes([]);
  await phone.getByRole("link", { name: /P-ONE/ }).waitFor();
  await press("Copy to a later day");
  await page.getByLabel("Date", { exact: true }).fill("2098-05-06");
  await press("Save the round");
  await page.getByText(/^6 May 2098 · bert$/).waitFor();
  await page.getByRole("link", { name: "Rounds", exact: true }).first().click();
  await page.getByRole("heading", { name: "Coming" }).waitFor();
  await sound(page, "rounds");
  await snap(page, "rounds-all", [390, 1280]);
  await heard(phone.getByRole("heading", { name: "The coming days" }));
  await phone.locator(".coming").getByText("Boiler house").waitFor();
  await sound(phone, "the phone's day");
  await snap(phone, "rounds-phone");
});

test("everything due is chosen at once and planned", async () => {
  await press("What is due");
  await page.getByText("3 instruments due").waitFor();
  await page.getByLabel("Area, tag or words").fill("two");
  await page.getByText("1 instrument due").waitFor();
  await page.getByLabel("Area, tag or words").fill("boilers");
  await page.getByText("3 instruments due").waitFor();
  await press("Choose all of these");
  await page.getByText("3 chosen").waitFor();
  await sound(page, "what is due");
  await snap(page, "rounds-due", [390, 1280]);
  await press("Plan a round of these");
  await page.locator(".plan-stops > li").nth(2).waitFor();
  await page.getByRole("button", { name: "Leave out P-TWO" }).click();
  await press("Further stops");
  await page.getByText("4 instruments", { exact: true }).waitFor();
  assert.equal(
    await page.getByRole("checkbox", { name: "Choose P-ONE", exact: true }).count(),
    0,
    "what the round has is not offered again",
  );
  await page.getByLabel("Area, tag or words").fill("p-two");
  await page.getByText("1 instrument", { exact: true }).waitFor();
  await page.getByRole("checkbox", { name: "Choose P-TWO", exact: true }).check();
  await sound(page, "further stops");
  await snap(page, "rounds-more", [390, 1280]);
  await press("Add to the round");
  await page.locator(".plan-stops > li").nth(2).getByText("P-TWO", { exact: true }).waitFor();
});

test("the list of rounds can be filtered by person", async () => {
  const [stop] = (await office.ask("/api/office/register?q=p-one")).instruments;
  await office.write("round", {
    date: "2098-05-07",
    person: office.user.id,
    title: "My own way",
    stops: [{ instrument: stop.id, method: "" }],
  });
  await page.goto(`${plant.url}/office/rounds`);
  const round = (title) => page.getByRole("link", { name: new RegExp(title) });
  const whose = page.getByLabel("For", { exact: true });
  await heardBy(page, round("My own way"));
  await round("Boiler house").first().waitFor();
  assert.deepEqual(await whose.locator("option").allTextContents(), ["everybody", "administrator", "bert"]);
  await whose.selectOption({ label: "bert" });
  await round("My own way").waitFor({ state: "detached" });
  await round("Boiler house").first().waitFor();
  await sound(page, "one person's rounds");
  await snap(page, "rounds-person", [390, 1280]);
  await round("Boiler house").first().click();
  await page.getByRole("button", { name: "Copy to a later day" }).waitFor();
  await page.goBack();
  await whose.waitFor();
  await whose.locator("option:checked", { hasText: "bert" }).waitFor({ state: "attached" }); // as it was left, once the names have come
  assert.equal(await round("My own way").count(), 0);
  await whose.selectOption({ label: "everybody" });
  await round("My own way").waitFor();
});

test("two planners who changed a round apart are shown both orders by their tags; one is chosen, and the phone shows it", async () => {
  const { instruments } = await office.ask("/api/office/register?q=p-");
  const stops = (...list) => list.map((tag) => ({ instrument: instruments.find((i) => i.tag === tag).id, method: "" }));
  const { users } = await office.ask("/api/users");
  const now = new Date();
  const date = new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
  const round = await office.write("round", {
    date,
    person: users.find((u) => u.name === "bert").id,
    title: "Yard",
    stops: stops("P-TWO"),
  });
  await comes(["P-TWO"]);
  const before = [office.latest];
  const second = await author(plant, cleo);
  await office.write("round", { stops: stops("P-TWO", "P-ONE") }, "", round, before);
  await second.write("round", { stops: stops("P-THREE", "P-TWO") }, "", round, before);
  await page.goto(`${plant.url}/office/rounds/${round}`);
  await heardBy(page, page.getByRole("link", { name: /changed this round at the same time/ }));
  await page.getByRole("link", { name: /changed this round at the same time/ }).click();
  await page.getByRole("heading", { name: "Yard" }).waitFor();
  await page.getByRole("heading", { name: "stops" }).waitFor();
  assert.deepEqual(
    await page
      .locator(".against > li > .lead")
      .allTextContents()
      .then((all) => all.sort()),
    ["P-THREE, P-TWO", "P-TWO, P-ONE"],
  );
  assert.deepEqual(
    await page.locator(".against dd:last-child p").evaluateAll((all) => all.map((p) => p.firstChild.textContent)),
    ["P-TWO", "P-TWO"],
  );
  await sound(page, "a round with two orders");
  await snap(page, "rounds-contested", [390, 1280]);
  await page.getByRole("button", { name: "Keep this one: P-THREE, P-TWO, by cleo" }).click();
  await page.getByText("This record has no more conflicts.").waitFor();
  await comes(["P-THREE", "P-TWO"]);
  await page.goBack();
  await heardBy(page, page.locator("ol.rows .lead").getByText("P-THREE"));
  await gone(page.getByRole("link", { name: /changed this round at the same time/ }));
  assert.deepEqual(await page.locator("ol.rows .lead").allTextContents(), ["P-THREE", "P-TWO"]);
  await snap(phone, "rounds-settled");
  assert.deepEqual([...desk.faults, ...pocket.faults], []);
});
