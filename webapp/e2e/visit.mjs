// One visit through its screens, as a technician does it.
import { walk } from "./walk.mjs";

const press = (page, name) => page.getByRole("button", { name }).first().click();

/** hand gives the repeated actions of tests on the open page, which `current()` gives. */
export function hand(current) {
  const tap = (name) => current().getByRole("button", { name, exact: true }).first().click();
  const title = (name) => current().getByRole("heading", { name, exact: true }).waitFor();
  /** here is the id of the record whose page is open. */
  const here = () => new URL(current().url()).pathname.split("/").pop();
  /** start begins a visit to an instrument, up to its cautions, and gives its id. */
  const start = async (plant, instrument) => {
    await current().goto(`${plant.url}/instrument/${instrument}`);
    await tap("Start visit");
    await title("Before any pressure");
    return here();
  };
  /** sign goes from a result to the signed visit. */
  const sign = async () => {
    await tap("To the signature");
    await stroke(current());
    await tap("Sign");
    await title("Signed");
  };
  return { press: tap, title, here, start, sign };
}

/** tickAll ticks every box of a screen that has some, once they are there. */
export async function tickAll(page) {
  const boxes = page.getByRole("checkbox");
  await boxes.first().waitFor();
  for (const box of await boxes.all()) await box.check();
}

/**
 * prepare goes from the cautions to the start of the as-found run. `at(stage)` is called before it
 * leaves each stage. Without bypasses, the questions about them stay.
 */
export async function prepare(page, at = async () => {}, bypasses = true) {
  await page.getByRole("heading", { name: "Before any pressure" }).waitFor();
  await at("cautions");
  await tickAll(page);
  await press(page, "All checked: go on");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Good").check();
  await at("identity");
  await press(page, "Next");
  await choosing(page);
  await page.getByRole("radio").first().check();
  await at("standard");
  const why = page.getByLabel("Reason for using it");
  if ((await why.count()) > 0) await why.fill("browser test");
  await press(page, "Use this standard");
  await safeService(page);
  await page.getByLabel("Air temperature").fill("21,5");
  await page.getByLabel("Air pressure").fill("1009");
  await page.getByLabel("Relative humidity").fill("45");
  await at("surroundings");
  await press(page, "Next");
  await page.getByRole("button", { name: "Start: As found" }).waitFor();
  await at("before as found");
  await press(page, "Start: As found");
  if (bypasses) await unbypassed(page);
}

/** choosing opens the list of standards, possibly from the offer of the suitable one. */
export async function choosing(page) {
  const other = page.getByRole("button", { name: "Change: Standard", exact: true });
  const list = page.locator(".standards").first();
  await list.or(other).first().waitFor();
  if ((await other.count()) > 0) await other.click();
  await list.waitFor();
}

/** safeService answers yes to the questions about the medium and the place, if they are asked. */
export async function safeService(page) {
  const asked = page.getByRole("group", { name: "Is this so here?" });
  await asked.or(page.getByLabel("Air temperature")).first().waitFor();
  if ((await asked.count()) === 0) return;
  for (const one of await asked.all()) await one.getByLabel("Yes").check();
  await press(page, "Next");
}

/** unbypassed says that an instrument in a circuit has no bypass set. */
export async function unbypassed(page) {
  const none = page.getByRole("button", { name: "No bypass is set" });
  await page.locator(".visit-where[data-kept]").or(none).first().waitFor();
  if ((await none.count()) > 0) await none.click();
}

/**
 * onward goes on from a result: nothing was adjusted, and an instrument that failed is left in
 * service by somebody's decision.
 */
export async function onward(page) {
  const no = page.getByLabel("No", { exact: true });
  const stays = page.getByLabel("Leave it in service");
  await no
    .or(stays)
    .or(page.getByRole("button", { name: "To the signature", disabled: false }))
    .first()
    .waitFor();
  if ((await stays.count()) > 0) {
    await stays.check();
    await page.getByLabel("Who decided this").fill("shift lead");
    await page.getByLabel("Until", { exact: true }).fill("2199-12-31");
    await page.getByLabel("Why this is safe until then").fill("browser test");
  } else if ((await no.count()) > 0) await no.check();
  else return;
  await press(page, "Next");
}

/** targetOf reads the step's pressure off the screen; a vented step has none and is at zero. */
async function targetOf(page) {
  for (const text of await page.locator(".instruction:not(:has(~ h1))").allTextContents()) {
    const m = /^(?:Raise to|Lower to|Stay at|Set) (\u2212?-?[\d.,]+)/.exec(text);
    if (m) return Number.parseFloat(m[1].replace("\u2212", "-").replaceAll(",", ""));
  }
  return 0;
}

/**
 * run does every step of a gauge's open run. `current()` gives the page (a browser may be closed
 * and opened on the way), `read(target)` what is typed at a target. `between(n)` is called after
 * each kept value, `at(target)` before a value is typed.
 */
export function run(current, read, between = async () => {}, at = async () => {}) {
  let target = 0;
  return walk(
    current,
    (seen) => (seen.buttons.includes("Skip this") ? { press: "Skip this" } : String(read(target))),
    async (seen) => {
      if (!seen.pad || seen.buttons.includes("Skip this")) return false;
      target = await targetOf(current());
      await at(target);
      return false;
    },
    between,
  );
}

/** stroke draws a signature on the pad. */
export async function stroke(page) {
  const pad = page.locator(".signature svg");
  await pad.scrollIntoViewIfNeeded();
  const box = await pad.boundingBox();
  await page.mouse.move(box.x + 40, box.y + 60);
  await page.mouse.down();
  for (let i = 1; i <= 8; i++) await page.mouse.move(box.x + 40 + 20 * i, box.y + 60 + (i % 2) * 20);
  await page.mouse.up();
}
