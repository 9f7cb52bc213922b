// Every screen that a technician sees, checked against the accessibility rules by day and by night
// on a phone, along a visit with everything in it: typed values survive a reload, a full disk loses
// nothing, the standard's own value, an adjustment, and a visit that the office sent back.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PNG } from "pngjs";
import { Plant } from "./plant.mjs";
import { asPerson, Pocket, snap, sound } from "./pocket.mjs";
import { atSizes } from "./sizes.mjs";
import { hand, prepare, run, stroke } from "./visit.mjs";
import { more, saw } from "./walk.mjs";

let plant;
let pocket;
let page;
let visit;

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const { press } = hand(() => page);
const heading = (name) => page.getByRole("heading", { name }).first().waitFor();

test("the screens before a visit", async () => {
  page = await pocket.open();
  await page.goto(plant.url);
  await page.getByLabel("Password").waitFor();
  await sound(page, "log-in");
  await pocket.close();
  page = await pocket.begin(plant.someone("technician"));
  await page.locator("main a[href^='/instrument/']").first().waitFor({ timeout: 120000 });
  await sound(page, "round");
  await page.goto(`${plant.url}/find`);
  await page.locator(".rows li").first().waitFor();
  await sound(page, "find");
  await press("Scan a tag");
  await page.locator("video").waitFor();
  await sound(page, "scanner");
  await page.goto(`${plant.url}/device`);
  await page.getByText("MB used").waitFor();
  await sound(page, "device");
  await page.goto(`${plant.url}/round`);
  await page.locator("main a[href^='/instrument/']").first().click();
  await page.getByText("As-found history").waitFor();
  await sound(page, "instrument");
  await press("Change: Note");
  await page.locator(".change").waitFor();
  await sound(page, "instrument, note");
});

test("the stages up to the first reading", async () => {
  await press("Start visit");
  await prepare(page, async (stage) => {
    if (stage === "before as found") {
      const drawing = page.getByRole("img", { name: /^Drawing, from the pressure source on: Pressure source/ });
      await drawing.waitFor();
      await page.getByRole("listitem").getByText("Instrument under test").waitFor();
      await atSizes(page, "how to connect");
      await snap(page, "stages-connect");
    }
    await sound(page, stage);
    if (stage === "surroundings") {
      await page.getByLabel("Standard above the instrument").fill("-0,4");
      await press("Next");
      await page.getByRole("alert").getByText("choose one").waitFor();
      await page.reload(); // what is typed is there again
      await page.getByRole("radio", { name: "Oil" }).check();
      await page.getByLabel("Density of the fluid").fill("870");
      await sound(page, "surroundings with a column");
      assert.equal(await page.getByLabel("Standard above the instrument").inputValue(), "-0,4");
      await page.getByLabel("Standard above the instrument").fill("");
    }
  });
  visit = new URL(page.url()).pathname.split("/").pop();
  await page.locator(".visit-where").waitFor();
  await sound(page, "exercise");
});

let shown;

test("a half-typed value survives a reload, a full disk loses nothing, the standard's own value is kept too", async () => {
  const here = new Error("the first point above zero");
  const stop = (asked) => {
    if (asked > 0) throw Object.assign(here, { asked });
  };
  await assert.rejects(
    run(() => page, String, undefined, stop),
    here,
  );
  const { asked } = here;
  const times = (x) => String(Number((asked * x).toPrecision(6))); // as a person would type it
  const pad = () => page.locator(".pad input");
  const keep = () => page.getByRole("button", { name: /^Keep .*\d/ }).click();
  await pad().fill(times(3));
  await page.getByText("far from the step").or(page.getByText("outside the instrument's range")).first().waitFor();
  await sound(page, "a doubtful value");

  await pocket.close();
  page = await pocket.open();
  const devtools = await page.context().newCDPSession(page);
  // A browser caches the amount of free space for half a minute, so the disk is full from the
  // browser's start.
  await devtools.send("Storage.overrideQuotaForOrigin", { origin: plant.url, quotaSize: 1 });
  await page.goto(`${plant.url}/visit/${visit}`);
  await pad().waitFor();
  assert.equal(await pad().inputValue(), times(3), "the typed value is there again");
  assert.equal(
    await page.getByRole("button", { name: "Skip this" }).count(),
    0,
    "the value before the tap, once passed over, is not asked for again",
  );
  await press("The standard shows another value");
  shown = times(1.01);
  await page.getByLabel("The standard shows", { exact: true }).fill(shown);
  const why = page.getByLabel(/^Why it is read|^Reason/);
  await keep();
  await why.or(page.getByRole("alert").getByText("NOT kept")).first().waitFor();
  if ((await why.count()) > 0) {
    await why.fill("browser test");
    await keep();
  }
  await page.getByRole("alert").getByText("NOT kept").waitFor();
  await sound(page, "a full disk");
  await devtools.send("Storage.overrideQuotaForOrigin", { origin: plant.url, quotaSize: 1e9 });
  await keep();
  await page.getByLabel("The standard shows", { exact: true }).waitFor({ state: "detached" });
  await saw(page, /the standard/);
  await pad().fill(String(asked));
  await page.locator(".preview .limit-band").waitFor();
  await sound(page, "a reading");
  await run(() => page, String);
  await more(page, "Correct the last value");
  await page.getByText("stays on record").waitFor();
  await sound(page, "correcting");
  await press("Cancel");
  await more(page, "Stop");
  await page.getByText("Vent the system").waitFor();
  await sound(page, "stopping");
  await page.locator(".visit-foot").getByRole("button", { name: "Back" }).click();
  await page.getByText("All values are in").waitFor();
  await sound(page, "all values are there");
  await press("Close this run");
  await page.getByText("As found: result").waitFor();
});

