// The office: a reviewer and an administrator go through everybody's work, decide on two visits and
// issue papers, by day and by night, on a wide screen and on a phone.
import assert from "node:assert/strict";
import { createHmac } from "node:crypto";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { browser, dir, faults, open, plant, sound, withOffice } from "./office.mjs";
import { asPerson, snap } from "./pocket.mjs";
import { onward, stroke } from "./visit.mjs";

let approved; // the visit that is approved and then reopened

withOffice();

async function part(page, name, heading) {
  await page.getByRole("navigation", { name: "Office" }).getByRole("link", { name }).click();
  await page.getByRole("heading", { name: heading, level: 1 }).waitFor();
}

/** arrived waits until the office has a visit in a state. */
async function arrived(ask, visit, status) {
  for (let i = 0; i < 240; i++) {
    if ((await ask(`/api/office/visits/${visit}`)).status === status) return;
    await new Promise((done) => setTimeout(done, 250));
  }
  throw new Error(`the visit does not become ${status}`);
}

async function download(page, button, name) {
  const [d] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: button }).click()]);
  const file = join(dir, name);
  await d.saveAs(file);
  return readFileSync(file);
}

const wide = { width: 1280, height: 900 };

test("an administrator states the laboratory, adds a person and ends the access again", async () => {
  const page = await open({ role: "administrator", theme: "night", viewport: wide });
  await page.getByRole("link", { name: "Office", exact: true }).click();
  await part(page, "Laboratory", "Laboratory");
  await sound(page, "laboratory");
  await page.getByLabel("Name of the").fill("Harbour works laboratory");
  await page.getByLabel("Address").fill("1 Dock Road\nHarbour");
  await page.getByLabel(/^Customer: /).fill("Works North");
  await page.getByLabel("Language of certificates", { exact: true }).selectOption("German");
  await page.getByRole("button", { name: "Save", exact: true }).click();
  await page.getByText("Saved.").waitFor();
  await part(page, "People", "People");
  await page.getByLabel("Full name").fill("Ona Brevic");
  await page.getByLabel("Log-in name").fill("Ona");
  await page.getByRole("radio", { name: "Reviewer" }).last().check();
  await page.getByRole("button", { name: "Invite", exact: true }).click();
  const code = await page.getByRole("strong").innerText();
  await page.getByRole("button", { name: "End access: Ona Brevic" }).waitFor();
  await page.getByLabel("Full name").fill("Another Ona");
  await page.getByLabel("Log-in name").fill("ONA");
  await page.getByRole("button", { name: "Invite", exact: true }).click();
  await page.getByRole("alert").getByText("it is already in use").waitFor();
  await invited(code);
  await page.getByLabel("Change: Ona Brevic").click();
  const row = page.getByRole("listitem").filter({ hasText: "log-in name Ona" });
  await row.getByLabel("Full name").fill("Ona Brevik");
  await row.getByLabel("Function").fill("technical manager");
  await row.getByRole("button", { name: "Save name and function" }).click();
  await row.getByText("Saved. It applies to certificates from now on.").waitFor();
  await row.getByText("technical manager, Reviewer, log-in name Ona").waitFor();
  await row.getByText("Logged in on 1 device.").waitFor();
  await row.getByRole("button", { name: "End these log-ins" }).click();
  await page.getByText("Ona Brevik has to log in again on every device.").waitFor();
  await row.getByText("Not logged in.").waitFor();
  await row.getByRole("button", { name: "Remove the second factor" }).click();
  await page.getByText("Ona Brevik logs in with the password alone now.").waitFor();
  await row.getByRole("button", { name: "Give a new code" }).click();
  await row.getByText(/shown this once/).waitFor();
  await page.getByRole("button", { name: "End access: Ona Brevik" }).click();
  await sound(page, "people");
  await page.getByRole("button", { name: "End it now" }).click();
  await page.getByRole("listitem").filter({ hasText: "Ona" }).getByText("ended").waitFor();
  await part(page, "Event log", "Event log");
  await page.getByText("access ended: Ona Brevik").waitFor();
  await page.getByText("second factor set up").waitFor();
  await sound(page, "events");
  const table = (await download(page, "Save as a table (CSV)", "events.csv")).toString();
  assert.match(table, /^number,at,event,by,about,address,detail\n/);
  assert.match(table, /,revoked,[^\n]*Ona/);
  assert.ok(!table.includes(code));
  await page.context().close();
});

