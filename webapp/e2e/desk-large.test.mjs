// The office of 20,000 instruments: each of its pages on a wide screen, and those with the widest
// tables on a tablet. What each takes is printed; benchmarks and cmd/scale measure it.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { flags, logIn, Plant } from "./plant.mjs";
import { fits, sound } from "./pocket.mjs";

const many = 20000;
const program = resolve(import.meta.dirname, "../../bin/gaugewright");
let plant;
let browser;
let dir;

before(async () => {
  plant = await Plant.company(many, 1);
  dir = mkdtempSync(join(tmpdir(), "gaugewright-desk-"));
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

/**
 * seen checks a page against all rules on the wide screen, and on the tablet that it fits: the rules
 * see the same rows there, and take a minute.
 */
const seen = (page, name) => (page.viewportSize().width > 1024 ? sound : fits)(page, name);

/** journeys are the pages of the office, each with what somebody does there. */
const journeys = {
  async queue({ page, timed }) {
    const rows = page.locator(".queue tbody tr");
    await timed("opened", () => page.goto(`${plant.url}/office`).then(() => rows.first().waitFor()));
    const ready = () => page.locator(".queue[aria-busy=false]").waitFor();
    await timed("sorted", () => page.getByLabel("Order").selectOption("tag").then(ready));
    await timed("filtered", () => page.getByLabel("State").selectOption("signed").then(ready));
    await seen(page, "the queue");
    await timed("a visit", async () => {
      await rows.first().locator("a").click();
      await page.getByText("Independent review:").waitFor();
    });
    await timed("back", async () => {
      await page.getByRole("link", { name: "Back to the list" }).click();
      await rows.first().waitFor();
    });
  },

  async register({ page, timed }) {
    const count = page.locator(".register-head .number");
    const rows = page.locator("table.register tbody tr");
    await timed("opened", () => page.goto(`${plant.url}/office/register`).then(() => rows.first().waitFor()));
    await count.getByText("20,000", { exact: false }).waitFor();
    await timed("sorted", async () => {
      await page.getByRole("button", { name: "Sort by Due" }).click();
      await page.locator("table.register[aria-busy=true]").waitFor({ state: "detached" });
    });
    const tag = (await rows.first().locator("td.c-tag").innerText()).trim();
    await timed("found without its dashes", async () => {
      await page.getByRole("searchbox").fill(tag.replaceAll("-", "").toLowerCase());
      await page.locator("table.register td.c-tag", { hasText: tag }).first().waitFor();
      await count.getByText(/^\d{1,3} of/).waitFor();
    });
    await seen(page, "the register");
    await page.getByRole("button", { name: "Export everything" }).click();
    await page.getByText("that the register shows now").waitFor();
    const path = join(dir, "out.zip");
    await timed("what is shown, exported", async () => {
      const saved = page.waitForEvent("download");
      await page.getByRole("button", { name: "Save the zip" }).click();
      await (await saved).saveAs(path);
    });
    assert.match(execFileSync(program, ["verify", path], { encoding: "utf8" }), /all of it holds/);
  },

  async planning({ page, timed }) {
    const weeks = page.locator("table.figures tbody tr");
    await timed("the year", () => page.goto(`${plant.url}/office/planning`).then(() => weeks.nth(52).waitFor()));
    await seen(page, "the year");
    const busiest = await weeks.evaluateAll((list) =>
      list.slice(1, 10).reduce((best, r, i, all) => {
        const tests = (x) => Number(x.cells[1].textContent.replaceAll(",", ""));
        return tests(r) > tests(all[best]) ? i : best;
      }, 0),
    );
    await timed("the board of a week", async () => {
      await weeks.nth(busiest + 1).getByRole("button").click();
      await page.locator(".card.idea").first().waitFor();
    });
    await seen(page, "the board");
    await timed("what cannot be done", async () => {
      await page.getByRole("button", { name: "Cannot be done" }).click();
      await page.locator("table.figures tbody tr").first().waitFor();
    });
  },

  async history({ page, timed }) {
    const rows = page.locator("table.figures tbody tr");
    await timed("advice", () => page.goto(`${plant.url}/office/figures`).then(() => rows.first().waitFor()));
    await seen(page, "advice on intervals");
    await timed("pass rates", async () => {
      await page.getByRole("button", { name: "Pass rates" }).click();
      await page.getByText(/tests found the instrument in tolerance/).waitFor();
    });
    await timed("the tests behind one", async () => {
      await rows.first().getByRole("button").first().click();
      await page.getByRole("heading", { name: /^Tests: / }).waitFor();
      await rows.first().waitFor();
    });
    await page.goto(`${plant.url}/office/figures`);
    await timed("the worst fifty", async () => {
      await page.getByRole("button", { name: "Worst fifty" }).click();
      await rows.nth(49).waitFor();
    });
    assert.equal(await rows.count(), 50);
    await seen(page, "the worst fifty");
    await timed("an instrument of them", async () => {
      await rows.first().getByRole("link").first().click();
      await page.getByRole("heading", { name: /results and interval$/ }).waitFor();
    });
  },

  async standards({ page, timed }) {
    const rows = page.locator("table.all-standards tbody tr");
    await timed("opened", () => page.goto(`${plant.url}/office/standards`).then(() => rows.first().waitFor()));
    await seen(page, "the standards");
    await timed("one of them", async () => {
      await rows.first().getByRole("link").first().click();
      await page.getByRole("heading", { name: "Certificates compared" }).waitFor();
    });
  },

  async management({ page, timed }) {
    const counts = page.locator(".counts li");
    await timed("opened", () => page.goto(`${plant.url}/office/state`).then(() => counts.first().waitFor()));
    await seen(page, "the state of the plant");
    await timed("the month's report", async () => {
      const saved = page.waitForEvent("download");
      await page.getByRole("button", { name: "Monthly report" }).click();
      await (await saved).saveAs(join(dir, "month.pdf"));
    });
  },
};

const widest = ["queue", "register", "planning"];

for (const viewport of [
  { width: 1440, height: 900 },
  { width: 1024, height: 768 },
])
  for (const [name, journey] of Object.entries(journeys).filter(([n]) => viewport.width > 1024 || widest.includes(n)))
    test(`${name} with ${many} instruments at ${viewport.width}`, async () => {
      const context = await browser.newContext({
        viewport,
        locale: "en-GB",
        acceptDownloads: true,
        reducedMotion: "reduce",
      });
      const page = await context.newPage();
      page.setDefaultTimeout(120000);
      const faults = [];
      page.on("pageerror", (e) => faults.push(e.message));
      await page.addInitScript(() => {
        delete window.showSaveFilePicker; // a dialog of the system, which nobody answers here
      });
      await logIn(page, plant, plant.someone("reviewer"));
      const took = {};
      const timed = async (what, work) => {
        const from = performance.now();
        await work();
        took[what] = Math.round(performance.now() - from);
      };
      try {
        await journey({ page, timed });
      } finally {
        const shots = process.env.SHOTS;
        if (shots) await page.screenshot({ path: join(shots, `large-${name}-${viewport.width}.png`) });
      }
      console.log(`${name} at ${viewport.width}, milliseconds:`, took);
      assert.deepEqual(faults, []);
      await context.close();
    });
