// Export and import at the office: a reviewer takes records out as a zip that verifies, and imports
// a messy list, on a wide screen.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { test } from "node:test";
import { dir, open, picture, plant, withOffice } from "./office.mjs";
import { sound } from "./pocket.mjs";

const program = resolve(import.meta.dirname, "../../bin/gaugewright");

withOffice();

/** office opens a path of the office; a list of 20,000 rows takes its time. */
const office = (path, theme = "day") => open({ path, theme, timeout: 120000 });

test("a reviewer exports what the register shows, and the file verifies", async () => {
  const page = await office("/office/register?q=pi-11");
  await page.locator("table.register tbody tr").first().waitFor();
  const shown = Number((await page.locator(".register-head .number").innerText()).split(" ")[0]);
  assert.ok(shown > 0 && shown < 100, `${shown} are shown`);
  await page.getByRole("button", { name: "Export everything" }).click();
  await page.getByText(`the ${shown} that the register shows now`).waitFor();
  await sound(page, "take out");
  await picture(page, "take-out");
  const saved = page.waitForEvent("download");
  await page.getByRole("button", { name: "Save the zip" }).click();
  const path = join(dir, "out.zip");
  await (await saved).saveAs(path);
  await page.getByText(/^Saved: /).waitFor();
  assert.match(execFileSync(program, ["verify", path], { encoding: "utf8" }), /all of it holds/);
  await page.getByRole("button", { name: "Back to the register" }).click();
  await page.locator("table.register tbody tr").first().waitFor();
  await page.context().close();
});

test("a reviewer brings a messy list in, repairs it by its causes, and brings it in again", async () => {
  const page = await office("/office/register", "night");
  const list = resolve(import.meta.dirname, "../../server/register/testdata/messy/werk-nord.csv");
  await page.getByRole("button", { name: "Import a list" }).click();
  await page.locator('input[type="file"]').setInputFiles(list);
  await page.getByText("Windows-1252. The headings are in line 4.").waitFor();
  await page.getByText("Prüfmittelliste Werk Nord").waitFor();
  await sound(page, "bring in");
  await picture(page, "bring-in-wrong");
  const cause = (text) => page.locator(".causes > li", { hasText: text });
  await cause("Unit: nothing is entered").getByRole("textbox").fill("bar");
  await cause("Unit: nothing is entered").getByRole("button", { name: "Apply" }).click();
  await cause("Unit: nothing is entered").waitFor({ state: "detached" });
  await cause("the same tag is in several rows").getByRole("button", { name: "the first" }).click();
  await cause("the same tag is in several rows").waitFor({ state: "detached" });
  await cause("Due: it cannot be read").getByRole("textbox").fill("Q1 2027");
  await cause("Due: it cannot be read").getByRole("button", { name: "Apply" }).click();
  await cause("Due: it cannot be read").waitFor({ state: "detached" });
  await page.getByText("new (6)").click();
  await picture(page, "bring-in-right");
  await page.getByRole("button", { name: "Take in 6 new" }).click();
  await page.getByText("6 new, 0 changed, 1 left out").waitFor();
  await page.getByRole("searchbox").fill("201");
  await page.locator("table.register td.c-tag", { hasText: "PI-20103" }).waitFor();

  // Once more, with an unused column: the page says that the instruments are there, and remembers
  // how the file was read.
  await page.getByRole("button", { name: "Import a list" }).click();
  await page.locator('input[type="file"]').setInputFiles(list);
  await page.getByText("Read as the last file with these headings was.").waitFor();
  await page.getByText("as it is (6)").waitFor();
  await page.getByRole("heading", { name: "Columns", exact: true }).click();
  await page.getByLabel("The column Bezeichnung is taken for").selectOption({ label: "Note" });
  await page.getByText("changed (6)").click();
  await page.getByText("Note: – → Speisewasser").waitFor();
  await picture(page, "bring-in-again");
  await page.getByRole("button", { name: "Take in 0 new and 6 changed" }).click();
  await page.getByText("0 new, 6 changed").waitFor();
  await page.context().close();
});

