// A demo plant for the browser tests: the real binary with its real store, started and really
// stopped, and a browser that is a phone.
import { execFileSync, spawn } from "node:child_process";
import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { chromium } from "playwright-core";

const root = resolve(import.meta.dirname, "../..");

export const flags = [
  "--headless=new",
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--use-fake-ui-for-media-stream",
  "--use-fake-device-for-media-stream",
];

/** freePort asks the system for a port that nobody uses. */
function freePort() {
  return new Promise((done, fail) => {
    const s = createServer();
    s.once("error", fail);
    s.listen(0, "127.0.0.1", () => {
      const { port } = s.address();
      s.close(() => done(port));
    });
  });
}

/** Plant is a data folder and the server on it. */
export class Plant {
  constructor(dir, port) {
    this.dir = dir;
    this.port = port;
    this.url = `http://localhost:${port}`;
    this.people = {};
  }

  /** make gives the demo plant, a copy if all.mjs has made one: inventing it takes seconds. */
  static async make() {
    const plant = new Plant(mkdtempSync(join(tmpdir(), "gaugewright-e2e-")), await freePort());
    const made = process.env.MADE_PLANT;
    if (made) {
      cpSync(join(made, "data"), plant.dir, { recursive: true });
      plant.people = JSON.parse(readFileSync(join(made, "people.json"), "utf8"));
    }
    await plant.start();
    return plant;
  }

  /** keep ends the server and puts its plant into a folder, from which make copies it. */
  async keep(folder) {
    this.server.removeAllListeners("exit");
    const ended = new Promise((done) => this.server.once("exit", done));
    this.server.kill("SIGTERM");
    await ended;
    cpSync(this.dir, join(folder, "data"), { recursive: true });
    writeFileSync(join(folder, "people.json"), JSON.stringify(this.people));
    await this.remove();
  }

  /** empty is a plant on its first day: nothing in it but an administrator. */
  static async empty() {
    const plant = new Plant(mkdtempSync(join(tmpdir(), "gaugewright-e2e-")), await freePort());
    plant.verb = "serve";
    plant.people.administrator = {
      name: "administrator",
      password: "a first long password",
      full: "administrator",
      role: "administrator",
    };
    await plant.start();
    return plant;
  }

  /**
   * company is a made-up company of so many instruments, tested for so many years; everybody's log-in
   * is said when it is made.
   */
  static async company(instruments, years) {
    const plant = new Plant(mkdtempSync(join(tmpdir(), "gaugewright-e2e-")), await freePort());
    rmSync(plant.dir, { recursive: true }); // what makes a company makes its folder
    plant.verb = "serve";
    const password = "seven brass kettles hum";
    const options = ["--data", plant.dir, "--instruments", instruments, "--years", years, "--today", "now"];
    const said = execFileSync("go", ["run", "./cmd/scale", "make", ...options, "--password", password].map(String), {
      cwd: root,
      encoding: "utf8",
      stdio: ["ignore", "pipe", "ignore"],
    });
    for (const [, name, role] of said.matchAll(/^log-in: (\S+)\s+(\w+)$/gm))
      plant.people[name] = { name, password, full: name, role };
    await plant.start();
    return plant;
  }

  verb = "demo";

  /**
   * start resolves when the server reports that it serves. The first time it invents a demo plant
   * and prints the log-ins.
   */
  start() {
    const more = this.verb === "serve" && readdirSync(this.dir).length === 0 ? ["--new"] : [];
    this.server = spawn(
      join(root, "bin/gaugewright"),
      [this.verb, "--data", this.dir, "--addr", `localhost:${this.port}`, ...more],
      {
        stdio: ["ignore", "pipe", "inherit"],
        env: {
          ...process.env,
          ...(this.verb === "serve" && this.people.administrator
            ? { GAUGEWRIGHT_FIRST_PASSWORD: this.people.administrator.password }
            : {}),
        },
      },
    );
    return new Promise((done, fail) => {
      let said = "";
      this.server.once("error", fail);
      this.server.once("exit", (code) => fail(new Error(`the server ended with ${code}: ${said}`)));
      this.server.stdout.on("data", (b) => {
        said += b;
        for (const m of said.matchAll(/name (\S+)\s+password (\S+)\s+\((.+), (\w+)\)/g))
          this.people[m[1]] = { name: m[1], password: m[2], full: m[3], role: m[4] };
        if (said.includes("serving ")) done();
      });
    });
  }

  /** kill ends the server at once, as a power cut would. */
  kill() {
    return new Promise((done) => {
      this.server.removeAllListeners("exit");
      this.server.once("exit", done);
      this.server.kill("SIGKILL");
    });
  }

  async remove() {
    if (this.server.exitCode === null && this.server.signalCode === null) await this.kill();
    rmSync(this.dir, { recursive: true, force: true });
  }

  someone(role) {
    return Object.values(this.people).find((p) => p.role === role);
  }
}

/** phone opens a lasting browser profile, so that it can be closed and opened again. */
export function phone(profile, more = {}) {
  return chromium.launchPersistentContext(profile, {
    executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: [...flags, ...(more.args ?? [])],
    viewport: { width: 390, height: 844 },
    hasTouch: true,
    isMobile: true,
    permissions: ["camera"],
    colorScheme: more.colorScheme ?? "light",
    locale: more.locale ?? "en-GB",
  });
}

/** logIn fills in the log-in screen and waits until the plant is on the device. */
export async function logIn(page, plant, person) {
  await page.goto(plant.url);
  await page.getByLabel("Name").fill(person.name);
  await page.getByLabel("Password").fill(person.password);
  await page.keyboard.press("Enter");
  await page.getByRole("navigation").waitFor();
}

/**
 * until asks the page again and again until the answer is true. Unlike waitForFunction it waits for
 * a promise.
 */
export async function until(page, ask, limit = 120000) {
  for (const end = performance.now() + limit; !(await page.evaluate(ask)); ) {
    if (performance.now() > end) throw new Error(`not within ${limit / 1000} s: ${ask}`);
    await page.waitForTimeout(50);
  }
}

/** held waits until the service worker has the page. */
export function held(page) {
  return until(page, async () => {
    await navigator.serviceWorker.ready;
    return navigator.serviceWorker.controller !== null;
  });
}

/** ready waits until the service worker holds the page and the work of the plant has arrived. */
export async function ready(page) {
  await held(page);
  await page.getByText("All work sent").waitFor();
  await page.getByText("sending …").waitFor({ state: "hidden", timeout: 120000 });
}
