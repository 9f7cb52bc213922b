// A technician with one site: in a real browser the phone holds that site's records and no other's,
// also after the site has changed.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { asPerson, Pocket, whole } from "./pocket.mjs";

const root = resolve(import.meta.dirname, "../..");
let plant;
let phone;
let page;
let administrator;
let person;
const sites = {};

/**
 * held gives the content of the device's database: how many records of each site, the sites
 * themselves, and the tags of the register.
 */
const held = () =>
  page.evaluate(
    () =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const tx = opening.result.transaction(["records", "register"]);
          const all = {};
          for (const name of ["records", "register"]) {
            tx.objectStore(name).getAll().onsuccess = (e) => {
              all[name] = e.target.result;
            };
          }
          tx.onabort = () => fail(tx.error);
          tx.oncomplete = () => {
            opening.result.close();
            const of = {};
            for (const r of all.records) of[r.site] = (of[r.site] ?? 0) + 1;
            const codes = all.records
              .filter((r) => r.kind === "site")
              .map((r) => [r.state.fields.code.heads[0].value, r.id]);
            done({ of, codes: Object.fromEntries(codes), tags: all.register.map((e) => e.tag) });
          };
        };
      }),
  );

/**
 * given sets in the office whose records the person gets, and waits until the phone has exactly
 * these.
 */
async function given(codes) {
  await administrator(`/api/users/${person}/sites`, "PUT", { sites: codes.map((c) => sites[c]) });
  const wanted = codes.length > 0 ? codes : Object.keys(sites);
  await page.reload();
  for (let i = 0; ; i++) {
    const h = await held();
    const right = Object.keys(sites).every((code) => h.of[sites[code]] > 0 === wanted.includes(code));
    if (right) return h;
    if (i > 240) throw new Error(`after a minute the phone holds ${JSON.stringify(h.of)}, wanted ${wanted}`);
    await page.waitForTimeout(250);
  }
}

before(async () => {
  plant = await Plant.make();
  await plant.kill();
  const rows = ["tag;serial;description;low;high;unit;mode;resolution;class;area;place;site;method"];
  for (let n = 1; n <= 5; n++)
    for (const site of ["EAST", "WEST"])
      rows.push(`${site}-${n};S-${site}-${n};Line gauge;0;10;bar;gauge;0.1;1.6;Hall;Bay ${n};${site};`);
  const file = join(plant.dir, "register.csv");
  writeFileSync(file, `${rows.join("\n")}\n`);
  execFileSync(join(root, "bin/gaugewright"), ["import", "--data", plant.dir, "--new-sites", "--write", file], {
    stdio: ["ignore", "ignore", "inherit"],
  });
  await plant.start();
  const technician = plant.someone("technician");
  administrator = await asPerson(plant, plant.someone("administrator"));
  person = (await administrator("/api/users")).users.find((u) => u.name === technician.name).id;
  phone = new Pocket(plant);
  page = await phone.begin(technician);
  await whole(page);
  Object.assign(sites, (await held()).codes);
});

after(async () => {
  await phone?.remove();
  await plant?.remove();
});

test("without sites a technician gets everything", async () => {
  const h = await held();
  for (const tag of ["EAST-1", "WEST-5"]) assert.ok(h.tags.includes(tag), tag);
});

test("with one site the phone drops the records of others, and its search finds none of them", async () => {
  const h = await given(["EAST"]);
  assert.deepEqual(h.tags, ["EAST-1", "EAST-2", "EAST-3", "EAST-4", "EAST-5"]);
  await page.goto(`${plant.url}/find`);
  await page.getByText("5 instruments", { exact: true }).waitFor();
  await page.getByLabel("Tag, serial, range, area or words").fill("west");
  await page.getByText("Nothing on this device matches.").waitFor();
  await page.getByLabel("Tag, serial, range, area or words").fill("east-3");
  await page.getByText("1 instrument", { exact: true }).waitFor();
});

test("another site takes the first one's place, and its records come from the beginning", async () => {
  const h = await given(["WEST"]);
  assert.equal(h.of[sites.WEST], 5);
  assert.deepEqual(h.tags, ["WEST-1", "WEST-2", "WEST-3", "WEST-4", "WEST-5"]);
});

test("work on a site that is taken away goes out before its records go", async () => {
  const id = await page.evaluate(
    () =>
      new Promise((done) => {
        indexedDB.open("gaugewright").onsuccess = (e) => {
          e.target.result.transaction("register").objectStore("register").getAll().onsuccess = (found) => {
            e.target.result.close();
            done(found.target.result.find((x) => x.tag === "WEST-2").id);
          };
        };
      }),
  );
  await phone.context.setOffline(true);
  await page.goto(`${plant.url}/instrument/${id}`);
  await page.getByRole("button", { name: "Change: Note" }).click();
  await page.getByLabel("Note", { exact: true }).fill("hangs over the door");
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
  await administrator(`/api/users/${person}/sites`, "PUT", { sites: [sites.EAST] });
  await phone.context.setOffline(false);
  await given(["EAST"]);
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const { instruments } = await reviewer("/api/office/register?q=WEST-2&after=");
  const history = await reviewer(`/api/office/history/${instruments[0].id}`);
  assert.ok(JSON.stringify(history).includes("hangs over the door"), JSON.stringify(history).slice(0, 400));
});

test("without sites again, everything comes back, and no script failed", async () => {
  const h = await given([]);
  await whole(page);
  assert.ok((await held()).tags.length >= h.tags.length);
  for (const tag of ["EAST-1", "WEST-5"]) assert.ok((await held()).tags.includes(tag), tag);
  assert.deepEqual(phone.faults, []);
});
