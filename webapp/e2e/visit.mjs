// One visit through its screens, as a technician does it.
import { walk } from "./walk.mjs";

const press = (page, name) => page.getByRole("button", { name }).first().click();

/** prepare goes from the cautions to the start of the as-found run; `at(stage)` is called before each is left. */
export async function prepare(page, at = async () => {}) {
  await page.getByRole("heading", { name: "Before any pressure" }).waitFor();
  await at("cautions");
  for (const box of await page.getByRole("checkbox").all()) await box.check();
  await press(page, "All of this holds here");
  await page.getByLabel("They agree").check();
  await page.getByLabel("Sound and fit to be tested").check();
  await at("identity");
  await press(page, "Next");
  await page.getByRole("heading", { name: "Standard" }).waitFor();
  await page.getByRole("radio").first().check();
  await at("standard");
  const why = page.getByLabel("Why it is used all the same");
  if ((await why.count()) > 0) await why.fill("browser test");
  await press(page, "Use this standard");
  await page.getByLabel("Air temperature").fill("21,5");
  await page.getByLabel("Air pressure").fill("1009");
  await page.getByLabel("Relative humidity").fill("45");
  await at("surroundings");
  await press(page, "Next");
  await page.getByRole("button", { name: "Start: As found" }).waitFor();
  await at("before as found");
  await press(page, "Start: As found");
}

/** targetOf reads the step's pressure off the screen; a vented step has none and stands at zero. */
async function targetOf(page) {
  for (const text of await page.locator(".instruction:not(:has(~ h1))").allTextContents()) {
    const m = /^(?:Rise to|Fall to|Set) (\u2212?-?[\d.,]+)/.exec(text);
    if (m) return Number.parseFloat(m[1].replace("\u2212", "-").replaceAll(",", ""));
  }
  return 0;
}

/**
 * run does every step of a gauge's run that is open. `current()` gives the page (a browser may be closed and opened on the way), `read(target)` what is
 * typed at a target; `between(n)` is called after each kept value, `at(target)` before a value is typed.
 */
export function run(current, read, between = async () => {}, at = async () => {}) {
  let target = 0;
  return walk(
    current,
    (seen) => (seen.buttons.includes("Go on without it") ? { press: "Go on without it" } : String(read(target))),
    async (seen) => {
      if (!seen.pad || seen.buttons.includes("Go on without it")) return false;
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
