// German, chosen on the device: a gauge from the round to the signature, and a run of every other
// kind, on a phone without a network. No English is left anywhere, and nothing is wider than the
// screen, though German is longer.
import assert from "node:assert/strict";
import { readdirSync, readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { author } from "./author.mjs";
import { altimeter, bears, burst, furnish, gauge, lasting, leak, pressureSwitch, today, wide } from "./kinds.mjs";
import { held, Plant, ready, until } from "./plant.mjs";
import { Pocket, kept, snap, sound } from "./pocket.mjs";
import { stroke, tickAll } from "./visit.mjs";
import { look } from "./walk.mjs";

const words = resolve(import.meta.dirname, "../src/words");

/** Every English text of two words or more among the client's words. */
const english = readdirSync(words)
  .filter((f) => f.endsWith(".ts"))
  .flatMap((f) => [...readFileSync(join(words, f), "utf8").matchAll(/"((?:[^"\\\n]|\\.)*)"/g)])
  .map((m) => JSON.parse(`"${m[1]}"`))
  .filter((t) => /^[A-Z]?[a-z]+[ ,][a-z ,]*[a-z]/.test(t));

const common =
  /\b(the|of|and|is|are|not|with|this|that|from|for|has|have|it|its|by|at|to|or|no|wait|read|set|vent|done|next|keep|close|step|value|error|limit|standard|instrument|gauge|pass|fail|open|back)\b/i;

const things = {
  gauge: gauge({ directions: "up-down", exercise: 1, hold_s: 1, tap: true }),
  leak: leak(
    { name: "Druck", pressure: "2", measure_s: 4, every_s: 1, limit_pa_s: "25" },
    { temperature: "asked", barometer: "asked" },
  ),
  switch: pressureSwitch(),
  burst: burst(1, "asked"),
  altimeter: altimeter(1000, bears("Fahrtmesser"), { clause: "Abschnitt 9", by: "die Prüfstelle" }),
};
let ids = {};
let plant;
let pocket;
let page;

before(async () => {
  plant = await Plant.make();
  const admin = await author(plant, plant.someone("administrator"));
  await admin.write("standard", { name: "Druckwaage Eins", serial: "DW-1", ranges: wide, ...lasting });
  ids = await furnish(admin, things, (kind, _, n) => ({
    method: { name: `Verfahren ${kind.slice(0, 2)}`, cautions: ["lock_out", "stand_aside", "vent"] },
    tag: `DE-${n}`,
    serial: `S-${n}`,
    label: `de${kind}00label`.slice(0, 10),
    description: "Prüfling im Keller",
    resolution: kind === "altimeter" ? "1" : "0.01",
  }));
  await admin.write("round", {
    date: today(),
    person: (await author(plant, plant.someone("technician"))).user.id,
    title: "Rundgang Keller",
    stops: Object.values(ids).map((instrument) => ({ instrument, method: "" })),
  });
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  for (const id of Object.values(ids)) {
    await page.goto(`${plant.url}/instrument/${id}`);
    await page.getByRole("button", { name: "Start visit" }).waitFor();
  }
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const press = (name) => page.getByRole("button", { name, exact: true }).first().click();

/** spoken gives the text on the screen and for screen readers, line by line. */
const spoken = () =>
  page.evaluate(() => {
    const app = document.querySelector("#app");
    const labels = [...app.querySelectorAll("[aria-label], [placeholder], [title]")].flatMap((e) => [
      e.getAttribute("aria-label"),
      e.getAttribute("placeholder"),
      e.getAttribute("title"),
    ]);
    const options = [...app.querySelectorAll("option")].map((o) => o.textContent);
    return [...app.innerText.split("\n"), ...labels, ...options].filter((t) => t !== null && t.trim() !== "");
  });

/** Names of the demo plant. */
const invented = /Air data set|Field kit \w|Test rack|Loop meter|\bDE-\d\b/g;

const checked = new Set();

/** german checks that no English is on the screen; with strict, no common English word either. */
async function german(where, strict = true) {
  const lines = await spoken();
  for (const line of lines) {
    const left = english.find((t) => (strict ? line.includes(t) : line === t));
    assert.equal(left, undefined, `${where}: “${line}”`);
    if (strict) assert.doesNotMatch(line.replace(invented, ""), common, `${where}: “${line}”`);
  }
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.equal(wide, 0, `${where} is wider than the screen`);
  checked.add(where);
}

test("German is chosen on the device, works without a network, and can be switched off again", async () => {
  await page.goto(`${plant.url}/device`);
  assert.equal(await page.evaluate(() => document.documentElement.lang), "en");
  await page.getByLabel("Deutsch").check();
  await page.getByRole("heading", { name: "Dieses Gerät" }).waitFor();
  assert.equal(await page.evaluate(() => document.documentElement.lang), "de");
  await german("the device");
  assert.ok(await page.getByLabel("Komma: 2,5").isChecked(), "the decimal mark follows");
  await sound(page, "the device");
  await snap(page, "german-device");
  await page.getByLabel("English").check();
  await page.getByRole("heading", { name: "This device" }).waitFor();
  await page.getByLabel("Deutsch").check();
  await page.getByRole("heading", { name: "Dieses Gerät" }).waitFor();
  await plant.kill(); // from here on there is no network
  await page.goto(`${plant.url}/device`);
  await page.getByRole("heading", { name: "Dieses Gerät" }).waitFor();
});

/** prepare goes from an instrument to the start of its as-found run. */
async function prepare(kind, at = async () => {}) {
  await page.getByRole("heading", { name: "Vor jedem Druck" }).waitFor();
  await at("cautions");
  await tickAll(page);
  await press("Alles geprüft: weiter");
  await page.getByLabel("Sie stimmen überein").check();
  await page.getByLabel("Gut", { exact: true }).check();
  await at("identity");
  await press("Weiter");
  const other = page.getByRole("button", { name: "Ändern: Normal", exact: true });
  const list = page.locator(".standards").first();
  await list.or(other).first().waitFor();
  if ((await other.count()) > 0) {
    await at("as last");
    await other.click();
    await list.waitFor();
  }
  await page
    .getByRole("radio", { name: /Druckwaage Eins/ })
    .first()
    .check();
  const why = page.getByLabel("Grund für die Verwendung");
  if ((await why.count()) > 0) await why.fill("Probe");
  await at("standard");
  await press("Dieses Normal benutzen");
  await page.getByLabel("Lufttemperatur").fill("21,5");
  await page.getByLabel("Luftdruck").fill("1009");
  await page.getByLabel("Relative Feuchte").fill("45");
  await at("surroundings");
  await press("Weiter");
  const start = page.getByRole("button", { name: "Beginnen: Eingangszustand" });
  await start.waitFor();
  await at("before as found");
  await start.click();
  const none = page.getByRole("button", { name: "Keine Überbrückung gesetzt" });
  await page.locator(".visit-where[data-kept]").or(none).first().waitFor();
  if ((await none.count()) > 0) {
    await at("bypasses");
    await none.click();
  }
  assert.ok(kind);
}

/** turned waits for the next screen, or for a complaint on the present one. */
const turned = (seen) =>
  page.waitForFunction(
    ([was, told]) => {
      const where = document.querySelector(".visit-where");
      return (
        (where !== null && where.dataset.kept !== was) ||
        [...document.querySelectorAll("main [role=alert]")].map((e) => e.textContent ?? "").join() !== told
      );
    },
    [seen.kept, seen.told],
    { timeout: 5000 },
  );

/** take keeps a value, with a reason if one is asked for. */
async function take(value, at) {
  await page.locator(".pad input").fill(value);
  const seen = await look(page);
  const keep = page.getByRole("button", { name: /\d.* speichern$/ }).first();
  await keep.click();
  const why = page.getByLabel(/^Warum|^Grund/).first();
  await Promise.race([turned(seen), why.waitFor()]).catch(() => undefined);
  if ((await why.count()) > 0) {
    await at();
    await why.fill("Probe");
    await page
      .getByRole("button", { name: /\d.* speichern$/ })
      .first()
      .click();
    await turned(seen).catch(() => undefined);
  }
}

/** run does every step of the open run; `value(seen)` is typed on a pad. */
async function run(kind, value, at = async () => {}) {
  for (let i = 0; i < 300; i++) {
    const seen = await look(page);
    if (seen.buttons.includes("Durchgang abschließen")) return;
    await at(`${kind}: ${seen.where} ${seen.label}`);
    const named = ["Ziel erreicht", "Ja", "Stattdessen die Werte eingeben", "Überspringen", "Erledigt"].find((b) => seen.buttons.includes(b));
    const begin = seen.buttons.find((b) => b.startsWith("Wartezeit starten"));
    try {
      if (seen.text.includes("Zeit ist um") && seen.buttons.includes("Ablesungen beenden")) {
        await press("Ablesungen beenden");
        await turned(seen);
      } else if (seen.pad && seen.buttons.includes("Überspringen")) {
        await page.getByRole("button", { name: "Überspringen", exact: true }).click({ timeout: 3000 });
        await page.waitForFunction((old) => document.querySelector("main")?.innerText !== old, seen.text);
      } else if (seen.pad) await take(value(seen), () => at(`${kind}: a reason`));
      else if (named) {
        await page.getByRole("button", { name: named, exact: true }).first().click({ timeout: 3000 });
        await turned(seen);
      } else if (seen.note) {
        await page.locator("textarea").fill("A-1");
        await press("Speichern");
        await turned(seen);
      } else if (begin) {
        await page.getByRole("button", { name: begin, exact: true }).first().click({ timeout: 3000 });
        await turned(seen);
      } else await page.waitForTimeout(100);
    } catch (e) {
      if (e.name !== "TimeoutError") throw e; // a wait ended during the tap: look again
    }
  }
  throw new Error(`the run did not end; the screen says: ${(await look(page)).text}`);
}

test("a gauge is tested in German from the round to the signature, without a network", async () => {
  await page.goto(`${plant.url}/round`);
  await page.locator(".stops li", { hasText: "DE-1" }).first().waitFor();
  await german("round", false);
  await snap(page, "german-round");
  await page.goto(`${plant.url}/find`);
  await page.getByRole("heading", { name: "Suchen" }).waitFor();
  await german("find", false);
  await page.goto(`${plant.url}/round`);
  await page.locator(".stops li a", { hasText: "DE-1" }).first().click();
  await page.getByRole("button", { name: "Prüfung beginnen" }).waitFor();
  await german("instrument");
  await sound(page, "instrument");
  await snap(page, "german-instrument");
  await press("Prüfung beginnen");
  const seen = async (where) => {
    await german(where);
    await sound(page, where);
    await snap(page, `german-${where.replaceAll(" ", "-")}`);
  };
  await prepare("gauge", seen);
  let target = 0;
  let read = 0;
  await run(
    "gauge",
    () => (++read === 2 ? "0,255" : target === 5 ? "5,3" : String(target).replace(".", ",")),
    async (where) => {
      for (const t of await page.locator(".instruction").allTextContents()) {
        const m = /(?:Auf|auf|Bei) ([\d,]+)\s*bar/.exec(t) ?? /^([\d,]+)\s*bar einstellen/.exec(t);
        if (m) target = Number.parseFloat(m[1].replace(",", "."));
      }
      await german(where);
      if (read < 4) await snap(page, `german-${where.replace(/\W+/g, "-")}`);
    },
  );
  await german("all typed");
  await press("Durchgang abschließen");
  await page.getByRole("heading", { name: "Eingangszustand: Ergebnis" }).waitFor();
  await seen("result");
  await page.getByLabel("In Betrieb belassen").check();
  await german("what now");
  await snap(page, "german-what-now");
  await page.getByLabel("Wer das entschieden hat").fill("Schichtleitung");
  await page.getByLabel("Bis", { exact: true }).fill("2199-12-31");
  await page.getByLabel("Warum das bis dahin sicher ist").fill("Probe");
  await press("Weiter");
  await page.getByRole("button", { name: "Zur Unterschrift" }).waitFor();
  await german("remarks");
  await press("Zur Unterschrift");
  await page.locator(".signature svg").waitFor();
  await seen("signature");
  await stroke(page);
  await press("Unterschreiben");
  await page.getByRole("heading", { name: "Unterschrieben", exact: true }).waitFor();
  await seen("signed");
  const visit = new URL(page.url()).pathname.split("/").pop();
  assert.ok((await kept(page, visit)).signature, "the visit is signed");
});

const typed = {
  leak: (seen) => (/°C/.test(seen.label + seen.unit) ? "21" : /hPa/.test(seen.label + seen.unit) ? "1009" : "2"),
  switch: (seen) => (/Rückschaltpunkt/.test(seen.label) ? "1,3" : "1,5"),
  burst: (seen) => (/°C/.test(seen.label + seen.unit) ? "21" : "5"),
  altimeter: (seen) => (/hPa/.test(seen.label + seen.unit) ? "1002,3" : "0"),
};
for (const kind of Object.keys(typed))
  test(`${kind}: no English is on the way to its result`, async () => {
    await page.goto(`${plant.url}/instrument/${ids[kind]}`);
    await page.getByRole("button", { name: "Prüfung beginnen" }).waitFor();
    await german(`${kind}: instrument`);
    await press("Prüfung beginnen");
    await prepare(kind, (where) => german(`${kind}: ${where}`));
    await run(kind, typed[kind], (where) => german(where));
    await press("Durchgang abschließen");
    await page.getByRole("heading", { name: "Eingangszustand: Ergebnis" }).waitFor();
    await german(`${kind}: result`);
    await sound(page, `${kind}: result`);
    await snap(page, `german-${kind}-result`);
  });

test("a phone set to German begins in German, and keeps it from the first visit on", async () => {
  assert.ok(checked.size > 40, `only ${checked.size} screens were looked at`);
  await plant.start();
  const other = new Pocket(plant);
  try {
    await other.open({ locale: "de-AT" });
    await other.page.goto(plant.url);
    await other.page.getByRole("heading", { name: "Anmelden" }).waitFor();
    await held(other.page);
    const keeps = () =>
      caches.keys().then(async (names) => {
        for (const name of names)
          for (const r of await (await caches.open(name)).keys()) if (/\/german-/.test(r.url)) return true;
        return false;
      });
    await until(other.page, keeps);
    await plant.kill();
    await other.page.reload();
    await other.page.getByRole("heading", { name: "Anmelden" }).waitFor();
  } finally {
    await other.remove();
  }
});
