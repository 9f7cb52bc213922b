// Registers as people have them, in German, English, Spanish and French: each is brought in on the
// page, its faults repaired by their causes, by a person whose clicks and keys are counted. Two
// minutes are enough for each. The registers are made up; server/register tests what is read of them.
import assert from "node:assert/strict";
import { resolve } from "node:path";
import { test } from "node:test";
import { Hand } from "./hand.mjs";
import { desk, open, plant, tablet, withOffice } from "./office.mjs";
import { asPerson, snap, sound } from "./pocket.mjs";

const most = 120; // seconds of a person
let ask;

withOffice(async () => {
  ask = await asPerson(plant, plant.someone("reviewer"));
});

const typed = (text) => async (hand, cause) => {
  for (const box of await cause.getByRole("textbox").all()) await hand.types(box, text);
  await hand.click(cause.getByRole("button", { name: "Apply" }));
};
const pressed = (name) => (hand, cause) => hand.click(cause.getByRole("button", { name }));

const registers = [
  {
    language: "German",
    file: "werk-nord.csv",
    viewport: desk,
    repairs: [
      ["Unit: nothing is entered", typed("bar")],
      ["the same tag is in several rows", pressed("the first")],
      ["Due: it cannot be read", typed("Q1 2027")],
    ],
    said: "6 new, 0 changed, 1 left out",
    rows: {
      "PI-20101": { high: "16", unit: "bar", due: "2027-09-30" },
      "PI-20105": { low: "-1", due: "2027-03-31" },
      "PI-20106": { unit: "mmH2O", interval_months: 6 },
    },
  },
  {
    language: "English",
    file: "mill-west.csv",
    viewport: tablet,
    columns: { "Cal frequency": "Interval" },
    repairs: [
      ["Unit: nothing is entered", typed("psi")],
      ["the same tag is in several rows", pressed("the first")],
      ["the day or the month may come first", pressed("have the month first")],
      ["Due: it cannot be read", typed("Q2 2027")],
      ["Interval: it cannot be read", typed("12")],
    ],
    said: "7 new, 0 changed, 1 left out",
    rows: {
      "PT-4101": { high: "100", unit: "psi", due: "2027-03-04", interval_months: 12 },
      "PT-4104": { high: "3000", due: "2027-11-02", interval_months: 24 },
      "PT-4106": { high: "60", unit: "psi", due: "2027-06-30" },
      "PT-4107": { unit: "inH2O", interval_months: 12 },
    },
  },
  {
    language: "Spanish",
    file: "planta-este.csv",
    viewport: desk,
    repairs: [
      ["Unit: nothing is entered", typed("psi")],
      ["it may be thousands or decimals", pressed("have a decimal point")],
      ["the day or the month may come first", pressed("have the month first")],
      ["Interval: it cannot be read", typed("mensual")],
      ["Class (EN 837): it cannot be read", typed("1.0 %"), true],
    ],
    said: "6 new, 0 changed",
    rows: {
      "PG-7004": { high: "600", unit: "psi" },
      "PG-7005": { high: "1500", interval_months: 1, due: "2027-12-31" },
      "PG 7003": { low: "-30", unit: "inHg", due: "2027-02-03" },
    },
  },
  {
    language: "French",
    file: "atelier-sud.tsv",
    viewport: tablet,
    repairs: [
      ["no site here has this code", pressed(/^Make these sites/)],
      ["Class (EN 837)", typed("1,6")],
      ["the day or the month may come first", pressed("have the day first")],
      ["State: it cannot be read", typed("en service")],
    ],
    said: "5 new, 0 changed",
    rows: {
      "M-301": { high: "10", due: "2027-03-15", interval_months: 12 },
      "M-302": { due: "2027-04-03", interval_months: 6 },
      "M-304": { low: "-100", unit: "mbar", due: "2027-06-30" },
    },
  },
];

for (const of of registers)
  test(`a register in ${of.language} is brought in within two minutes of a person`, async () => {
    const page = await open({ path: "/office/register", viewport: of.viewport });
    await page.locator("table.register tbody tr").first().waitFor();
    const hand = new Hand(page);
    const began = performance.now();
    await hand.click(page.getByRole("button", { name: "Import a list" }));
    const path = resolve(import.meta.dirname, "../../server/register/testdata/messy", of.file);
    await hand.chooses(page.getByText("Choose a file"), path);
    await page.getByText("The headings are in line").waitFor();
    hand.thinks(await page.locator(".causes > li").count()); // each is looked at
    await sound(page, `a register in ${of.language}`);
    await snap(page, `register-${of.language.toLowerCase()}`, [of.viewport.width]);
    for (const [heading, field] of Object.entries(of.columns ?? {}))
      await hand.picks(page.getByLabel(`The column ${heading} is taken for`), field);
    for (const [text, repair, maybe] of of.repairs) {
      const cause = page.locator(".causes > li", { hasText: text });
      if (maybe && (await cause.count()) === 0) continue;
      await cause.waitFor();
      await repair(hand, cause);
      await cause.waitFor({ state: "detached" });
    }
    await hand.click(page.getByRole("button", { name: /^Take in \d+ new/ }));
    await page.getByText(of.said).waitFor();
    const waited = (performance.now() - began) / 1000;
    const [first] = Object.keys(of.rows);
    const { instruments } = await ask(`/api/office/register?limit=100&q=${encodeURIComponent(first.slice(0, 4))}`);
    for (const [tag, want] of Object.entries(of.rows)) {
      const got = instruments.find((i) => i.tag === tag);
      assert.ok(got, `${tag} is not there: ${instruments.map((i) => i.tag).join(" ")}`);
      for (const [member, value] of Object.entries(want))
        assert.equal(String(got[member] ?? got.range[member]), String(value), `${tag}, ${member}`);
    }
    const person = `${hand.seconds.toFixed(0)} s of a person`;
    console.log(`${of.language}: ${person}`, hand.count, `${waited.toFixed(0)} s on this machine`);
    assert.ok(hand.seconds <= most, `${of.language} takes ${person}, more than ${most}`);
    await page.context().close();
  });
