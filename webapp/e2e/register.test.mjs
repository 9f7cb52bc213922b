// The register as a table to work in: a reviewer searches, filters, sorts, chooses and saves views,
// by mouse and by keyboard, on a wide screen by day and on a tablet by night.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { desk, dir, faults, open, picture, sound, tablet, withOffice } from "./office.mjs";

withOffice();

/** register opens the register and waits for its rows. */
async function register(theme, viewport) {
  const page = await open({ path: "/office/register", theme, viewport, timeout: 120000 });
  await page.locator("table.register tbody tr").first().waitFor();
  return page;
}

/** column gives the present texts of a column. */
const column = (page, name) => page.locator(`table.register td.c-${name}`).allInnerTexts();

/** until waits for a column's content, which comes from the server a moment later. */
async function until(page, name, holds) {
  const good = new Function("list", `return ${holds}`);
  const read = async () => (await page.locator(`table.register td.c-${name}`).allTextContents()).map((t) => t.trim());
  for (const end = performance.now() + 120000; !good(await read()); await page.waitForTimeout(50))
    if (performance.now() > end) throw new Error(`the column ${name} does not become ${holds}`);
}

const fold = (page, name) => page.locator(".fold > summary").filter({ hasText: name }).first();
const count = (page) => page.locator(".register-head .number").innerText();

for (const [theme, viewport] of [
  ["day", desk],
  ["night", tablet],
]) {
  test(`the register is searched, filtered and sorted, at ${viewport.width}`, async () => {
    const page = await register(theme, viewport);
    const all = Number(await count(page));
    assert.ok(all > 200, `${all}`);
    await sound(page, "register");
    await picture(page, `register-${theme}`);

    await fold(page, "Area").click();
    await page.getByRole("checkbox", { name: /^Boiler house/ }).check();
    await until(page, "area", "list.length > 0 && list.every((a) => a === 'Boiler house')");
    const [found] = (await count(page)).split(" of ").map(Number);
    assert.ok(found > 0 && found < all);
    await sound(page, "register with a filter open");
    await picture(page, `register-filter-${theme}`);
    await page.keyboard.press("Escape");

    await fold(page, "Kind").click();
    await page.getByRole("checkbox", { name: /^Gauge/ }).check();
    await page.keyboard.press("Escape");
    await page.getByRole("button", { name: "Sort by Due" }).click();
    await page.locator("table[aria-busy=false] th.c-due[aria-sort=ascending]").waitFor();
    const dues = (await column(page, "due")).filter((d) => d !== "–").map((d) => Date.parse(d.replace("overdue", "")));
    assert.deepEqual(dues, [...dues].sort((a, b) => a - b));
    await page.getByRole("button", { name: "Sort by Due" }).click();
    await page.locator("th.c-due[aria-sort=descending]").waitFor();

    // A search forgives a slip, and says so.
    await page.getByRole("button", { name: "Clear all filters" }).click();
    await page.getByLabel("Tag, serial, words or place").fill("boilr house");
    await page.getByText("These are close:").waitFor();
    await until(page, "area", "list.length > 0 && list.every((a) => a === 'Boiler house')");
    await page.getByLabel("Tag, serial, words or place").fill("no such thing at all");
    await page.getByText("No instrument fits these filters and words.").waitFor();
    await page.getByRole("button", { name: "Clear all filters" }).click();
    await page.locator("table.register tbody tr").first().waitFor();
    await page.context().close();
  });
}

test("a view is saved, and is there at another desk", async () => {
  const page = await register("day", desk);
  await fold(page, "Last as found").click();
  await page.getByRole("checkbox", { name: /^fail/i }).check();
  await page.keyboard.press("Escape");
  await until(page, "verdict", "list.length > 0 && list.every((v) => /fail/i.test(v))");
  const failed = await page.locator("table.register tbody tr").count();
  await fold(page, "Columns").click();
  await page.getByRole("checkbox", { name: "Serial" }).check();
  await page.getByRole("checkbox", { name: "Method", exact: true }).uncheck();
  await page.keyboard.press("Escape");
  assert.equal(await page.locator("th.c-serial").count(), 1);
  assert.equal(await page.locator("th.c-method").count(), 0);
  await fold(page, "Saved views").click();
  await page.getByLabel("Name of the view").fill("Failed");
  await page.getByRole("button", { name: "Save this view" }).click();
  await page.getByRole("button", { name: "Failed", exact: true }).waitFor();
  await sound(page, "saved views");
  await page.context().close();

  const other = await register("day", desk);
  assert.equal(await other.locator("th.c-method").count(), 1);
  await fold(other, "Saved views").click();
  await other.getByRole("button", { name: "Failed", exact: true }).click();
  await until(other, "verdict", `list.length === ${failed} && list.every((v) => /fail/i.test(v))`);
  assert.equal(await other.locator("th.c-serial").count(), 1);
  assert.match(new URL(other.url()).search, /verdict=fail/);
  await other.context().close();
});

