// What the browser tests of the office share: a demo plant with its browser, pages that somebody is
// logged in on, and the look at a page. Each test file is a process of its own, so the plant, the
// browser and a folder for files are values of this module.
import assert from "node:assert/strict";
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before } from "node:test";
import AxeBuilder from "@axe-core/playwright";
import { chromium } from "playwright-core";
import { flags, logIn, Plant } from "./plant.mjs";
import { fits, shown } from "./pocket.mjs";

export const desk = { width: 1440, height: 900 };
export const tablet = { width: 1024, height: 768 };
export const phone = { width: 390, height: 844 };

export let plant;
export let browser;
/** dir is a folder for the files that a test saves or imports. */
export let dir;
/** faults are the errors of scripts and the refusals of the content security policy on all pages. */
export const faults = [];

/**
 * withOffice starts a demo plant and a browser for a test file, does what the file wants done then,
 * and stops both at its end.
 */
export function withOffice(then = async () => undefined) {
  before(async () => {
    plant = await Plant.make();
    dir = mkdtempSync(join(tmpdir(), "gaugewright-office-"));
    browser = await chromium.launch({
      executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
      headless: true,
      args: flags,
    });
    await then();
  });
  after(async () => {
    await browser?.close();
    await plant?.remove();
    if (dir) rmSync(dir, { recursive: true, force: true });
  });
}

/** blank gives a page of a browser of its own in which nobody is logged in; its faults are noted. */
export async function blank({ theme = "day", viewport = desk, timeout = 60000 } = {}) {
  const context = await browser.newContext({
    viewport,
    locale: "en-GB",
    acceptDownloads: true,
    reducedMotion: "reduce",
  });
  const page = await context.newPage();
  page.setDefaultTimeout(timeout);
  page.on("pageerror", (e) => faults.push(e.message));
  page.on("console", (m) => {
    if (m.text().includes("Content Security Policy")) faults.push(m.text());
  });
  await page.addInitScript((t) => {
    localStorage.setItem("theme", t);
    delete window.showSaveFilePicker; // a system dialog, which nobody answers here
  }, theme);
  return page;
}

/** open gives a page on which somebody of a role is logged in, at a path if one is given. */
export async function open({ role = "reviewer", path = "", ...screen } = {}) {
  const page = await blank(screen);
  await logIn(page, plant, plant.someone(role));
  if (path !== "") await page.goto(`${plant.url}${path}`);
  return page;
}

/** sound checks a page in its theme against the accessibility rules; nothing may be wider than the screen. */
export async function sound(page, name) {
  await shown(page);
  const { violations } = await new AxeBuilder({ page }).analyze();
  assert.deepEqual(
    violations.map((v) => [v.id, v.nodes[0].target.join(" "), v.nodes[0].failureSummary]),
    [],
    name,
  );
  await fits(page, name);
}

/** picture keeps a picture of the screen as it is, if SHOTS names a folder for pictures. */
export async function picture(page, name) {
  if (!process.env.SHOTS) return;
  mkdirSync(process.env.SHOTS, { recursive: true });
  await page.screenshot({ path: join(process.env.SHOTS, `${name}.png`) });
}