test("results of the past come in with a certificate, and the instrument's page has them apart", async () => {
  const page = await office("/office/register?q=pi-1101", "night");
  const first = page.locator("table.register td.c-tag a").first();
  const tag = (await first.innerText()).trim();
  const paper = join(dir, "k-1.pdf");
  writeFileSync(paper, "%PDF-1.7 of the past");
  const sheet = join(dir, "past.csv");
  writeFileSync(sheet, `tag,date,point,error,limit,certificate,laboratory,file
${tag},2009-05-06,5,0.02,0.1,K-09-1,Sample laboratory,k-1.pdf
${tag},2009-05-06,10,0.04,0.1,K-09-1,Sample laboratory,
${tag},2011-05-06,10,0.3,0.1,,,
XX-0000,2011-05-06,10,0.3,0.1,,,
`);
  await page.getByRole("button", { name: "Import a list" }).click();
  await page.getByRole("button", { name: "Results of the past instead" }).click();
  await page.locator('input[type="file"]').setInputFiles(sheet);
  await page.getByText("2 new, 0 here already, 1 left out").waitFor();
  await page.getByText("no instrument here has the tag").waitFor();
  await page.getByText("Still to be chosen: k-1.pdf").waitFor();
  await page.locator('input[type="file"][multiple]').setInputFiles(paper);
  await page.getByText("Still to be chosen").waitFor({ state: "detached" });
  await sound(page, "results of the past");
  await picture(page, "bring-results");
  await page.getByRole("button", { name: "Bring in 2" }).click();
  await page.getByText("2 results of the past were brought in.").waitFor();
  await page.locator("table.register td.c-tag a", { hasText: tag }).first().click();
  const earlier = page.getByRole("region", { name: "Brought in from before" });
  await earlier.getByText("certificate K-09-1 by Sample laboratory").waitFor();
  assert.equal(await earlier.getByRole("link").count(), 0, "a result of the past leads to no visit");
  await page.getByRole("img", { name: /2009.*: 40\s?%/ }).waitFor();
  const saved = page.waitForEvent("download");
  await earlier.getByRole("button", { name: "Open the certificate" }).click();
  assert.equal((await saved).suggestedFilename(), "certificate-K-09-1.pdf");
  await sound(page, "instrument with results of the past");
  await earlier.scrollIntoViewIfNeeded();
  await picture(page, "earlier");

  // Another instrument is mounted there: the tag moves to it; the imported results stay with the
  // old one.
  await page.getByRole("button", { name: "Replaced by another instrument" }).click();
  await page.getByLabel("Serial number of the other one").fill("EX-4711");
  await sound(page, "exchange");
  await page.getByRole("button", { name: "Replace", exact: true }).click();
  await page.locator("dl.facts dd", { hasText: "EX-4711" }).waitFor();
  await page.getByRole("heading", { level: 1, name: tag }).waitFor();
  assert.equal(await page.getByRole("region", { name: "Brought in from before" }).count(), 0);
  await page.context().close();
});

// The last test, since it leaves a plant of another size.
test("a register of 20,000 is imported, sorted, filtered, chosen from and changed", async () => {
  const list = join(dir, "many.csv");
  const areas = ["Mill", "Kiln", "Packing"];
  const rows = Array.from({ length: 20000 }, (_, i) => {
    const tag = `PG-${String(Math.floor(i / 100)).padStart(3, "0")}-${String(i % 100).padStart(2, "0")}`;
    return `${tag};Q${i};0...16 bar;1,6;0,5;${areas[i % 3]};Q${1 + (i % 4)} 2027`;
  });
  writeFileSync(list, `TAG-Nr.;Seriennummer;Messbereich;Kl.;Teilung;Bereich;Termin\n${rows.join("\n")}\n`);
  await plant.kill();
  const said = execFileSync(program, ["import", "--data", plant.dir, "--bad-only", "--write", list], { encoding: "utf8" });
  assert.match(said, /20000 instruments written/);
  await plant.start();
  const page = await office("/office/register?q=pg-");
  const count = page.locator(".register-head .number");
  await count.getByText(/^20,000 of/).waitFor();
  const took = {};
  const timed = async (name, work) => {
    const from = performance.now();
    await work();
    took[name] = Math.round(performance.now() - from);
  };
  const tag = page.locator("table.register td.c-tag").first();
  await timed("sort", async () => {
    await page.getByRole("button", { name: "Sort by Tag" }).click();
    await tag.getByText("PG-199-99").waitFor();
  });
  await timed("filter", async () => {
    await page.getByText("Area", { exact: true }).first().click();
    await page.getByLabel(/^Kiln/).check();
    await count.getByText(/^6,667 of/).waitFor();
  });
  await page.keyboard.press("Escape");
  await page.getByRole("searchbox").fill("pg-199");
  await count.getByText(/^\d+ of/).waitFor();
  const n = Number((await count.innerText()).split(" ")[0]);
  assert.ok(n > 30 && n < 300, `${n} answer`);
  await page.getByRole("button", { name: `Choose all ${n}` }).click();
  await page.getByText(`${n} chosen`).waitFor();
  await page.getByRole("button", { name: "Change", exact: true }).click();
  await page.getByRole("checkbox", { name: "Interval" }).check();
  await page.getByRole("button", { name: "Show what changes" }).click();
  await page.getByRole("heading", { name: `${n} instruments change` }).waitFor();
  await timed("change", async () => {
    await page.getByRole("button", { name: `Change these ${n}` }).click();
    await page.getByText(`${n} instruments changed.`).waitFor();
  });
  await picture(page, "twenty-thousand");
  console.log("20,000 rows, milliseconds:", took);
  await page.context().close();
});
