// Goes through the screens of a run as they come, by their content. The runner marks each screen
// with how many values and steps it was drawn for (data-kept), so that after a tap the walk waits
// for the next screen, however long that takes.

/** look reads the present content of the screen. */
export const look = (page) =>
  page.evaluate(() => {
    const text = (e) => e?.textContent ?? "";
    const where = document.querySelector(".visit-where");
    const buttons = [...document.querySelectorAll("main button")];
    return {
      text: document.querySelector("main")?.innerText ?? "",
      where: text(where),
      kept: where?.dataset.kept ?? "",
      buttons: buttons.filter((b) => !b.disabled).map(text),
      pad: document.querySelector(".pad input") !== null,
      label: text(document.querySelector(".pad label")),
      instruction: text(document.querySelector(".typed .instruction")),
      unit: document.querySelector("select.pad-unit")?.value ?? text(document.querySelector(".pad-unit")),
      note: document.querySelector("textarea") !== null,
      told: [...document.querySelectorAll("main [role=alert]")].map(text).join(),
    };
  });

/** turned waits for the next screen, or for a complaint on the present one. */
function turned(page, seen) {
  return page.waitForFunction(
    ([kept, told]) => {
      const where = document.querySelector(".visit-where");
      return (
        (where !== null && where.dataset.kept !== kept) ||
        [...document.querySelectorAll("main [role=alert]")].map((e) => e.textContent ?? "").join() !== told
      );
    },
    [seen.kept, seen.told],
  );
}

const quick = { timeout: 3000 };
const reasons = /^Why it is read|^Reason/;

/** take keeps a value typed on the pad, with a reason if one is asked for. */
async function take(page, value) {
  await page.locator(".pad input").fill(value, quick);
  const seen = await look(page);
  const why = page.getByLabel(reasons).first();
  const keep = page.getByRole("button", { name: /^Keep .*\d/ });
  if ((await why.count()) === 0) {
    await keep.click(quick);
    await Promise.race([turned(page, seen), why.waitFor()]).catch(() => undefined);
  }
  if ((await why.count()) > 0) {
    await why.fill("browser test", quick);
    await keep.click(quick);
    await turned(page, seen);
  }
  return (await look(page)).kept !== seen.kept;
}

/** more presses a button in the sheet of seldom-needed actions, one tap away. */
export async function more(page, name) {
  await page.getByRole("button", { name: "More", exact: true }).click();
  await page.getByRole("button", { name, exact: true }).click();
}

/** readings opens the sheet with what was recorded in the run so far, and gives it. */
export async function readings(page) {
  await page.getByRole("button", { name: /^Readings/ }).click();
  const sheet = page.getByRole("dialog", { name: "Readings so far" });
  await sheet.waitFor();
  return sheet;
}

/** saw looks for a text among what was recorded so far. */
export async function saw(page, text) {
  const sheet = await readings(page);
  await sheet.getByText(text).first().waitFor();
  await sheet.getByRole("button", { name: "Close", exact: true }).click();
}

/**
 * walk does every step of the open run, up to its close, and gives the number of values kept.
 * `current()` gives the page (a browser may be closed and opened on the way). `answer(seen)`
 * returns what is typed on a pad, or the name of the button to press instead as { press }.
 * `before(seen)` comes before a screen is worked on; if it gives true the screen is looked at
 * again. `after(kept)` comes after each kept value. `ends(seen)` names another screen to stop at.
 */
export async function walk(
  current,
  answer,
  before = async () => false,
  after = async () => {},
  ends = (seen) => seen.buttons.includes("Close this run"),
) {
  let kept = 0;
  let notes = 0;
  for (let i = 0; i < 1500; i++) {
    const page = current();
    const seen = await look(page);
    if (ends(seen)) return kept;
    if (await before(seen)) continue;
    const has = (name) => seen.buttons.includes(name);
    const tap = async (name) => {
      await page.getByRole("button", { name, exact: true }).first().click(quick);
      await turned(page, seen);
    };
    const begin = seen.buttons.find((b) => b.startsWith("Start the wait"));
    try {
      if (has("Target reached")) await tap("Target reached");
      else if (has("Yes")) await tap("Yes");
      else if (seen.pad) {
        const say = answer(seen);
        if (say === undefined) await page.waitForTimeout(20);
        else if (typeof say === "object") {
          await page.getByRole("button", { name: say.press, exact: true }).first().click(quick);
          await page.waitForFunction((old) => document.querySelector("main")?.innerText !== old, seen.text);
        } else if (await take(page, say)) await after(++kept);
      } else if (seen.note) {
        await page.locator("textarea").fill(`A-${++notes}`, quick); // for discs: no two have the same serial
        await tap("Keep");
      } else if (has("Done")) await tap("Done");
      else if (has("Type the values instead")) await tap("Type the values instead");
      else if (has("Skip this")) await tap("Skip this");
      else if (begin) await tap(begin);
      else await page.waitForTimeout(30);
    } catch (e) {
      if (e.name !== "TimeoutError") throw e; // a wait ended during the tap: look again
    }
  }
  throw new Error(`the run did not end; ${kept} values were kept; the screen says: ${(await look(current())).text}`);
}
