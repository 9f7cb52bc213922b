// The whole story: a technician logs in online, the server is killed, a visit is done on the phone
// across reloads and a closed browser, the server comes back, the outbox empties by itself, and the
// office has every typed value, the corrected one with its first.
import assert from "node:assert/strict";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { logIn, Plant, phone, ready } from "./plant.mjs";
import { prepare, run, stroke } from "./visit.mjs";
import { more, saw } from "./walk.mjs";

let plant;
let profile;
let context;
let page;
const faults = [];

async function open() {
  context = await phone(profile);
  page = context.pages()[0] ?? (await context.newPage());
  page.setDefaultTimeout(30000);
  page.on("pageerror", (e) => faults.push(e.message));
}

before(async () => {
  plant = await Plant.make();
  profile = mkdtempSync(join(tmpdir(), "gaugewright-phone-"));
  await open();
});

after(async () => {
  await context?.close();
  await plant?.remove();
  if (profile) rmSync(profile, { recursive: true, force: true });
});

async function officeOf(role) {
  const person = plant.someone(role);
  const login = await fetch(`${plant.url}/api/login`, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify({ name: person.name, password: person.password }),
  });
  assert.equal(login.status, 200);
  const { access } = await login.json();
  return async (path) => {
    const r = await fetch(plant.url + path, { headers: { authorization: `Bearer ${access}` } });
    assert.equal(r.status, 200, `${path}: ${r.status}`);
    return r.json();
  };
}

let visit;
const typed = [];

test("logs in on line and sees today's round", async () => {
  await logIn(page, plant, plant.someone("technician"));
  await ready(page);
  await page.getByText(/^Round of/).waitFor({ timeout: 120000 });
  await page.getByText("0 of").waitFor();
});

test("does a visit with the server killed, across a reload and a closed browser", async () => {
  await page.locator("main a[href^='/instrument/']").first().click();
  await page.getByText("As-found history").waitFor();
  await plant.kill();
  await page.reload();
  await page.getByText("As-found history").waitFor();
  await page.getByRole("button", { name: "Start visit" }).click();
  await prepare(page);
  visit = new URL(page.url()).pathname.split("/").pop();
  const read = (x) => {
    typed.push(x);
    return String(x);
  };
  await run(
    () => page,
    read,
    async (n) => {
      if (n === 3) await page.reload();
      if (n === 6) {
        await context.close();
        await open();
        await page.goto(`${plant.url}/visit/${visit}`);
      }
      if (n === 8) {
        await more(page, "Correct the last value");
        await page.locator(".pad input").fill(String(typed.at(-1)));
        const keep = page.getByRole("button", { name: /^Keep .*\d/ });
        await keep.click();
        await page.getByRole("button", { name: "mistyped" }).click();
        await keep.click();
        await page.getByText("stays on record").waitFor({ state: "detached" });
        await saw(page, /was /);
      }
    },
  );
  assert.equal(typed.length, 12);
  await page.getByRole("button", { name: "Close this run" }).click();
  await page.getByText("As found: result").waitFor();
  await page.getByText("pass", { exact: true }).first().waitFor();
});

test("a remark and a photo of 20 MB are kept, the visit is signed, and the screen shows what waits", async () => {
  await page.getByLabel("No", { exact: true }).check();
  await page.getByRole("button", { name: "Next" }).click();
  await page.getByLabel("Remark").fill("Glass cleaned.");
  await page.getByRole("button", { name: "Keep the remark" }).click();
  await page
    .locator("input[type=file]")
    .setInputFiles({ name: "gauge.bmp", mimeType: "image/bmp", buffer: bitmap(2600, 2600) });
  await page.getByText("Photo kept: 1").waitFor({ timeout: 60000 });
  await page.getByRole("button", { name: "To the signature" }).click();
  await stroke(page);
  await page.getByRole("button", { name: "Sign", exact: true }).click();
  await page.getByRole("heading", { name: "Signed" }).waitFor();
  await page.getByText(/entries wait to be sent/).waitFor();
});

test("the outbox empties by itself when the server is back, and the office has it all", async () => {
  await plant.start();
  await page.getByText("All work sent").waitFor({ timeout: 90000 });
  const office = await officeOf("reviewer");
  const seen = await office(`/api/office/visits/${visit}`);
  assert.ok(JSON.stringify(seen).includes("Glass cleaned."), "the remark is there");
  assert.equal(seen.keys.signature, "good", "it is signed with a key of the phone that the office has confirmed");
  const signature = seen.visit.fields["signature"].heads[0];
  assert.equal(signature.value.name, seen.people[signature.author], "the signature has the full name");
  const captures = seen.runs.flatMap((r) =>
    Object.entries(r.fields).flatMap(([name, f]) => (name.startsWith("capture.") ? f.heads.map((h) => h.value) : [])),
  );
  assert.equal(captures.filter((c) => c.of === "indicated").length, 13, "twelve values and the one that was corrected");
  assert.equal(captures.filter((c) => c.supersedes).length, 1);
  const day = await office(`/api/office/day?date=${new Date().toISOString().slice(0, 10)}`);
  assert.ok(JSON.stringify(day).includes(visit), "the day shows the visit");
});

test("no script failed on the way", () => {
  assert.deepEqual(faults, []);
});

/** bitmap makes an uncompressed picture: 24 bits a pixel, so that a large one needs no library. */
function bitmap(width, height) {
  const row = Math.ceil((width * 3) / 4) * 4;
  const b = Buffer.alloc(54 + row * height, 0x7f);
  b.write("BM", 0);
  b.writeUInt32LE(b.length, 2);
  b.writeUInt32LE(0, 6);
  b.writeUInt32LE(54, 10);
  b.writeUInt32LE(40, 14);
  b.writeInt32LE(width, 18);
  b.writeInt32LE(height, 22);
  b.writeUInt16LE(1, 26);
  b.writeUInt16LE(24, 28);
  b.fill(0, 30, 54);
  return b;
}