/** shown is the code of a second factor at a moment (RFC 6238), as another device would show it. */
function shown(secret, at) {
  const bits = [...secret.replaceAll(" ", "")]
    .map((c) => "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567".indexOf(c).toString(2).padStart(5, "0"))
    .join("");
  const step = Buffer.alloc(8);
  step.writeBigUInt64BE(BigInt(Math.floor(at / 30000)));
  const sum = createHmac("sha1", Buffer.from(bits.match(/.{8}/g).map((b) => Number.parseInt(b, 2))))
    .update(step)
    .digest();
  return String((sum.readUInt32BE(sum[19] & 15) & 0x7fffffff) % 1e6).padStart(6, "0");
}

/**
 * invited does what a new person does on a phone: choose a password, set up a second factor, change
 * the password, log in again with both.
 */
async function invited(code) {
  const context = await browser.newContext({
    viewport: { width: 390, height: 844 },
    locale: "en-GB",
    reducedMotion: "reduce",
  });
  const page = await context.newPage();
  page.setDefaultTimeout(30000);
  page.on("pageerror", (e) => faults.push(e.message));
  const enter = async (password) => {
    await page.getByLabel("Name").fill("Ona");
    await page.getByLabel("Password").fill(password);
    await page.keyboard.press("Enter");
  };
  await page.goto(plant.url);
  await enter(code.toLowerCase());
  await page.getByText("Choose a password that only you know").waitFor();
  await sound(page, "invited");
  await page.getByLabel("Your password").fill("password123");
  await page.getByLabel("Repeat the password").fill("password123");
  await page.keyboard.press("Enter");
  await page.getByText(/easily guessed/).waitFor();
  await page.getByLabel("Your password").fill("a kettle on the pier");
  await page.getByLabel("Repeat the password").fill("a kettle on the pier");
  await page.keyboard.press("Enter");
  await page.getByRole("link", { name: "Device" }).click();
  await page.getByRole("button", { name: "Password, second factor, log-ins" }).click();
  await page.getByLabel("Your password now").nth(1).fill("a kettle on the pier");
  await page.getByRole("button", { name: "Set it up" }).click();
  const secret = await page
    .getByText(/^Secret:/)
    .locator("code")
    .innerText();
  await sound(page, "second factor");
  await page.getByLabel("The code that it shows").fill("000");
  await page.getByRole("button", { name: "Confirm" }).click();
  await page.getByText(/This code is wrong/).waitFor();
  const used = Math.floor(Date.now() / 30000);
  await page.getByLabel("The code that it shows").fill(shown(secret, Date.now()));
  await page.getByRole("button", { name: "Confirm" }).click();
  const recovery = await page.getByRole("listitem").first().innerText();
  await page.getByRole("button", { name: "I have them" }).click();
  await page.getByText("asks for a code from your device").waitFor();
  await page.getByLabel("Your password now").first().fill("a kettle on the pier");
  await page.getByLabel("New password").fill("two kettles on the pier");
  await page.getByRole("button", { name: "Change the password" }).click();
  await page.getByText("Your other devices have to log in again.").waitFor();
  await sound(page, "account");
  await page.getByRole("button", { name: "Log out" }).click();
  await page.getByRole("button", { name: "Log in", exact: true }).waitFor(); // the account's own fields are gone
  await enter("two kettles on the pier");
  await page.getByLabel("Code").fill(recovery.slice(0, 9));
  await page.keyboard.press("Enter");
  await page
    .getByRole("alert")
    .getByText(/wrong or has run out/)
    .waitFor();
  await sound(page, "code");
  while (Math.floor(Date.now() / 30000) === used) await page.waitForTimeout(500); // each code works only once
  await page.getByLabel("Code").fill(shown(secret, Date.now()));
  await page.keyboard.press("Enter");
  await page.getByRole("navigation", { name: "Main" }).waitFor();
  await context.close();
}

/** approve approves a visit, with the effect of a failure if that is asked for. */
async function approve(page) {
  const button = page.getByRole("button", { name: "Approve", exact: true });
  await button.waitFor();
  const effect = page.getByLabel("What the failure means for its use since it last passed");
  if (await effect.count()) await effect.fill("Nothing that was made since was touched.");
  await button.click();
}

/**
 * onlyFound gives the first visit that waits whose gauge was not adjusted: what was found decides alone,
 * so that a later correction can make it fail.
 */
async function onlyFound(page) {
  const ask = await asPerson(plant, plant.someone("reviewer"));
  for (const link of await page.locator(".queue .signed a").all()) {
    const id = (await link.getAttribute("href")).split("/").pop();
    const { visit, runs } = await ask(`/api/office/visits/${id}`);
    if (runs.length === 1 && visit.fields.item.heads[0].value.range) return id;
  }
  throw new Error("no visit that waits has an as-found run alone");
}

