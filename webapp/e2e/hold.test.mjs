// A plant that is too large for a phone: in a real browser the phone holds what its person's days
// need, finds every instrument, fetches one that is opened, and takes an area along.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { logIn, Plant } from "./plant.mjs";
import { asPerson, Pocket, snap, sound, whole } from "./pocket.mjs";

const root = resolve(import.meta.dirname, "../..");
const far = 3000;
let plant;
let phone;
let page;
let office;

/** all reads a store of the phone's database. */
const all = (name) =>
  page.evaluate(
    (name) =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction(name).objectStore(name).getAll();
          asked.onerror = () => fail(asked.error);
          asked.onsuccess = () => {
            opening.result.close();
            done(asked.result);
          };
        };
      }),
    name,
  );
const entryOf = async (tag) => (await all("register")).find((e) => e.tag === tag);
const heldIds = async () => (await all("held")).map((h) => h.id);

before(async () => {
  process.env.GAUGEWRIGHT_PHONES_WHOLE = "1";
  plant = await Plant.make();
  await plant.kill();
  const rows = ["tag;serial;description;low;high;unit;mode;resolution;class;area;place;site;method"];
  for (let n = 1; n <= far; n++)
    rows.push(`FAR-${n};SF-${n};Line gauge;0;10;bar;gauge;0.1;1.6;Yard ${n % 40};Bay ${n};FAR;`);
  const file = join(plant.dir, "register.csv");
  writeFileSync(file, `${rows.join("\n")}\n`);
  execFileSync(join(root, "bin/gaugewright"), ["import", "--data", plant.dir, "--new-sites", "--write", file], {
    stdio: ["ignore", "ignore", "inherit"],
  });
  await plant.start();
  office = await asPerson(plant, plant.someone("reviewer"));
  phone = new Pocket(plant);
  page = await phone.begin(plant.someone("technician"));
  await whole(page);
});

after(async () => {
  delete process.env.GAUGEWRIGHT_PHONES_WHOLE;
  await phone?.remove();
  await plant?.remove();
});

test("the phone holds the round of the day in full, and of all others what a search shows", async () => {
  const register = await all("register");
  assert.ok(register.length >= far, String(register.length));
  assert.ok(register.filter((e) => e.part).length >= far);
  const records = await all("records");
  const instruments = records.filter((r) => r.kind === "instrument").map((r) => r.id);
  assert.deepEqual(instruments.sort(), (await heldIds()).sort());
  assert.ok(instruments.length > 0 && instruments.length < 400, String(instruments.length));
  await page.goto(plant.url);
  const stops = page.locator("main a[href^='/instrument/'], main a[href^='/visit/']");
  await stops.first().waitFor();
  const here = new Set(instruments);
  for (const round of records.filter((r) => r.kind === "round")) {
    const date = round.state.fields.date.heads[0].value;
    if (date !== new Date().toISOString().slice(0, 10)) continue;
    for (const stop of round.state.fields.stops.heads[0].value) assert.ok(here.has(stop.instrument), stop.instrument);
  }
  const place = (await all("meta")).find((m) => m?.store && m?.cursor !== undefined);
  const tree = await office("/api/tree");
  assert.ok(place.cursor > 1000 && place.cursor <= tree.head.size);
});

test("every instrument is found; one that is opened is fetched, and stays", async () => {
  await page.goto(`${plant.url}/find`);
  await page.getByLabel("Tag, serial, range, area or words").fill("far-2999");
  await page.getByText("1 instrument", { exact: true }).waitFor();
  await page.getByText("FAR-2999").click();
  await page.getByRole("button", { name: "Change: Note" }).waitFor();
  const { id } = await entryOf("FAR-2999");
  assert.ok((await heldIds()).includes(id));
  await phone.context.setOffline(true);
  await page.reload();
  await page.getByRole("button", { name: "Change: Note" }).waitFor();
  await phone.context.setOffline(false);
});

test("offline, another instrument shows what the register knows and what is needed; online, it is fetched", async () => {
  const { id } = await entryOf("FAR-7");
  await phone.context.setOffline(true);
  await page.goto(`${plant.url}/instrument/${id}`);
  await page.getByText("There is no line to the office.").waitFor();
  await page.getByText("SF-7", { exact: true }).waitFor();
  await sound(page, "an instrument elsewhere");
  await snap(page, "elsewhere", [390, 1440]);
  await phone.context.setOffline(false);
  await page.getByRole("button", { name: "Change: Note" }).waitFor();
});

test("what the office changes of an instrument that is not held is found by the search", async () => {
  const { id } = await entryOf("FAR-11");
  const changed = { instruments: [id], values: { area: "Moved hall" } };
  const { shown } = await office("/api/office/bulk/preview", "POST", changed);
  await office("/api/office/bulk", "POST", { ...changed, shown });
  await page.goto(`${plant.url}/find`);
  await page.getByLabel("Tag, serial, range, area or words").fill("far-11 moved hall");
  await page.getByText("1 instrument", { exact: true }).waitFor({ timeout: 120000 });
  assert.ok(!(await heldIds()).includes(id));
});

test("an area is taken along: all of it is here offline, for a day", async () => {
  await page.goto(`${plant.url}/find`);
  const section = page.getByRole("region", { name: "Take an area along" });
  await section.getByLabel("Find an area").fill("yard 13");
  await section.getByText(/Yard 13: \d+ of 75 here/).click();
  await sound(page, "an area taken along");
  await snap(page, "along", [390, 1440]);
  await section.getByRole("button", { name: "Take 75 instruments along" }).click();
  await section.getByText(/75 instruments stay here until/).waitFor({ timeout: 60000 });
  const { id } = await entryOf("FAR-53");
  await phone.context.setOffline(true);
  await page.goto(`${plant.url}/instrument/${id}`);
  await page.getByRole("button", { name: "Change: Note" }).click();
  await page.getByLabel("Note", { exact: true }).fill("taken along");
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
  await page.reload();
  await page.getByText("taken along").waitFor();
  await phone.context.setOffline(false);
  for (let i = 0; ; i++) {
    const history = JSON.stringify(await office(`/api/office/history/${id}`));
    if (history.includes("taken along")) break;
    assert.ok(i < 200, "the work did not reach the office");
    await page.waitForTimeout(300);
  }
});

test("another person logs in on the phone: what they open comes", async () => {
  await page.goto(`${plant.url}/device`);
  await page.getByText("All work sent").first().waitFor();
  const [first, second] = [(await entryOf("FAR-20")).id, (await entryOf("FAR-53")).id];
  await page.getByRole("button", { name: "Log out", exact: true }).click();
  await page.getByRole("heading", { name: "Log in" }).waitFor();
  await logIn(page, plant, plant.someone("administrator"));
  for (let i = 0; !(await entryOf("FAR-20")); i++) {
    assert.ok(i < 300, "the register does not come");
    await page.waitForTimeout(100);
  }
  await page.goto(`${plant.url}/instrument/${first}`);
  await page.getByRole("button", { name: "Change: Note" }).waitFor();
  await page.goto(`${plant.url}/instrument/${second}`);
  await page.getByText("taken along").waitFor();
  assert.deepEqual(phone.faults, []);
});