test("by keys alone: search, go down, choose, turn the page, open", async () => {
  const page = await register("day", desk);
  await page.keyboard.press("/");
  await page.keyboard.type("PI-");
  await until(page, "tag", "list.length > 0 && list.every((t) => t.startsWith('PI-'))");
  const tags = await column(page, "tag");
  await page.locator("td.c-tag a").first().focus();
  await page.keyboard.press("Space");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Shift+Space");
  await page.getByText("3 chosen").waitFor();
  await page.keyboard.press("PageDown");
  await until(page, "tag", `list.length > 0 && list[0] !== ${JSON.stringify(tags[0])}`);
  await page.getByText("3 chosen").waitFor();
  const [next] = await column(page, "tag");
  await page.locator("td.c-tag a").first().focus();
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { level: 1, name: next }).waitFor();
  await page.context().close();
});

test("the shown rows are saved as a table and printed", async () => {
  const page = await register("day", desk);
  await page.getByLabel("Tag, serial, words or place").fill("PI-");
  await until(page, "tag", "list.length > 0 && list.every((t) => t.startsWith('PI-'))");
  const found = Number((await count(page)).split(" of ")[0]);
  assert.ok(found > 100);
  const [d] = await Promise.all([
    page.waitForEvent("download"),
    page.getByRole("button", { name: "Save as CSV" }).click(),
  ]);
  const file = join(dir, "register.csv");
  await d.saveAs(file);
  const rows = readFileSync(file, "utf8").trim().split("\n");
  assert.equal(rows[0], "tag,description,area,low,high,unit,mode,method,due,verdict,status");
  assert.equal(rows.length - 1, found);
  await page.evaluate(() => {
    globalThis.print = () => {
      globalThis.printed = document.querySelectorAll("table.register tbody tr").length;
    };
  });
  await page.getByRole("button", { name: "Print" }).click();
  await page.waitForFunction(() => globalThis.printed !== undefined);
  assert.equal(await page.evaluate(() => globalThis.printed), found);
  await page.context().close();
});

test("several are changed at once, as previewed, and undone at once", async () => {
  const page = await register("day", desk);
  await page.getByLabel("Tag, serial, words or place").fill("PI-11");
  await until(page, "tag", "list.length > 3 && list.every((t) => t.startsWith('PI-11'))");
  const areas = await column(page, "area");
  const [first, second] = await column(page, "tag");
  await page.getByLabel(`Choose ${first}`, { exact: true }).check();
  await page.getByLabel(`Choose ${second}`, { exact: true }).check();
  await page.getByText("2 chosen").waitFor();
  await page.getByRole("button", { name: "Change", exact: true }).click();
  await page.getByRole("heading", { name: "Change 2 instruments" }).waitFor();
  await page.getByRole("checkbox", { name: "Area" }).check();
  await page.getByRole("textbox", { name: "Area" }).fill("Weir");
  await page.getByRole("checkbox", { name: "State" }).check();
  await page.getByRole("radio", { name: /^out of service/ }).check();
  await sound(page, "change of several");
  await page.getByRole("button", { name: "Show what changes" }).click();
  await page.getByRole("heading", { name: "2 instruments change" }).waitFor();
  await page.getByRole("row", { name: first }).getByText("Weir").waitFor();
  await sound(page, "what changes");
  await picture(page, "register-bulk");
  await page.getByRole("button", { name: "Change these 2" }).click();
  await page.getByText("2 instruments changed.").waitFor();
  await until(page, "area", "list.filter((a) => a === 'Weir').length === 2");
  await until(page, "status", "list.slice(0, 2).every((s) => s === 'out of service')");
  await page.getByRole("button", { name: "Undo", exact: true }).first().click();
  await page.getByText("Undone: 2 instruments are as they were.").waitFor();
  await until(page, "area", `list.join() === ${JSON.stringify(areas.join())}`);
  await page.context().close();
});

test("no script failed on the way", () => {
  assert.deepEqual(faults, []);
});