test("a reviewer approves a visit with its certificate and sends another one back", async () => {
  const page = await open({ role: "reviewer", theme: "day", viewport: wide });
  await page.getByRole("link", { name: "Office", exact: true }).click();
  await page.getByText(/wait for you/).waitFor();
  await sound(page, "day");
  const before = await page.locator(".queue .signed").count();
  assert.ok(before >= 2, `${before} visits wait`);
  approved = await onlyFound(page);
  await page.locator(`.queue .signed a[href$="${approved}"]`).click();
  await page.getByRole("heading", { name: "Who changed what" }).waitFor();
  await page
    .getByRole("img", { name: /Error against pressure/ })
    .first()
    .waitFor();
  await page
    .locator("details")
    .first()
    .evaluate((d) => {
      d.open = true;
    });
  await sound(page, "visit");
  await page.getByLabel("Language of certificates", { exact: true }).selectOption("English");
  await approve(page);
  const pdf = await download(page, /^Certificate/, "certificate.pdf");
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  await page.getByText(/^Approved by/).waitFor();
  await page.getByText("Approval: signed with this person's key: valid").waitFor();

  await part(page, "To review", "To review");
  await page.locator(".queue .signed a").first().click();
  await page.getByRole("button", { name: "Send back" }).click();
  await page
    .getByRole("alert")
    .getByText(/write a few words/)
    .waitFor();
  await page.getByLabel("What the technician").fill("Say which valve was used.");
  await page.getByRole("button", { name: "Send back" }).click();
  await page.getByText("It was sent back and waits").waitFor();
  await page.getByText("Sent back. The phone").waitFor();
  await page.locator("main").getByText("Say which valve was used.").first().waitFor();
  await part(page, "To review", "To review");
  await page.getByText(new RegExp(`${before - 2} (visits wait|visit waits) for you`)).waitFor();
  assert.equal(await page.getByRole("link", { name: "People" }).count(), 0, "only administrators see the accounts");
  await page.context().close();
});

