// Programmes between people: checked against an instrument and a standard while they are written,
// and passed from one phone to another as a code.
import assert from "node:assert/strict";
import { rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { film } from "./camera.mjs";
import { Plant } from "./plant.mjs";
import { Pocket, snap, sound } from "./pocket.mjs";
import { choosing, tickAll } from "./visit.mjs";

let plant;
let pocket;
let page;
let code;
const file = join(tmpdir(), `gaugewright-code-${process.pid}.y4m`);

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  page.setDefaultTimeout(60000);
  await page.locator("main a[href^='/instrument/']").first().waitFor({ timeout: 120000 });
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
  rmSync(file, { force: true });
});

const picture = (name, widths = [390, 1280]) => snap(page, name, widths);
const press = (name) => page.getByRole("button", { name, exact: true }).first();
const written = 'unit kPa gauge\nset 690\nhold 5 s\nread p1 from gauge\nif p1 > 700 {\n  note "high"\n}\nvent\n';

async function write(name, text) {
  await page.goto(`${plant.url}/programmes`);
  await press("New programme").click();
  await page.getByLabel("Name", { exact: true }).fill(name);
  await page.getByLabel("Steps as text").fill(text);
}

test("a programme is checked against an instrument and a standard of the device, in any unit", async () => {
  await write("Nearly seven bar", written);
  await page.getByText("No errors or warnings.").waitFor();
  await page.getByText("Checked against", { exact: true }).click();
  await page.getByLabel("An instrument of this device, by its tag").fill("PI-1");
  const bars = page.getByRole("button", { name: /^Check against .* [\d.]+ bar/ }).first();
  await bars.waitFor();
  const high = Number(/([\d.]+) bar/.exec(await bars.textContent())[1]);
  await bars.click();
  await press("Another instrument").waitFor();
  await page.getByLabel("Steps as text").fill(written.replace("690", String(high * 100)));
  await page.getByText("No errors or warnings.").waitFor();
  await page.getByLabel("Steps as text").fill(written.replace("690", String(high * 100 + 1)));
  await page
    .getByRole("button", {
      name: new RegExp(
        `Error, line 2: .*${high * 100 + 1} kPa is above the range of the instrument .* to ${high * 100} kPa`,
      ),
    })
    .waitFor();
  await page.getByText("The dry run starts when the check finds no error.").waitFor();
  await press("Another instrument").click();
  await page.getByLabel("Steps as text").fill(written);
  await page.getByText("No errors or warnings.").waitFor();
  const standards = page.getByLabel("A standard of this device");
  const names = await standards.locator("option").allTextContents();
  const small = names.find((n) => / 2 bar/.test(n));
  assert.ok(small, names.join("\n"));
  await standards.selectOption(small);
  await page.getByRole("button", { name: /Error, line 2: .*690 kPa is above the range of the standard/ }).waitFor();
  await standards.selectOption("");
  await page.getByLabel("Weakest part: maximum pressure").fill("600");
  await page.getByLabel("Name of that part").fill("hose");
  await page.getByRole("button", { name: /Error, line 2: .*weakest part withstands: hose, 600 kPa/ }).waitFor();
  await sound(page, "what a programme is held against");
  await picture("held");
  await page.getByLabel("Weakest part: maximum pressure").fill("");
  await page.getByText("No errors or warnings.").waitFor();
  await page.getByRole("region", { name: "Dry run" }).waitFor();
});

test("a programme is shown as a code", async () => {
  await press("Show QR code").click();
  const svg = page.locator("svg.qr-code");
  await svg.waitFor();
  await sound(page, "a programme with its code");
  await picture("code");
  code = await svg.screenshot();
  await page
    .getByLabel("Steps as text")
    .fill(
      `${written}${Array.from({ length: 300 }, (_, i) => `note "${((i + 1) * 7919 * 104729).toString(36)}"`).join("\n")}`,
    );
  await page.getByRole("alert").getByText("Save it as a file instead").waitFor();
});

test("another phone scans the code; it is checked and not kept before somebody saves it", async () => {
  await pocket.close();
  page = await pocket.open({ args: [film(file, code)] });
  page.setDefaultTimeout(60000);
  await page.goto(`${plant.url}/programmes`);
  await press("Scan QR code").click();
  await page.getByText("Read from a QR code and checked").waitFor();
  assert.equal(new URL(page.url()).pathname, "/programmes");
  assert.equal(await page.getByLabel("Name", { exact: true }).inputValue(), "Nearly seven bar");
  assert.equal(await page.getByLabel("Steps as text").inputValue(), written);
  await page.goto(`${plant.url}/programmes`);
  await press("New programme").waitFor();
  assert.equal(await page.getByRole("link", { name: /Nearly seven bar/ }).count(), 0);
});

test("a truncated link, or one with more than a programme may have, is refused", async () => {
  await page.goto(`${plant.url}/programmes/take#1ABCE`);
  await page.getByRole("alert").getByText("no programme, or only part of one").waitFor();
  const signs = await page.evaluate(async () => {
    const body = JSON.stringify({
      gaugewright: "programme",
      name: "x",
      definition: { kind: "programme", text: "fly to the moon" },
    });
    const bytes = new Uint8Array(
      await new Response(new Blob([body]).stream().pipeThrough(new CompressionStream("deflate-raw"))).arrayBuffer(),
    );
    const all = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ$*+-./:";
    let out = "";
    for (let i = 0; i < bytes.length; i += 2) {
      const last = i + 1 === bytes.length;
      let n = last ? bytes[i] : bytes[i] * 256 + bytes[i + 1];
      for (let k = last ? 2 : 3; k > 0; k--) {
        out += all[n % 43];
        n = Math.floor(n / 43);
      }
    }
    return out;
  });
  await page.goto("about:blank");
  await page.goto(`${plant.url}/programmes/take#1${signs}E`);
  await page
    .getByRole("alert")
    .getByText(/refused.*fly/)
    .waitFor();
  await sound(page, "a refused programme");
});

test("a standard that a programme goes beyond cannot be chosen for it", async () => {
  await write("Beyond the small standard", "unit bar gauge\nset 0.5\nhold 5 s\nvent\n");
  await page.getByText("No errors or warnings.").waitFor();
  await press("Save draft").click();
  await page.getByText("Saved as your draft").waitFor();
  await page
    .getByRole("button", { name: /^Start on .* (1\.6|2\.5|4|6|10|16|25|40) bar/ })
    .first()
    .click();
  await page.getByRole("heading", { name: "Before any pressure" }).waitFor();
  await tickAll(page);
  await press("All checked: go on").click();
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await press("Next").click();
  await choosing(page);
  const barred = page
    .locator("label", { hasText: "not with this programme: line 2: 0.5 bar is above the range of the standard" })
    .first();
  const folded = page.getByText(/that do(es)? not suit, and why/);
  if ((await folded.count()) > 0) await folded.click();
  await barred.getByRole("radio").check();
  await page.getByLabel("Reason for using it").fill("there is no other");
  await press("Use this standard").click();
  await page.getByRole("alert").getByText("not with this programme").waitFor();
  await picture("barred", [390]);
  await page.getByRole("radio").first().check();
  await press("Use this standard").click();
  await page.getByLabel("Air temperature").waitFor();
  assert.deepEqual(pocket.faults, []);
});
