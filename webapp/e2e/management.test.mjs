// The office's desk: a reviewer works through the queue by keyboard, approves a failure with its
// effect, sees the plant on one page, keeps competences, and follows a standard that was out to its
// end. On a wide screen by day and on a tablet by night.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { desk, dir, faults, open, plant, sound, tablet, withOffice } from "./office.mjs";

withOffice();

/** taken presses a button and reads the first bytes of the downloaded file. */
async function taken(page, button) {
  const [file] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: button }).click()]);
  const to = join(dir, file.suggestedFilename());
  await file.saveAs(to);
  return readFileSync(to);
}

for (const [theme, viewport] of [
  ["day", desk],
  ["night", tablet],
])
  test(`what waits is gone through by keys, at ${viewport.width}`, async () => {
    const page = await open({ path: "/office", theme, viewport });
    const rows = page.locator(".queue tbody tr");
    await rows.first().waitFor();
    await sound(page, `queue-${theme}`);
    const before = await rows.count();
    if (before < 2) return; // the other size has gone through them
    // Failures stand before passes.
    const found = await page.locator(".queue tbody tr.signed td:nth-child(2)").allInnerTexts();
    const rank = found.map((t) => (/fail/i.test(t) ? 0 : 1));
    assert.deepEqual(rank, [...rank].sort());
    await page.getByLabel("Order").selectOption("tag");
    await page.getByLabel("State").selectOption("signed");
    await page.locator(".queue[aria-busy=false]").waitFor();
    await rows.first().locator("a").focus();
    await page.keyboard.press("ArrowDown");
    assert.equal(await rows.nth(1).locator("a:focus").count(), 1);
    await page.keyboard.press("ArrowUp");
    await page.keyboard.press("Enter");
    await page.getByText("Independent review:").waitFor();
    const here = page.url();
    await sound(page, `decide-${theme}`);
    const effect = page.getByLabel("What the failure means for its use since it last passed");
    const asked = (await effect.count()) > 0;
    if (asked) {
      await page.getByRole("button", { name: "Approve", exact: true }).click();
      await page.getByText("What the failure means: enter a few words.").waitFor();
      await effect.fill("The batches since its last pass were looked at: none is touched.");
    }
    await page.getByRole("button", { name: "Approve and next" }).click();
    await page.waitForURL((u) => u.href !== here && u.pathname.startsWith("/office/visit/"));
    await page.getByText("Independent review:").waitFor();
    await page.getByRole("link", { name: "Back to the list" }).click();
    await rows.first().waitFor();
    assert.equal(await page.getByLabel("Order").inputValue(), "tag", "the list is as it was left");
    assert.ok(!(await page.locator(`.queue a[href="${new URL(here).pathname}"]`).count()), "what is approved is gone");
    if (asked) {
      await page.goto(here);
      await page.getByText("none is touched").first().waitFor();
    }
    assert.deepEqual(faults, []);
  });

test("the plant is shown on one page, and a month is reported", async () => {
  const page = await open({ path: "/office/state", theme: "day", viewport: desk });
  await page.locator(".counts li").first().waitFor();
  await sound(page, "state-day");
  assert.equal((await taken(page, "Monthly report")).subarray(0, 5).toString(), "%PDF-");
  assert.match((await taken(page, "Visits of it (CSV)")).toString(), /^signed,tag,serial/);
  assert.equal((await taken(page, "Spreadsheet (XLSX)")).subarray(0, 2).toString(), "PK");
  assert.equal((await taken(page, "As PDF")).subarray(0, 5).toString(), "%PDF-");
  await page.setViewportSize(tablet);
  await sound(page, "state-tablet");
  assert.deepEqual(faults, []);
});

test("competences are kept, and work without one is seen", async () => {
  const page = await open({ role: "administrator", path: "/office/competence", theme: "night", viewport: tablet });
  await page.getByRole("button", { name: "Enter an authorisation" }).click();
  const form = page.getByRole("region", { name: "Enter an authorisation" });
  await form.getByLabel("Person").selectOption({ index: 0 });
  await form.getByLabel("check", { exact: true }).check();
  await form.getByRole("button", { name: "Save" }).click();
  await form.getByText(/evidence/i).last().waitFor();
  await form.getByLabel("Evidence").fill("Training of March, test piece 12");
  await form.getByRole("button", { name: "Save" }).click();
  await page.getByRole("cell", { name: "Training of March, test piece 12" }).waitFor();
  await sound(page, "competence-night");
  await page.goto(`${plant.url}/office`);
  await page.getByText("no authorisation on record for this kind of work").first().waitFor();
  await page.goto(`${plant.url}/office/competence`);
  await page.getByRole("button", { name: /^Withdraw/ }).first().click();
  await page.getByRole("cell", { name: "Training of March, test piece 12" }).waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
});

