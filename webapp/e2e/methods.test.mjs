// Methods are written in the form, and what the page says while they are kept: an error is shown once,
// beside its field, and nothing ever says that what was kept was refused.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { Plant } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";

let plant;
let office;
let desk;
let page;

before(async () => {
  plant = await Plant.empty();
  office = await author(plant, plant.someone("administrator"));
  desk = new Pocket(plant);
  page = await desk.begin(plant.someone("administrator"));
  await page.setViewportSize({ width: 1280, height: 900 });
});

after(async () => {
  await desk?.remove();
  await plant?.remove();
});

const press = (name) => page.getByRole("button", { name, exact: true }).first();

/** listen notes every text that the page shows from now on. */
const listen = () =>
  page.evaluate(() => {
    window.shown = new Set();
    const look = () => {
      for (const line of document.body.innerText.split("\n")) window.shown.add(line);
    };
    window.watcher?.disconnect();
    window.watcher = new MutationObserver(look);
    window.watcher.observe(document.body, { subtree: true, childList: true, characterData: true });
    look();
  });

/** heard returns those of the texts that say that something was refused or failed. */
const heard = () =>
  page.evaluate(() =>
    [...window.shown].filter((line) => /refus|reject|not kept|not saved|could not|failed|set aside/i.test(line)),
  );

/** atTheOffice waits until the server has the draft of the page's method, and returns its answer. */
async function atTheOffice(name) {
  await page.getByRole("heading", { level: 1, name: new RegExp(`^${name} not in force yet$`) }).waitFor();
  const id = new URL(page.url()).pathname.split("/").at(-1);
  for (const end = Date.now() + 60000; ; await page.waitForTimeout(200)) {
    const method = await office.ask(`/api/office/methods/${id}`).catch(() => undefined);
    if (method?.waiting.some((d) => d.name === name)) break;
    assert.ok(Date.now() < end, `the office does not have ${name}`);
  }
  const { quarantined } = await office.ask("/api/office/quarantine");
  assert.deepEqual(quarantined, []);
}

async function gauge() {
  await page.goto(`${plant.url}/office/methods`);
  await press("New method").click();
  await page.getByLabel("Gauge or transmitter at test points", { exact: true }).check();
  await press("Continue").click();
  await page.getByLabel("Name", { exact: true }).waitFor();
}

test("a new method is kept: its error stands once beside its field, and nothing says refused", async () => {
  await gauge();
  await press("Save as a draft").click();
  const complaint = page.getByText("Name: this is needed.", { exact: true });
  await complaint.first().waitFor();
  await page.locator(".field.wrong").filter({ has: complaint }).waitFor();
  await page.getByLabel("Name", { exact: true }).fill("Yearly, five points");
  await sound(page, "form of a gauge's method");
  await snap(page, "methods-form");
  await listen();
  await press("Save as a draft").click();
  await atTheOffice("Yearly, five points");
  await page.getByText("There is nobody else in the office.").waitFor({ timeout: 60000 });
  assert.deepEqual(await heard(), []);
});

test("a ready sequence that is taken over is kept, and changed once more", async () => {
  await page.goto(`${plant.url}/office/methods`);
  const take = page.getByRole("button", { name: /^Take over: / }).first();
  await take.click();
  const name = page.getByLabel("Name", { exact: true });
  await name.fill("Sequence of our own");
  await listen();
  await press("Save as a draft").click();
  await atTheOffice("Sequence of our own");
  await press("Change").click();
  await name.fill("Sequence of our own, slower");
  await press("Save as a draft").click();
  await atTheOffice("Sequence of our own, slower");
  assert.deepEqual(await heard(), []);
});

test("a method that is written without a line is kept, and sent when there is one", async () => {
  await gauge();
  await page.getByLabel("Name", { exact: true }).fill("Written in the cellar");
  await desk.context.setOffline(true);
  await listen();
  await press("Save as a draft").click();
  await page.getByRole("heading", { level: 1, name: /^Written in the cellar/ }).waitFor();
  await desk.context.setOffline(false);
  await atTheOffice("Written in the cellar");
  assert.deepEqual(await heard(), []);
  assert.deepEqual(desk.faults, []);
});
