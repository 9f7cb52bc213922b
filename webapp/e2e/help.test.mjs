// The help: a page for each screen, linked from its foot and available offline, in both languages.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant, ready } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";

let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("reviewer"));
  await ready(page);
  await plant.kill(); // the help needs no office
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const of = { "/round": "The round", "/find": "Finding an instrument", "/device": "This device" };

test("each screen leads to its help, also offline, and the list leads to every page", async () => {
  for (const [path, title] of Object.entries(of)) {
    await page.goto(plant.url + path);
    await page.getByRole("link", { name: "Help with this page" }).click();
    await page.getByRole("heading", { name: title, level: 1 }).waitFor();
    await sound(page, `help: ${title}`);
    await page.goBack();
    await page.waitForURL(plant.url + path);
  }
  await page.goto(`${plant.url}/help`);
  const pages = page.locator(".help .rows a");
  await pages.first().waitFor();
  const titles = await pages.locator(".lead").allInnerTexts();
  assert.ok(titles.length >= 7, `${titles}`);
  await sound(page, "list of the help");
  await snap(page, "help-list");
  for (const title of titles) {
    await pages.filter({ has: page.locator(".lead", { hasText: title }) }).first().click();
    await page.getByRole("heading", { name: title, level: 1 }).waitFor();
    assert.ok((await page.locator(".help li").count()) >= 3, title);
    await snap(page, `help-${title.toLowerCase().replaceAll(" ", "-")}`);
    await page.getByRole("link", { name: "All of the help" }).click();
  }
  assert.deepEqual(pocket.faults, []);
});
