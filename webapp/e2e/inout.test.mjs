// What goes out of the office and comes into it: a reviewer takes records out as a zip that holds,
// on a wide screen.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { flags, logIn, Plant } from "./plant.mjs";
import { sound } from "./pocket.mjs";

const program = resolve(import.meta.dirname, "../../bin/gaugewright");
let plant;
let browser;
let dir;

before(async () => {
  plant = await Plant.make();
  dir = mkdtempSync(join(tmpdir(), "gaugewright-inout-"));
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: flags,
  });
});

after(async () => {
  await browser?.close();
  await plant?.remove();
  if (dir) rmSync(dir, { recursive: true, force: true });
});

async function office(path, theme = "day") {
  const context = await browser.newContext({
    viewport: { width: 1440, height: 900 },
    locale: "en-GB",
    acceptDownloads: true,
    reducedMotion: "reduce",
  });
  const page = await context.newPage();
  page.setDefaultTimeout(120000);
  await page.addInitScript((t) => {
    localStorage.setItem("theme", t);
    delete window.showSaveFilePicker; // a dialog of the system, which nobody answers here
  }, theme);
  await logIn(page, plant, plant.someone("reviewer"));
  await page.goto(`${plant.url}${path}`);
  return page;
}

async function picture(page, name) {
  if (process.env.SHOTS) await page.screenshot({ path: join(process.env.SHOTS, `${name}.png`) });
}

test("a reviewer takes out what the register shows, and the file holds", async () => {
  const page = await office("/office/register?q=pi-11");
  await page.locator("table.register tbody tr").first().waitFor();
  const shown = Number((await page.locator(".register-head .number").innerText()).split(" ")[0]);
  assert.ok(shown > 0 && shown < 100, `${shown} are shown`);
  await page.getByRole("button", { name: "Take everything out" }).click();
  await page.getByText(`the ${shown} that the register shows now`).waitFor();
  await sound(page, "take out");
  await picture(page, "take-out");
  const saved = page.waitForEvent("download");
  await page.getByRole("button", { name: "Save the zip" }).click();
  const path = join(dir, "out.zip");
  await (await saved).saveAs(path);
  await page.getByText(/^Saved: /).waitFor();
  assert.match(execFileSync(program, ["verify", path], { encoding: "utf8" }), /all of it holds/);
  await page.getByRole("button", { name: "Back to the register" }).click();
  await page.locator("table.register tbody tr").first().waitFor();
  await page.context().close();
});
