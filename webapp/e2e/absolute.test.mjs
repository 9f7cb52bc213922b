// An absolute gauge on a phone without a network. The standard is a gauge-pressure one, so the
// barometer beside it is chosen, shown in the steps, signed and certified.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { after, before, test } from "node:test";
import { Plant, ready } from "./plant.mjs";
import { asPerson, kept, Pocket, snap, sound } from "./pocket.mjs";
import { hand, onward, prepare } from "./visit.mjs";
import { walk } from "./walk.mjs";

let plant;
let pocket;
let page;
let visit;

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  await ready(page);
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press, here, sign } = hand(() => page);
const plain = (text) => Number.parseFloat((text ?? "").replace("\u2212", "-").replace(",", "."));

test("a gauge-pressure standard is used with the barometer; the steps show its reading", async () => {
  await page.getByRole("link", { name: "Find" }).click();
  await page.getByRole("searchbox").fill("PX-1");
  await page.getByRole("link", { name: /PX-1/ }).first().click();
  await page.getByRole("button", { name: "Start visit" }).waitFor();
  await plant.kill(); // from here on there is no office
  await press("Start visit");
  await page.getByRole("heading", { name: "Before any pressure" }).waitFor();
  visit = here();
  await prepare(page, async (stage) => {
    if (stage !== "standard") return;
    const list = await page.locator(".standards").first().innerText();
    assert.match(list, /Test rack/);
    assert.doesNotMatch(list, /Not suitable: measures gauge pressure/, "the barometer is at hand");
    await page.getByRole("region", { name: "Barometer" }).getByRole("radio", { checked: true }).waitFor();
    await sound(page, "standard of an absolute gauge");
    await snap(page, "absolute-standard");
  });
  let shown = 0;
  await walk(
    () => page,
    (seen) => {
      const target = /(?:Raise|Lower)(?: from \S+ \S+)? to (\S+)|(?:Stay at|Set) (\S+)/.exec(seen.text);
      const bar = plain(target?.[1] ?? target?.[2]);
      const says = /The standard shows (\S+)\sbar gauge/.exec(seen.text);
      if (says) {
        shown++;
        assert.ok(Math.abs(bar - plain(says[1]) - 1.009) < 0.0002, `${bar} bar: ${says[0]}`); // 1009 hPa of air
      }
      return String(bar);
    },
    async () => false,
  );
  assert.ok(shown >= 5, `${shown} steps said what the standard shows`);
  await snap(page, "absolute-table");
  await press("Close this run");
  await page.getByText("As found: result").waitFor();
  await sound(page, "result of an absolute gauge");
  await snap(page, "absolute-result");
  const fields = await kept(page, visit);
  assert.equal(fields.standard.snapshot.name, "Test rack");
  assert.equal(fields.barometer.snapshot.name, "Barometer of the workshop");
  await onward(page);
  await sign();
});

test("the office recalculates it with the barometer's certificate, and the certificate names both devices", async () => {
  await plant.start();
  await page.goto(plant.url);
  await page.getByText("All work sent").waitFor({ timeout: 60000 });
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const seen = await reviewer(`/api/office/visits/${visit}`);
  assert.equal(seen.status, "signed");
  assert.ok(!Object.keys(seen.visit.fields).some((f) => f.startsWith("check.")), "phone and office agree");
  const finding = seen.runs[0].fields.finding.heads[0].value;
  assert.equal(finding.verdict, "pass", finding.reason);
  // The demo's barometer reads 0.07 hPa high, so the true pressure was that much below the set one.
  for (const p of finding.points)
    assert.ok(Math.abs(p.error - 0.00007) < 0.00002, `${p.point} bar: error ${p.error}, want 0.00007 bar`);
  const { certificate } = await reviewer(`/api/office/visits/${visit}/approve`, "POST", { covers: seen.covers, effect: "nothing was touched" });
  const pdf = await reviewer(`/api/certificates/${certificate.id}.pdf`);
  const text = execFileSync("pdftotext", ["-layout", "-", "-"], { input: pdf }).toString();
  assert.match(text, /Barometer of the workshop/);
  assert.match(text, /Test rack/);
  assert.match(text, /absolute/);
  assert.deepEqual(pocket.faults, []);
});