test("an adjustment, its as-left run, remark, photo with caption, signature", async () => {
  await page.getByLabel("Yes: run again, as left").check();
  await page.getByLabel("What was adjusted").fill("Pointer set anew");
  await sound(page, "as found");
  await page.reload();
  await page.getByLabel("Yes: run again, as left").check();
  assert.equal(await page.getByLabel("What was adjusted").inputValue(), "Pointer set anew");
  await press("Next");
  await heading("Start: As left");
  await sound(page, "before as left");
  await press("Start: As left");
  await run(() => page, String);
  await press("Close this run");
  await page.getByText("As left: result").waitFor();
  const photo = new PNG({ width: 64, height: 48 });
  photo.data.fill(120);
  await page
    .locator("input[type=file]")
    .setInputFiles({ name: "gauge.png", mimeType: "image/png", buffer: PNG.sync.write(photo) });
  await page.getByRole("img", { name: "Photo without a caption" }).waitFor();
  await page.getByLabel("What the photo shows").fill("The pointer after it was set");
  await page.getByLabel("Remark").fill("Set on site.");
  await sound(page, "remark and photo");
  await page.reload();
  assert.equal(await page.getByLabel("Remark").inputValue(), "Set on site.");
  await press("Keep the remark");
  await page.locator("main p").getByText("Set on site.").waitFor();
  await press("To the signature");
  await page.getByRole("alert").getByText("caption").waitFor();
  await press("Keep the caption");
  await page.getByRole("img", { name: "Photo: The pointer after it was set" }).waitFor();
  await sign();
  await sound(page, "signed");
});

async function sign() {
  await press("To the signature");
  await page.locator(".signature svg").scrollIntoViewIfNeeded();
  await sound(page, "signature");
  await stroke(page);
  await press("Sign");
  await heading("Signed");
}

test("the office sends it back, the phone shows why, it is signed again and approved with a certificate", async () => {
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const signed = async () => {
    for (let i = 0; i < 120; i++) {
      const seen = await reviewer(`/api/office/visits/${visit}`);
      if (seen.status === "signed") return seen;
      await page.waitForTimeout(500);
    }
    throw new Error("the signed visit does not arrive");
  };
  const seen = await signed();
  const captures = seen.runs.flatMap((r) =>
    Object.entries(r.fields).flatMap(([name, f]) => (name.startsWith("capture.") ? f.heads.map((h) => h.value) : [])),
  );
  assert.deepEqual(
    captures.filter((c) => c.of === "applied").map((c) => c.value),
    [shown],
    "kept once, at the second try",
  );
  assert.deepEqual(seen.runs.map((r) => r.fields.label.heads[0].value).sort(), ["as found", "as left"]);
  await reviewer(`/api/office/visits/${visit}/return`, "POST", { remark: "Which screw was turned?" });
  await page.reload();
  await page.getByText("Which screw was turned?").waitFor({ timeout: 60000 });
  await sound(page, "returned");
  await page.goto(`${plant.url}/round`);
  await page.locator(".stops .going").first().waitFor(); // the stop is to be done again
  await page.goto(`${plant.url}/visit/${visit}`);
  await page.getByText("Which screw was turned?").waitFor();
  await page.getByLabel("Remark").fill("The zero screw.");
  await press("Keep the remark");
  await page.locator("main p").getByText("The zero screw.").waitFor();
  await sign();
  const again = await signed();
  const administrator = await asPerson(plant, plant.someone("administrator"));
  await administrator("/api/office/letterhead", "PUT", {
    name: "Harbour works laboratory",
    address: ["1 Dock Road"],
    customer: ["Works North"],
  });
  assert.equal(again.runs.length, 2, "both runs stand as they were");
  const { certificate } = await reviewer(`/api/office/visits/${visit}/approve`, "POST", { covers: again.covers, effect: "nothing was touched" });
  const pdf = await reviewer(`/api/certificates/${certificate.id}.pdf`);
  assert.equal(pdf.subarray(0, 5).toString(), "%PDF-");
  await page.reload();
  await page.getByText("The office has approved this visit.").waitFor({ timeout: 60000 });
  await sound(page, "approved");
});

test("no script failed on the way", () => {
  assert.deepEqual(pocket.faults, []);
});