test("a standard is cared for: where it is, and its checks between calibrations", async () => {
  const page = await open({ path: "/office/standards", theme: "day", viewport: desk });
  await page.locator("table.all-standards tbody tr").first().waitFor();
  await sound(page, "standards-day");
  await page.setViewportSize(tablet);
  await sound(page, "standards-tablet");
  await page.setViewportSize(desk);
  await page.getByRole("link", { name: "Field kit A" }).click();
  await page.getByRole("heading", { name: "Certificates compared" }).waitFor();
  await page.getByRole("button", { name: "Change where it is" }).click();
  const where = page.getByRole("region", { name: "Change where it is" });
  await where.getByLabel("Place").fill("Van 2");
  await where.getByLabel("Kit it belongs to").fill("Field kit");
  await where.getByRole("button", { name: "Save" }).click();
  await page.locator("dd", { hasText: "Van 2" }).first().waitFor();
  for (const [i, shown] of ["1.0001", "1.0002", "1.0001", "1.0002", "1.0001", "1.0002", "1.5"].entries()) {
    await page.getByRole("button", { name: "Enter a check" }).click();
    const form = page.getByRole("region", { name: "Enter a check" });
    await form.getByLabel("Day").fill(`2026-01-${String(10 + i)}`);
    await form.getByLabel("Applied", { exact: true }).fill("1");
    await form.getByLabel("Standard reading").fill(shown);
    await form.getByRole("button", { name: "Save" }).click();
    await form.waitFor({ state: "detached" });
  }
  await page.getByText("out of control, or does not agree").waitFor();
  await page.locator(".check-chart svg").scrollIntoViewIfNeeded();
  await sound(page, "checks-day");
  await page.getByRole("button", { name: /^Withdraw: the check/ }).first().click();
  await page.getByText("out of control, or does not agree").waitFor({ state: "detached" });
  assert.deepEqual(faults, []);
});

test("a standard that was out is followed to the end", async () => {
  const page = await open({ path: "/office/standards", theme: "night", viewport: tablet });
  await page.locator("table.all-standards tbody tr").first().waitFor();
  await page.getByRole("link", { name: "Field kit A" }).click();
  await page.getByRole("link", { name: "Which results would change" }).click();
  await page
    .getByRole("group", { name: "Range" })
    .getByLabel(/20 bar/)
    .check();
  await page.getByLabel("Visits since").fill("2019-01-01");
  await page.getByLabel("points typed here").check();
  const errors = page.getByLabel(/^Error, point/);
  for (let i = 0; i < (await errors.count()); i++) await errors.nth(i).fill("0.03");
  await page.getByLabel("How the fault was found").fill("its own calibration");
  await page.getByRole("button", { name: "Start a look-back" }).click();
  await page.waitForURL(/\/office\/lookbacks\//);
  await page.getByText(/results judged again/).waitFor();
  await sound(page, "lookback-night");
  assert.equal((await taken(page, "Report (PDF)")).subarray(0, 5).toString(), "%PDF-");
  assert.match((await taken(page, "Results (CSV)")).toString(), /^tag,day,run/);
  await page.getByLabel("Choose all").check();
  await page.getByRole("button", { name: "Close", exact: true }).click();
  await page.getByText(/say what was done/i).waitFor();
  await page.getByRole("radio", { name: "Recall" }).check();
  await page.getByLabel("Reason").fill("outside now");
  await page.getByLabel("Owner", { exact: true }).selectOption({ index: 1 });
  await page.getByLabel("By", { exact: true }).fill("2030-01-31");
  await page.getByRole("button", { name: "Save the decision" }).click();
  await page.getByText("outside now").nth(1).waitFor();
  assert.equal((await taken(page, "Letters to those concerned (PDF)")).subarray(0, 5).toString(), "%PDF-");
  await page.setViewportSize(desk);
  await sound(page, "lookback-desk");
  await page.getByLabel("What was done").fill("recalibrated on site");
  await page.getByRole("button", { name: "Close", exact: true }).click();
  await page.locator(".badge.closed").waitFor();
  await page.goto(`${plant.url}/office/lookbacks`);
  await page.getByRole("link", { name: /Field kit A/ }).waitFor();
  await sound(page, "lookbacks-desk");
  assert.deepEqual(faults, []);
});
