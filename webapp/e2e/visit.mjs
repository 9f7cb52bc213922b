// One visit through its screens, as a technician does it.

/** has says whether a button is there and can be pressed. */
async function has(page, name) {
  const b = page.getByRole("button", { name, exact: false }).first();
  return (await b.count()) > 0 && (await b.isVisible()) && (await b.isEnabled());
}

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

/** target reads the step's pressure off the screen; a vented step has none and stands at zero. */
async function target(page) {
  for (const text of await page.locator(".instruction:not(:has(~ h1))").allTextContents()) {
    const m = /^(?:Rise to|Fall to|Set) (\u2212?-?[\d.,]+)/.exec(text);
    if (m) return Number.parseFloat(m[1].replace("\u2212", "-").replaceAll(",", ""));
  }
  return 0;
}

/**
 * run does every step of the run that is open. `current()` gives the page (a browser may be closed and opened on the way), `read(target)` what is
 * typed at a target; `between(n)` is called after each kept value, `at(target)` before a value is typed.
 */
export async function run(current, read, between = async () => {}, at = async () => {}) {
  const quick = { timeout: 1500 };
  let kept = 0;
  for (let i = 0; i < 900; i++) {
    const page = current();
    if (await has(page, "Close this run")) return kept;
    const where = await page.locator(".visit-where").textContent(quick).catch(() => "");
    try {
      const pad = page.locator(".pad input");
      if ((await pad.count()) > 0) {
        const skip = page.getByRole("button", { name: "Go on without it" });
        if ((await skip.count()) > 0) {
          await skip.click(quick);
          continue;
        }
        const asked = await target(page);
        await at(asked);
        await pad.fill(String(read(asked)), quick);
        const early = page.getByLabel("Why it is read before the wait is over");
        await page.locator(".preview p, .preview svg").first().waitFor(quick);
        if ((await early.count()) > 0) await early.fill("browser test", quick);
        await page.getByRole("button", { name: /^Keep .*\d/ }).click(quick);
        await page.locator(".visit-where").filter({ hasNotText: where }).or(page.getByRole("button", { name: "Close this run" })).first().waitFor(quick);
        kept++;
        await between(kept);
      } else if (await has(page, "It is set")) await page.getByRole("button", { name: "It is set" }).click(quick);
      else if (await has(page, "Done")) await page.getByRole("button", { name: "Done" }).click(quick);
      else if (await has(page, "Start the wait")) await page.getByRole("button", { name: "Start the wait" }).click(quick);
      else await page.waitForTimeout(50);
    } catch (e) {
      if (e.name !== "TimeoutError") throw e; // the screen went on under the finger: look again
    }
  }
  throw new Error(`the run did not end; ${kept} values were kept; the screen says: ${await current().locator("main").innerText()}`);
}
