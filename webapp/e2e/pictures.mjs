// The README's pictures of the running program: run `make pictures` after a visible change.
import { mkdirSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";
import { flags, logIn, Plant } from "./plant.mjs";
import { Pocket, whole } from "./pocket.mjs";
import { small } from "./small-png.mjs";
import { prepare, run } from "./visit.mjs";

const folder = resolve(import.meta.dirname, "../../testdata/pictures");
const longest = 80_000;
mkdirSync(folder, { recursive: true });

async function take(page, name, theme) {
  await page.evaluate((t) => {
    document.documentElement.dataset.theme = t;
    document.activeElement?.blur();
  }, theme);
  await page.waitForTimeout(300);
  const png = small(await page.screenshot());
  if (png.length > longest) throw new Error(`${name}: ${png.length} bytes`);
  writeFileSync(join(folder, `${name}.png`), png);
  console.log(`${name}.png ${png.length}`);
}

const plant = await Plant.make();
const pocket = new Pocket(plant);
let browser;
try {
  const page = await pocket.begin(plant.someone("technician"));
  await whole(page);
  const first = page.locator("main a[href^='/instrument/']").first();
  await first.waitFor({ timeout: 120000 });
  await take(page, "round-day", "day");
  await first.click();
  await page.locator(".history").waitFor();
  await take(page, "instrument-day", "day");
  await take(page, "instrument-night", "night");
  await page.getByRole("button", { name: "Start visit" }).click();
  await prepare(page);
  const here = new Error("a point in the middle");
  const stop = (asked) => {
    if (asked > 0) throw here;
  };
  await run(() => page, String, undefined, stop).catch((e) => {
    if (e !== here) throw e;
  });
  const asked = /[\d.]+/.exec(
    await page
      .locator(".instruction", { hasText: /Raise to/ })
      .first()
      .innerText(),
  )[0];
  await page.locator(".pad input").fill(asked);
  await page.getByRole("button", { name: /^one step up/ }).click(); // the smallest that can be read
  await page.locator(".preview .limit-band").waitFor();
  await page.locator(".pad").evaluate((e) => e.scrollIntoView());
  await take(page, "reading-day", "day");
  await take(page, "reading-night", "night");

  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: flags,
  });
  const office = await (
    await browser.newContext({ viewport: { width: 1280, height: 860 }, locale: "en-GB", reducedMotion: "reduce" })
  ).newPage();
  await logIn(office, plant, plant.someone("reviewer"));
  await office.getByRole("link", { name: "Office", exact: true }).click();
  await office.getByText(/wait for you/).waitFor();
  await office.locator(".queue .signed a").first().click();
  await office
    .getByRole("img", { name: /Error against pressure/ })
    .first()
    .waitFor();
  await take(office, "office-visit-day", "day");
  await take(office, "office-visit-night", "night");
} finally {
  await browser?.close();
  await pocket.remove();
  await plant.remove();
}
