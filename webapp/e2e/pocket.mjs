// A phone in a pocket: a browser profile that is opened, closed and opened again; and the office's
// calls of the API.
import assert from "node:assert/strict";
import { mkdirSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import AxeBuilder from "@axe-core/playwright";
import { held, logIn, phone, until } from "./plant.mjs";

/** Pocket is a phone of a plant. */
export class Pocket {
  constructor(plant) {
    this.plant = plant;
    this.profile = mkdtempSync(join(tmpdir(), "gaugewright-pocket-"));
    this.faults = [];
  }

  /** open starts the browser on the profile; more has flags and colours for it. */
  async open(more) {
    this.context = await phone(this.profile, more);
    this.page = this.context.pages()[0] ?? (await this.context.newPage());
    this.page.setDefaultTimeout(30000);
    this.page.on("pageerror", (e) => this.faults.push(e.message));
    this.page.on("console", (m) => {
      if (m.text().includes("Content Security Policy")) this.faults.push(m.text());
    });
    return this.page;
  }

  /**
   * begin opens the phone for the first time: a person logs in, and the plant's instruments arrive.
   */
  async begin(person, more) {
    const page = await this.open(more);
    await logIn(page, this.plant, person);
    await page.getByText("sending …").waitFor({ state: "hidden", timeout: 120000 });
    await held(page);
    return page;
  }

  async close() {
    await this.context?.close();
    this.context = undefined;
  }

  async remove() {
    await this.close();
    // The closing browser may still write for a moment.
    rmSync(this.profile, { recursive: true, force: true, maxRetries: 20, retryDelay: 250 });
  }
}

/**
 * asPerson logs a person in at the API. The function that it gives requests a path and expects a
 * good answer.
 */
export async function asPerson(plant, person) {
  const send = (path, access, method, body) =>
    fetch(plant.url + path, {
      method,
      headers: { "content-type": "application/json", ...(access ? { authorization: `Bearer ${access}` } : {}) },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
  const login = await send("/api/login", "", "POST", { name: person.name, password: person.password });
  assert.equal(login.status, 200, await login.clone().text());
  const { access } = await login.json();
  return async (path, method = "GET", body = undefined) => {
    const r = await send(path, access, method, body);
    assert.ok(r.ok, `${method} ${path}: ${r.status} ${r.ok ? "" : await r.text()}`);
    const bytes = Buffer.from(await r.arrayBuffer());
    return (r.headers.get("content-type") ?? "").startsWith("application/json") ? JSON.parse(bytes.toString()) : bytes;
  };
}

/**
 * sound checks a screen against the accessibility rules by day, and its colours by night. Nothing
 * may be wider than the screen.
 */
export async function sound(page, name) {
  await shown(page);
  const look = async (theme, builder) => {
    await page.evaluate((t) => {
      document.documentElement.dataset.theme = t;
    }, theme);
    const { violations } = await builder.analyze();
    assert.deepEqual(
      violations.map((v) => [v.id, v.nodes[0].target.join(" "), v.nodes[0].failureSummary]),
      [],
      `${name} by ${theme}`,
    );
  };
  await look("night", new AxeBuilder({ page }).withRules(["color-contrast"]));
  await look("day", new AxeBuilder({ page }));
  await fits(page, name);
}

/** shown waits until a screen has its heading: one whose code is still on its way has none. */
export const shown = (page) => page.locator("h1").first().waitFor();

/** fits checks that nothing on a page is wider than the screen. */
export async function fits(page, name) {
  const over = await page.evaluate(() => {
    const main = document.querySelector("main");
    return main.scrollWidth - main.clientWidth;
  });
  assert.equal(over, 0, `${name} is wider than the screen`);
}

/**
 * snap takes a picture of the whole screen by day and by night, if SHOTS names a folder for
 * pictures.
 */
export async function snap(page, name, widths = [390]) {
  const shots = process.env.SHOTS;
  if (!shots) return;
  mkdirSync(shots, { recursive: true });
  const before = page.viewportSize();
  for (const width of widths)
    for (const theme of ["day", "night"]) {
      await page.evaluate((t) => {
        document.documentElement.dataset.theme = t;
      }, theme);
      await page.setViewportSize({ width, height: 844 });
      const tall = Math.ceil(await page.locator("main").evaluate((m) => m.scrollHeight)) + 140;
      await page.setViewportSize({ width, height: Math.min(Math.max(844, tall), 4000) });
      await page.screenshot({ path: join(shots, `${name}${widths.length > 1 ? `-${width}` : ""}-${theme}.png`) });
    }
  await page.setViewportSize(before);
}

/** kept gives a record as stored on the phone: the latest value of each field. */
export function kept(page, id) {
  return page.evaluate(
    (record) =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction("records").objectStore("records").get(record);
          asked.onerror = () => fail(asked.error);
          asked.onsuccess = () => {
            opening.result.close();
            done(
              Object.fromEntries(
                Object.entries(asked.result?.state.fields ?? {}).map(([name, f]) => [name, f.heads[0]?.value]),
              ),
            );
          };
        };
      }),
    id,
  );
}

/** whole waits until all the office's records have come to the phone. */
export async function whole(page) {
  await until(
    page,
    () =>
      new Promise((done) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => done(false);
        opening.onsuccess = () => {
          const asked = opening.result.transaction("meta").objectStore("meta").get("whole");
          asked.onsuccess = () => {
            opening.result.close();
            done(asked.result === true);
          };
        };
      }),
    240000,
  );
}
