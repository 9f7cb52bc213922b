// Every method of the demo plant, with one instrument each, from the start of a visit to its
// result, with the answers that its own screens ask for. No calculation may refuse anything on the
// way, and no wait may hang: the page's clock is moved on during waits.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant, ready } from "./plant.mjs";
import { Pocket, snap, whole } from "./pocket.mjs";
import { prepare } from "./visit.mjs";
import { look, walk } from "./walk.mjs";

let plant;
let pocket;
let page;
let works = [];
const errors = [];

// A clock that can be moved on. A reload keeps its time.
const movable = () => {
  const real = Date;
  const shift = () => Number(localStorage.getItem("shift") ?? 0);
  class Moved extends real {
    constructor(...args) {
      if (args.length === 0) super(real.now() + shift());
      else super(...args);
    }
    static now() {
      return real.now() + shift();
    }
  }
  globalThis.Date = Moved;
};

const moveOn = (seconds) =>
  page.evaluate(
    (s) => localStorage.setItem("shift", String(Number(localStorage.getItem("shift") ?? 0) + 1000 * s)),
    seconds,
  );

/**
 * onePerMethod gives an instrument for each method on the phone, with the method's kind and name.
 */
const onePerMethod = () =>
  page.evaluate(
    () =>
      new Promise((done, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction("records").objectStore("records").getAll();
          asked.onerror = () => fail(asked.error);
          asked.onsuccess = () => {
            opening.result.close();
            const value = (r, name) => r.state.fields[name]?.heads.at(-1)?.value;
            const of = (kind) => asked.result.filter((r) => r.state.kind === kind);
            const methods = new Map(
              of("method").map((m) => [
                m.state.id,
                { kind: value(m, "kind") ?? value(m, "definition")?.kind, name: value(m, "name") },
              ]),
            );
            const found = new Map();
            for (const i of of("instrument").sort((a, b) =>
              String(value(a, "tag")).localeCompare(String(value(b, "tag"))),
            )) {
              const method = methods.get(value(i, "method"));
              const signal = value(i, "output")?.unit ?? "";
              const key = `${value(i, "method")} ${signal}`;
              if (method && value(i, "status") === "in service" && !found.has(key))
                found.set(key, { ...method, signal, id: i.state.id, tag: value(i, "tag") });
            }
            done([...found.values()]);
          };
        };
      }),
  );

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  page.setDefaultTimeout(60000);
  await ready(page);
  await whole(page);
  works = await onePerMethod();
  await plant.kill(); // from here on there is no office: the clock may be moved
  await page.addInitScript(movable);
  page.on("console", (m) => {
    if (m.type() === "error" && !/net::ERR|Failed to load resource/.test(m.text())) errors.push(m.text());
  });
  page.on("pageerror", (e) => errors.push(e.message));
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const number = (text) => text.replaceAll("\u2212", "-").replaceAll(",", "");

/**
 * reply gives what a screen itself says should be read: the middle of what is allowed, else what
 * should be shown, else what was set.
 */
function reply(seen) {
  if (seen.buttons.includes("Skip this")) return { press: "Skip this" };
  if (seen.unit === "\u00b0C") return "21.5";
  if (seen.unit === "hPa") return "1009.2";
  const span = /(?:May show|Allowed) (\S+) \u2026 (\S+)/.exec(seen.text);
  if (span) {
    const [low, high] = [Number(number(span[1])), Number(number(span[2]))];
    const mid = (low + high) / 2;
    return String(Number(mid.toPrecision(6)));
  }
  const said =
    /(?:Should show|Test pressure|Read) (\u2212?-?[\d.,]*\d)/.exec(seen.text) ??
    /(?:Raise|Lower)(?: from \S+ \S+)? to (\u2212?-?[\d.,]*\d)|(?:Stay at|Set) (\u2212?-?[\d.,]*\d)/.exec(seen.text);
  const value = said?.[1] ?? said?.[2];
  return value === undefined ? "0" : number(value);
}

/** waits says whether a wait of the plan is running. */
const waits = async () => (await page.locator(".timer strong").count()) > 0;

/** done goes through one visit to its result. */
async function done(work) {
  const pictured = new Set();
  await page.goto(`${plant.url}/instrument/${work.id}`);
  await page.getByRole("button", { name: "Start visit", exact: true }).first().click();
  await prepare(page, async (stage) => {
    if (stage !== "standard") return;
    if (["altimeter", "airspeed"].includes(work.kind)) {
      const first = await page.locator(".standards li").first().innerText();
      assert.match(first, /Air data set/, "the standard of the quantity comes first");
      assert.doesNotMatch(first, /Refused|Not suitable/, "and serves");
    }
    await snap(page, `every-${work.tag}-standard`);
  });
  await page.locator(".visit-where").waitFor();
  let values = 0;
  const steps = new Set();
  await walk(
    () => page,
    (seen) =>
      seen.buttons.includes("End the readings") && values >= 4 ? { press: "End the readings" } : reply(seen),
    async (seen) => {
      steps.add(seen.where);
      if (!seen.buttons.includes("End the readings")) values = 0;
      const kind = /(Raise|Lower|Stay at|Wait|Leak allowed|Should show|May show|Allowed)/.exec(seen.text)?.[1];
      if (kind && !pictured.has(kind)) {
        pictured.add(kind);
        await snap(page, `every-${work.tag}-${kind.toLowerCase().replaceAll(" ", "-")}`);
      }
      if (!(await waits())) return false;
      await moveOn(400);
      await page.waitForFunction(() => !document.querySelector(".timer strong"));
      return true;
    },
    async () => {
      values++;
      await moveOn(15);
    },
  );
  await page.getByRole("button", { name: "Close this run", exact: true }).click();
  await page.getByText("As found: result").waitFor();
  await snap(page, `every-${work.tag}-result`);
  return steps.size;
}

test("the demo has a method of every kind", () => {
  const kinds = new Set(works.map((w) => w.kind));
  for (const kind of [
    "gauge",
    "leak",
    "switch",
    "burst",
    "altimeter",
    "airspeed",
    "vertical-speed",
    "reporting-altitude",
    "programme",
  ])
    assert.ok(kinds.has(kind), `${kind} is not among ${[...kinds].join(", ")}`);
  assert.ok(
    works.some((w) => w.signal === "mA"),
    "no transmitter",
  );
});

test("every method leads to a result, and no calculation refuses anything on the way", {
  timeout: 1_800_000,
}, async (t) => {
  assert.ok(works.length >= 9);
  const only = process.env.ONLY;
  for (const work of works.filter((w) => !only || w.tag === only))
    await t.test(`${work.tag}: ${work.kind}${work.signal ? ` with ${work.signal}` : ""}, ${work.name}`, async () => {
      errors.length = 0;
      const steps = await done(work);
      assert.ok(steps > 2, `${steps} steps were seen`);
      assert.deepEqual(errors, []);
    });
});
