// Pitot-static work on a phone without a network: an altimeter and an airspeed indicator of the
// hangar's workshop, each through its whole plan, with the abort card, the path over time and the
// return to the measured field pressure, signed; then sent, recalculated at the office, and
// certified.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant, ready } from "./plant.mjs";
import { Pocket, asPerson, snap, sound } from "./pocket.mjs";
import { hand, onward, prepare } from "./visit.mjs";
import { walk } from "./walk.mjs";

const field = "998.4"; // hPa
let plant;
let pocket;
let page;
const visits = {};

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
  await plant.kill(); // from here on there is no office
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, sign: toSigned } = hand(() => page);

const picture = (name) => snap(page, `air-${name}`);

/** altitude gives the pressure altitude of a pressure below 11 km in feet (ISO 2533). */
const altitude = (inHg) => ((288.15 / 0.0065) * (1 - (inHg / 29.92126) ** 0.1902632)) / 0.3048;
const fieldFeet = altitude(Number(field) / 33.86388640341);

let aim = []; // what the board shows of altitude and airspeed

const plain = (text) => Number.parseFloat((text ?? "").replace("\u2212", "-").replace(/[^\d.-]/g, ""));

/**
 * shows gives what a good instrument shows at the present condition, from the board and the
 * question; nothing while there is no board.
 */
function shows(seen) {
  if (aim.length === 0) return undefined;
  if (seen.unit === "hPa") return field;
  const setting = /Set ([\d.]+) inHg and read/.exec(`${seen.instruction} ${seen.label}`);
  if (setting) return String(Math.round(setting[1] === "29.92" ? fieldFeet : fieldFeet - altitude(Number(setting[1]))));
  return String(Math.round(plain(seen.unit === "kt" ? aim[1] : aim[0])));
}

/** through does the whole plan. at[text]() is called once, when a screen with that text appears. */
function through(at) {
  const met = new Set();
  return walk(
    () => page,
    shows,
    async (seen) => {
      for (const [text, then] of Object.entries(at)) {
        if (!seen.text.includes(text) || met.has(text)) continue;
        met.add(text);
        await then();
      }
      aim = await page.locator(".air-board .aim td").allTextContents();
      return false;
    },
  );
}

async function begin(tag) {
  await page.goto(plant.url);
  await page.locator("main a[href^='/instrument/']", { hasText: tag }).first().click();
  await page.getByRole("button", { name: "Start visit" }).click();
  await prepare(page, async (stage) => {
    if (stage !== "standard") return;
    assert.match(await page.locator("main").innerText(), /Air data set/);
  });
  visits[tag] = page.url().split("/").pop();
}

/**
 * warned checks a result's warnings. The test goes faster than the lines allow, which is said once,
 * and line by line on request.
 */
async function warned() {
  const fast = page.locator(".caution", { hasText: "it went at no less than" });
  await fast.waitFor(); // there is only one, or this refuses
  const more = /and (\d+) more like it/.exec(await fast.innerText());
  assert.ok(more, await fast.innerText());
  assert.equal(await fast.locator("p").first().isVisible(), false);
  await sound(page, "the result");
  await picture("warnings");
  await fast.locator("summary").click();
  await fast.locator("p").last().waitFor();
  assert.equal(await fast.locator("p").count(), Number(more[1]));
  await sound(page, "the result with all its warnings");
  await picture("warnings-open");
  await fast.locator("summary").click();
}

async function sign() {
  await press("Close this run");
  await page.getByText("As found: result").waitFor();
  if (Object.keys(visits).length === 1) await warned();
  await picture(`result-${Object.keys(visits).at(-1)}`);
  await onward(page);
  await toSigned();
}

/** abort opens the card, which is one tap away and already worked out, and closes it. */
async function abort(name, ...says) {
  await press("Abort card");
  const card = page.getByRole("region", { name: "Abort", exact: true });
  await card.getByText("Stop both rates").waitFor({ timeout: 2000 });
  for (const text of says) assert.match(await card.innerText(), text);
  assert.ok((await card.locator("tbody tr").count()) > 1, "the way back, line by line");
  if (name === "abort-altimeter") await sound(page, name);
  await picture(name);
  await press("Close the abort card");
}

test("an altimeter through the tests of Part 43 Appendix E, offline", async () => {
  await begin("AL-1");
  const kept = await through({
    "Is the static line connected": async () => {
      await page.getByRole("button", { name: "Abort card" }).waitFor();
      await picture("beginning");
    },
    "Target\t10000\u00a0ft": async () => {
      await page.getByText("The way there, in time").click();
      await page.locator(".air .wide-table tbody tr").nth(1).waitFor();
      await page.getByRole("button", { name: /^Shown in/ }).click();
      await page.getByText(/static 20\.5770/).waitFor(); // table I: 20.577 inHg (14 CFR Part 43 Appendix E)
      await picture("way");
      for (let i = 0; i < 3; i++) await page.getByRole("button", { name: /^Shown in/ }).click();
      await abort("abort-altimeter", /Join pitot to static/, /998\.40/, /Never/, /maintenance manual/);
    },
    "Target\t408\u00a0ft\t0\u00a0kt": async () => {
      const way = page.locator(".air details[open]");
      await way.getByText("The way back to the field").waitFor();
      const last = await way.locator("tbody tr").last().innerText();
      assert.match(last, /998\.40\s+998\.40/, "it ends with both at the measured pressure");
      await sound(page, "the way back");
      await picture("back");
    },
  });
  assert.ok(kept > 40, `${kept} values`);
  await sign();
});

test("an airspeed indicator, offline, with the card at 240 kt", async () => {
  await begin("AS-1");
  await through({
    "\t240\u00a0kt": async () => {
      await page.locator(".air-board").waitFor();
      await picture("speed");
    },
    "Standing\t408\u00a0ft\t220\u00a0kt": async () => {
      await abort("abort-airspeed", /Static is at the field already/, /220\u00a0kt|220 kt/);
    },
    "Target\t408\u00a0ft\t0\u00a0kt": async () => {
      await picture("back-speed");
    },
  });
  await sign();
});

test("the office recalculates both, bit for bit, and certifies the altimeter", async () => {
  await plant.start();
  await page.goto(plant.url);
  await page.getByText("All work sent").waitFor({ timeout: 60000 });
  const administrator = await asPerson(plant, plant.someone("administrator"));
  await administrator("/api/office/letterhead", "PUT", {
    name: "Hangar workshop",
    address: ["Field 2"],
    customer: ["Flying school"],
  });
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  for (const tag of ["AL-1", "AS-1"]) {
    const seen = await reviewer(`/api/office/visits/${visits[tag]}`);
    assert.equal(seen.status, "signed");
    const finding = seen.runs[0].fields.finding.heads[0].value;
    assert.equal(
      finding.verdict,
      "pass",
      `${tag}: ${finding.reason}; ${JSON.stringify(finding.results.filter((r) => r.verdict === "fail"))}`,
    );
    assert.equal(finding.due_months, 24);
    assert.ok(
      !Object.keys(seen.visit.fields).some((f) => f.startsWith("check.")),
      "the numbers of phone and office are the same",
    );
    const { certificate } = await reviewer(`/api/office/visits/${visits[tag]}/approve`, "POST", {
      covers: seen.covers, effect: "nothing was touched",
    });
    const pdf = await reviewer(`/api/certificates/${certificate.id}.pdf`);
    assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  }
  assert.deepEqual(pocket.faults, []);
});
