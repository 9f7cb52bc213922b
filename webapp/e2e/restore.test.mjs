// An older copy of the data is restored, and a phone and the office complete each other again.
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { asPerson, Pocket, snap, whole } from "./pocket.mjs";

const program = resolve(import.meta.dirname, "../../bin/gaugewright");
let plant;
let ada; // a technician's phone
let technician;
let reviewer;
let office; // calls the API as the reviewer
let gauge;
let dir;
let first; // the number of the certificate that the copy lacks

/** run runs the program and returns its error. */
function run(...args) {
  const r = spawnSync(program, args, { encoding: "utf8" });
  assert.equal(r.status, 0, r.stderr + r.stdout);
}

const see = async (page) => {
  await page.goto(`${plant.url}/instrument/${gauge}`);
  await page.getByText("As-found history").waitFor();
};

async function note(page, text) {
  await page.getByRole("button", { name: "Change: Note" }).click();
  await page.getByLabel("Note", { exact: true }).fill(text);
  await page.getByRole("button", { name: "Keep", exact: true }).click();
  await page.locator(".change").waitFor({ state: "detached" });
  await page.getByText("All work sent").waitFor();
}

/** issue approves a visit that waits for it and gives the number of its certificate. */
async function issue() {
  const { visits, waiting } = await office("/api/office/day?date=");
  for (const visit of [...waiting, ...visits].filter((v) => v.status === "signed")) {
    const { covers } = await office(`/api/office/visits/${visit.id}`);
    const { certificate } = await office(`/api/office/visits/${visit.id}/approve`, "POST", { covers, effect: "nothing was touched" });
    if (certificate) return { visit: visit.id, number: certificate.number };
  }
  throw new Error("no visit waits for approval");
}

before(async () => {
  plant = await Plant.make();
  dir = mkdtempSync(join(tmpdir(), "gaugewright-restore-"));
  technician = plant.someone("technician");
  reviewer = plant.someone("reviewer");
  office = await asPerson(plant, reviewer);
  gauge = (await office("/api/office/register?q=&after=")).instruments[0].id;
  ada = new Pocket(plant);
  await ada.begin(technician);
  await whole(ada.page);
});

after(async () => {
  await ada?.remove();
  await plant?.remove();
  if (dir) rmSync(dir, { recursive: true, force: true });
});

test("work and a certificate that the restored copy lacks come back from a phone", async () => {
  await see(ada.page);
  await note(ada.page, "Written before the copy");
  await plant.kill();
  run("backup", "--data", plant.dir, "--out", join(dir, "copy"));
  await plant.start();
  office = await asPerson(plant, reviewer);

  first = await issue();
  await see(ada.page);
  await note(ada.page, "Written after the copy");
  await ada.page.goto(`${plant.url}/`); // the decision has come with the exchange
  await ada.page.getByText("All work sent").waitFor();

  await plant.kill();
  rmSync(plant.dir, { recursive: true, force: true });
  run("restore", "--in", join(dir, "copy"), "--data", plant.dir);
  await plant.start();
  office = await asPerson(plant, reviewer);
  assert.equal((await office(`/api/office/visits/${first.visit}`)).status, "signed", "the copy lacks the approval");

  await see(ada.page);
  await ada.page.getByText("log in again to send").click();
  await ada.page.getByLabel("Password").fill(technician.password);
  await ada.page.getByRole("button", { name: "Log in", exact: true }).click();
  await ada.page.getByText("All work sent").waitFor({ timeout: 90000 });

  for (let i = 0; i < 300; i++) {
    const { status } = await office(`/api/office/visits/${first.visit}`);
    if (status === "approved") break;
    await ada.page.waitForTimeout(100);
  }
  assert.equal((await office(`/api/office/visits/${first.visit}`)).status, "approved");
  await see(ada.page);
  await ada.page.locator("main .facts").getByText("Written after the copy").waitFor();
  const next = await issue();
  assert.notEqual(next.number, first.number, "no number is given twice");
});

test("the office is shown what came back", async () => {
  const desk = new Pocket(plant);
  try {
    const page = await desk.begin(reviewer);
    await page.goto(`${plant.url}/office/aside`);
    await page.getByRole("heading", { name: "Recovered after the restore" }).waitFor();
    await page.getByText(`certificate ${first.number}`).waitFor();
    await page.getByText(technician.full).first().waitFor();
    await snap(page, "restored", [390, 1280]);
    assert.deepEqual([...desk.faults, ...ada.faults], []);
  } finally {
    await desk.remove();
  }
});