test("an approved visit is reopened, corrected, signed and approved again: its second certificate replaces the first", async () => {
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const seen = await reviewer(`/api/office/visits/${approved}`);
  const first = seen.certificates[0].number;
  const { range } = seen.visit.fields.item.heads[0].value;
  const page = await open({ role: "reviewer", theme: "night", viewport: wide });
  await page.goto(`${plant.url}/office/visit/${approved}`);
  await page.getByText("Open the approved visit again").click();
  await page.getByRole("button", { name: "Open again" }).click();
  await page
    .getByRole("alert")
    .getByText(/write a few words/)
    .waitFor();
  await page.getByLabel("Reason, which").fill("The serial number is another one.");
  await page.getByRole("button", { name: "Open again" }).click();
  await page.getByText("waits for its correction").waitFor({ timeout: 120000 });
  await page.getByText("do not rely on this one meanwhile").waitFor();
  await sound(page, "visit opened again");
  await page.context().close();

  // A technician corrects it on a phone: a reading, and the name of the instrument.
  const phone = await open({ role: "technician", theme: "day", viewport: { width: 390, height: 844 } });
  await phone.goto(`${plant.url}/visit/${approved}`);
  const help = phone.getByRole("button", { name: "Help with this visit" }); // if it is another technician's work
  await help.or(phone.getByText("The serial number is another one.")).first().waitFor();
  if (await help.isVisible()) {
    await sound(phone, "another person's visit");
    await help.click();
  }
  await phone.getByText("The serial number is another one.").waitFor();
  await phone.getByText("do not rely on this one meanwhile").waitFor();
  await phone.locator(".corrections summary").first().click();
  await sound(phone, "corrections");
  await phone.locator(".corrections .before").first().getByRole("button", { name: "Correct" }).first().click();
  await phone
    .getByRole("textbox", { name: /reading|tap|indicated/i })
    .first()
    .fill(String(Number(range.low) + (range.high - range.low) / 10));
  await phone.getByLabel("Reason", { exact: true }).fill("Read again in the notes");
  await phone.getByRole("button", { name: /^Keep/ }).first().click();
  await phone.locator(".corrections details").first().waitFor();
  await phone.locator(".corrections summary").first().click();
  await phone.locator(".corrections .before").getByText(/was /).first().waitFor();
  await phone.locator(".corrections").getByRole("button", { name: "Tag, serial, maker" }).click();
  await phone.getByLabel("Serial").fill("N-4711");
  await phone.locator(".corrections").getByRole("button", { name: "Keep", exact: true }).click();
  await phone.locator(".corrections summary").first().waitFor();
  await phone.getByLabel("Leave it in service").waitFor(); // a tenth of the range at zero fails
  await onward(phone);
  await phone.getByRole("button", { name: "To the signature" }).click();
  const technician = plant.someone("technician");
  await phone.getByText(`${technician.full}, technician`, { exact: true }).waitFor();
  await stroke(phone);
  await phone.getByRole("button", { name: "Sign", exact: true }).click();
  await phone.getByRole("heading", { name: "Signed", level: 1 }).waitFor();
  await arrived(reviewer, approved, "signed");

  const again = await open({ role: "reviewer", theme: "day", viewport: wide });
  await again.goto(`${plant.url}/office/visit/${approved}`);
  await again.getByText("corrected after an approval").waitFor();
  await approve(again);
  await again.getByText(`Replaced by certificate`).waitFor();
  await again.getByText(`Replaces certificate ${first}.`).waitFor();
  await sound(again, "visit with two certificates");
  const now = await reviewer(`/api/office/visits/${approved}`);
  assert.deepEqual(now.keys, { signature: "good", approval: "good", office: "good" });
  assert.equal(now.visit.fields.signature.heads[0].value.name, technician.full);
  for (const field of ["returned", "reopened"])
    for (const [name, f] of Object.entries(now.visit.fields))
      if (name.startsWith(`${field}.`)) assert.match(f.heads[0].value.proof, /^[\w-]+\.\.[\w-]{86}$/);
  const [old, fresh] = now.certificates;
  assert.deepEqual(
    [old.replaced_by, fresh.replaces, fresh.in_force, fresh.why],
    [fresh.number, first, true, "The serial number is another one."],
  );
  // The laboratory's language, since nobody chose another one here.
  assert.match(fresh.different, /die Bezeichnung des Gegenstands \(.*Seriennummer: \S+ ist jetzt N-4711/);
  assert.match(fresh.different, /Read again in the notes/);
  const pdf = await download(again, `Certificate ${fresh.number}`, "second.pdf");
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  await again.context().close();

  // The code on the earlier certificate leads here.
  await phone.reload();
  await phone.getByText(`Replaced by certificate ${fresh.number}: no longer valid.`).waitFor();
  await sound(phone, "record of a replaced certificate");
  await phone.context().close();
});

test("an administrator erases a signature's name and strokes; its proof stays valid", async () => {
  const page = await open({ role: "administrator", theme: "day", viewport: wide });
  const ask = await asPerson(plant, plant.someone("administrator"));
  const before = await ask(`/api/office/visits/${approved}`);
  const { values } = await ask(`/api/office/visits/${approved}/personal`);
  await page.goto(`${plant.url}/office/visit/${approved}`);
  await page.getByText("Erase personal values").click();
  const name = before.visit.fields.signature.heads[0].value.name;
  await page.getByLabel(`Signature: name (${name}) and strokes`).check();
  await page.getByLabel("Why it is erased").fill("Asked for after leaving");
  await page.getByRole("button", { name: "Erase the chosen values" }).click();
  await page.getByText("1 value is erased for good.").waitFor();
  await sound(page, "erasing");
  await snap(page, "erasing", [1280, 390]);
  await page.getByRole("button", { name: "Erase it now" }).click();
  await page.getByText("1 value was erased.").waitFor();
  await page
    .getByText(values.length === 1 ? "Nothing else here shows" : `Still there: ${values.length - 1}`)
    .waitFor();
  await page.getByText("Issued certificates keep the names").waitFor();
  await snap(page, "erased", [1280]);
  const after = await ask(`/api/office/visits/${approved}`);
  const left = after.visit.fields.signature.heads[0].value;
  assert.equal(left.name, undefined);
  assert.equal(left.strokes, undefined);
  assert.deepEqual(after.keys, before.keys);
  assert.deepEqual(after.attention, before.attention);
  await page.context().close();
});

test("an administrator reads the keys and withdraws one; its owner sees it", async () => {
  const page = await open({ role: "administrator", theme: "day", viewport: wide });
  await page.goto(`${plant.url}/office/keys`);
  await page.getByRole("heading", { name: "Keys", level: 1 }).waitFor();
  const technician = plant.someone("technician");
  const row = page.getByRole("listitem").filter({ hasText: technician.full }).first();
  await row.getByText("good, in use").waitFor();
  await row.getByText(/signed last .*, \d+ signature/).waitFor();
  const print = await row.locator("code").innerText();
  assert.match(print, /^[\w-]{43}$/);
  await page.getByText("Key of the journal's heads").waitFor();
  await row.getByRole("button", { name: /^Withdraw this key/ }).click();
  await row.getByLabel("Lost or stolen").check();
  await row.getByLabel("Reason").fill("Left on the ferry");
  await sound(page, "keys");
  await snap(page, "keys", [1280, 390]);
  await row.getByRole("button", { name: "Withdraw it now" }).click();
  const gone = page.getByRole("listitem").filter({ hasText: print });
  await gone.getByText("Left on the ferry").waitFor();
  assert.equal(await gone.getByRole("button").count(), 0, "a key that was withdrawn offers nothing");
  await part(page, "Event log", "Event log");
  await page.getByText("device's key ended as lost").waitFor();
  await page.context().close();

  const phone = await open({ role: "technician", theme: "night", viewport: { width: 390, height: 844 } });
  await phone.goto(`${plant.url}/device`);
  await phone.getByText(`${technician.full}, technician`).waitFor();
  await phone.getByText(`Log-in name: ${technician.name}`).waitFor();
  await phone.getByRole("button", { name: "Password, second factor" }).click();
  const own = phone.getByRole("listitem").filter({ hasText: print });
  await phone.getByRole("heading", { name: "Your signing keys" }).waitFor();
  await own.getByText("lost").waitFor();
  await sound(phone, "own keys");
  await phone.context().close();
});

test("a reviewer finds instruments and prints their labels, on a phone too", async () => {
  const page = await open({ role: "reviewer", theme: "night", viewport: { width: 390, height: 844 } });
  await page.getByRole("link", { name: "Office", exact: true }).click();
  await sound(page, "day on a phone");
  await page.locator(".queue .signed a").first().click();
  await page.getByRole("heading", { name: "Who changed what" }).waitFor();
  await sound(page, "visit on a phone");
  await part(page, "Register", "Register");
  await page.locator("table.register tbody tr").first().waitFor();
  const all = await page.locator("table.register tbody tr").count();
  const tag = await page.locator("table.register td.c-tag a").first().innerText();
  await page.getByLabel("Tag, serial").fill(tag);
  await page.waitForFunction((n) => document.querySelectorAll("table.register tbody tr").length < n, all);
  await page.getByLabel(`Choose ${tag}`).check();
  await sound(page, "register on a phone");
  const plain = await download(page, "Label sheet", "labels.pdf");
  assert.equal(plain.subarray(0, 5).toString(), "%PDF-");
  await page.getByLabel("with due date and status").check();
  const dated = await download(page, "Label sheet", "dated.pdf");
  assert.ok(dated.length > plain.length, "the date makes the label longer");
  await page.getByRole("button", { name: "Defect tags" }).click();
  await page.getByText(/is in service and gets no defect tag/).waitFor();
  await page.getByRole("link", { name: `Changes ${tag}` }).click();
  await page.getByRole("heading", { name: "Who changed what", level: 1 }).waitFor();
  await sound(page, "history on a phone");
  await part(page, "Not accepted", "Not accepted");
  await page.getByText("Every entry was accepted.").waitFor();
  await page.context().close();
});

test("an instrument out of service says so in the register and on its page, and no visit begins on it", async () => {
  const page = await open({ role: "reviewer", theme: "day", viewport: wide });
  await page.getByRole("link", { name: "Office", exact: true }).click();
  await part(page, "Register", "Register");
  await page.locator("table.register tbody tr").first().waitFor();
  const row = page.locator("table.register tbody tr").first();
  assert.equal(await row.getByText("out of service").count(), 0);
  const tag = await row.locator("a").first().innerText();
  await row.locator("a").first().click();
  await page.getByRole("button", { name: "Start visit" }).waitFor();
  await page.getByRole("button", { name: "Change its data" }).click();
  await page.getByLabel("out of service").check();
  await page.getByRole("button", { name: "Save the data" }).click();
  await page.getByText(/no new visit can be started/).waitFor();
  assert.equal(await page.getByRole("button", { name: "Start visit" }).count(), 0);
  await sound(page, "instrument out of service");
  await page.getByRole("link", { name: "Office", exact: true }).click();
  await part(page, "Register", "Register");
  await page.getByLabel("Tag, serial").fill(tag);
  await page.locator("table.register tbody tr").first().getByText("out of service").waitFor();
  await page.context().close();
});

test("a technician is not shown the office", async () => {
  const page = await open({ role: "technician", theme: "day", viewport: wide });
  assert.equal(await page.getByRole("link", { name: "Office", exact: true }).count(), 0);
  await page.goto(`${plant.url}/office`);
  await page.getByText("for reviewers and administrators").waitFor();
  await page.context().close();
});

test("no script failed on the way", () => {
  assert.deepEqual(faults, []);
});
