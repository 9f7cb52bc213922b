// Programmes that people write themselves: a newcomer's path from nothing to a started programme,
// and a run that is interrupted at every step and ends with the same captures as one that is not.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { Plant } from "./plant.mjs";
import { asPerson, Pocket, snap, sound } from "./pocket.mjs";
import { onward, prepare, stroke } from "./visit.mjs";
import { saw, walk } from "./walk.mjs";

let plant;
let pocket;
let page;
let touches = 0;

// The clock of the page can be moved. A reload keeps its time.
const movable = () => {
  const real = Date;
  const shift = () => Number(localStorage.getItem("shift") ?? 0);
  class Moved extends real {
    constructor(...args) {
      if (args.length === 0) super(real.now() + shift());
      else super(...args);
    }
    static now() {
      return real.now() + shift();
    }
  }
  globalThis.Date = Moved;
};

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  page = await pocket.begin(plant.someone("technician"));
  page.setDefaultTimeout(60000);
  await page.locator("main a[href^='/instrument/']").first().waitFor({ timeout: 120000 });
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
});

const picture = (name) => snap(page, name);
const touch = async (locator) => {
  touches++;
  await locator.click();
};
const press = (name) => page.getByRole("button", { name, exact: true }).first();
const bar = () => page.getByRole("button", { name: /^Start on .* bar gauge/ }).first();

test("a newcomer writes, checks, saves and starts the smallest useful programme in under two minutes", async () => {
  touches = 0;
  const began = performance.now();
  await touch(page.getByRole("link", { name: "Programmes" }));
  await touch(press("New programme"));
  touches++;
  await page.getByLabel("Name", { exact: true }).fill("Half a bar and back");
  await page.getByText("No errors or warnings.").waitFor();
  assert.equal(await page.getByLabel("Steps as text").inputValue(), "unit bar gauge\nset 0.5\nhold 5 s\nvent\n");
  await touch(press("Save draft"));
  await page.getByText("Saved as your draft").waitFor();
  await touch(bar());
  await page.getByRole("heading", { name: "Before any pressure" }).waitFor();
  const seconds = (performance.now() - began) / 1000;
  console.log(`the newcomer's way: ${seconds.toFixed(1)} s by machine, ${touches} touches and a name of 19 letters`);
  assert.ok(seconds < 120, `${seconds} s`);
  assert.ok(touches <= 8, `${touches} touches`);
});

test("the check's findings are at their lines, and the list changes the text", async () => {
  await page.goto(`${plant.url}/programmes`);
  await page.getByRole("link", { name: /Half a bar/ }).click();
  const text = page.getByLabel("Steps as text");
  await text.fill("unit bar gauge\nset 0.5\nread p1 from gauge\n");
  await page.getByRole("button", { name: /Error, line 3: the programme can end here/ }).waitFor();
  await page.getByRole("button", { name: /Warning, line 3: .*without a hold/ }).waitFor();
  await press("Save draft").click();
  await page.getByRole("alert").getByText("The check found an error").waitFor();
  const list = page.getByRole("region", { name: "Steps as a list" });
  await list.getByRole("button", { name: "set 0.5", exact: true }).click();
  await list.getByLabel("Pressure", { exact: true }).fill("0,7");
  await list.getByRole("button", { name: "Apply" }).click();
  await list.getByRole("button", { name: "set 0.7", exact: true }).waitFor();
  await list.getByLabel("Add a step").last().selectOption("vent");
  await list.getByRole("button", { name: "Add a step" }).last().click();
  await list.getByRole("button", { name: "vent", exact: true }).click();
  await list.getByRole("button", { name: "Duplicate: vent" }).click();
  await page.waitForFunction(() => document.querySelector("textarea").value.endsWith("vent\nvent\n"));
  await list.getByRole("button", { name: "Delete: vent" }).first().click();
  await page.waitForFunction(() => /gauge\nvent\n$/.test(document.querySelector("textarea").value));
  await list.getByRole("button", { name: "read p1 from gauge", exact: true }).click();
  await list.getByRole("button", { name: "Down: read p1 from gauge" }).click();
  await page.waitForFunction(
    () => document.querySelector("textarea").value === "unit bar gauge\nset 0.7\nvent\nread p1 from gauge\n",
  );
  await page.getByRole("region", { name: "Dry run" }).getByText("Nothing is saved").waitFor();
  await sound(page, "a programme");
  await picture("editor");
  await page.goto(`${plant.url}/programmes`);
  await page.getByRole("link", { name: /Half a bar/ }).waitFor();
  await sound(page, "programmes");
  await picture("programmes");
});

test("a long programme is glanced at while somebody types, and its list comes in pieces", async () => {
  await page.goto(`${plant.url}/programmes`);
  await press("New programme").click();
  const lines = Array.from({ length: 900 }, (_, i) => `set ${(i % 9) + 1} at 0.5/s\nhold 30 s\n`);
  const text = `unit bar gauge\n${lines.join("")}vent\n`;
  const box = page.getByLabel("Steps as text");
  await box.evaluate((area, all) => {
    Object.getOwnPropertyDescriptor(HTMLTextAreaElement.prototype, "value").set.call(area, all);
    area.dispatchEvent(new Event("input", { bubbles: true }));
  }, text);
  await page.getByText("No errors or warnings.").waitFor();
  const list = page.getByRole("region", { name: "Steps as a list" });
  await list.getByRole("button", { name: "Steps 101 to 200" }).click();
  assert.equal(await list.locator("li").count(), 100);
  await list.getByRole("button", { name: "hold 30 s", exact: true }).first().click();
  await list.getByRole("button", { name: "Delete: hold 30 s" }).click();
  await page.waitForFunction(
    (n) => document.querySelector(".programme-text textarea").value.split("\n").length === n,
    text.split("\n").length - 1,
  );
  const shorter = text.split("\n").filter((_, i) => i !== 100);
  assert.deepEqual(
    (await box.inputValue()).split("\n"),
    shorter,
    "the step that was deleted in the second piece is gone, and no other",
  );
  await list.getByRole("button", { name: "Steps 1 to 100" }).waitFor();
  await box.press("ControlOrMeta+End");
  await box.pressSequentially("vnt");
  await page.getByText(/"vnt" is not a step/).waitFor();
  assert.deepEqual(pocket.faults, []);
});

test("files are checked like any other foreign data", async () => {
  await page.goto(`${plant.url}/programmes`);
  const give = (body) =>
    page
      .locator("input[type=file]")
      .setInputFiles({ name: "p.json", mimeType: "application/json", buffer: Buffer.from(body) });
  await give("{");
  await page.getByRole("alert").getByText("not a programme of this application").waitFor();
  const wrap = (definition) => JSON.stringify({ gaugewright: "programme", name: "Foreign", definition });
  await give(wrap({ kind: "programme", text: "vent", surprise: 1 }));
  await page.getByRole("alert").getByText("refused").waitFor();
  await give(wrap({ kind: "programme", text: "fly to the moon" }));
  await page.getByRole("alert").getByText("fly").waitFor();
  await give(
    wrap({ kind: "programme", text: "unit bar gauge\nset 0.5\nvent\n", rules: [{ name: "stands", when: "1 > 0" }] }),
  );
  await page.getByText("Read from a file and checked").waitFor();
  assert.equal(await page.getByLabel("Name", { exact: true }).inputValue(), "Foreign");
});

const branched =
  'unit bar gauge\nset 0.5\nhold 1 s\nread p1 from gauge\nif p1 > 0.45 {\n  set 0.8\n  read p2 from gauge\n  settle within 0.01 for 1 s, at most 600 s\n} else {\n  note "low"\n}\nask "Was it quiet?" as yes into quiet\nvent\n';

/** begin writes a programme once and starts it on the first suitable instrument. */
async function begin(name, steps = branched) {
  await page.goto(`${plant.url}/programmes`);
  const there = page.getByRole("link", { name: new RegExp(name) });
  await page.getByRole("heading", { name: "Programmes" }).waitFor();
  await press("New programme").waitFor(); // the list is read
  if ((await there.count()) > 0) await there.click();
  else {
    await press("New programme").click();
    await page.getByLabel("Name", { exact: true }).fill(name);
    await page.getByLabel("Steps as text").fill(steps);
    await page.getByText(/without the time for reading|some rates are not known/).waitFor();
    await press("Save draft").click();
    await page.getByText("Saved as your draft").waitFor();
  }
  await bar().click();
  await prepare(page);
  await press("Target reached").waitFor(); // the run is saved; a reload before that shows its start again
  return page.url().split("/").pop();
}

/** work does every step of the run; between(n) is called before each screen. */
async function work(between) {
  const settling = ["0.8", "0.801"];
  let settled = 0;
  let lately = 0;
  let drawn = "";
  let n = 0;
  await walk(
    () => page,
    ({ text }) => {
      if (text.includes("stays within") && !text.includes("p2, at")) {
        if (settled > 0 && Date.now() - lately < 1200) return undefined; // a settling is read over more than its second
        lately = Date.now();
        return settling[settled++ % 2];
      }
      if (text.includes("Reason for reading early")) return undefined; // the wait of a second is not over
      return text.includes("p2, at") ? "0.79" : "0.51";
    },
    async ({ kept }) => {
      if (kept === "" || kept === drawn) return false;
      drawn = kept;
      await between(n++);
      return true;
    },
  );
  await press("Close this run").click();
}

/** captures gives the captures of a visit's runs, in the order of writing. */
function captures(visit) {
  return page.evaluate(
    (parent) =>
      new Promise((resolve, fail) => {
        const opening = indexedDB.open("gaugewright");
        opening.onerror = () => fail(opening.error);
        opening.onsuccess = () => {
          const asked = opening.result.transaction("records").objectStore("records").index("parent").getAll(parent);
          asked.onerror = () => fail(asked.error);
          asked.onsuccess = () => {
            opening.result.close();
            const runs = asked.result.filter((r) => r.kind === "run");
            resolve(
              runs.flatMap((r) =>
                Object.entries(r.state.fields)
                  .filter(([f]) => f.startsWith("capture.") || f.startsWith("done."))
                  .map(([f, s]) => [
                    s.heads[0].stamp,
                    f.startsWith("done.")
                      ? f
                      : `${s.heads[0].value.step} ${s.heads[0].value.of} ${s.heads[0].value.value} ${s.heads[0].value.unit}`,
                  ])
                  .sort((a, b) => (a[0] < b[0] ? -1 : 1))
                  .map(([, said]) => said),
              ),
            );
          };
        };
      }),
    visit,
  );
}

test("a run that is interrupted at every step ends with the same captures", async () => {
  const plain = await begin("With a branch");
  await work(async () => {});
  await page.getByText("With a branch").or(page.getByRole("heading")).first().waitFor();
  const want = await captures(plain);
  assert.ok(want.includes("l7.1 indicated 0.79 bar"), want.join("\n"));

  await pocket.context.addInitScript(movable);
  const cut = await begin("With a branch");
  let said = 0;
  await work(async (n) => {
    if (n % 3 === 1) await pocket.context.setOffline(true);
    if (n % 3 === 2)
      await page.evaluate((ms) => localStorage.setItem("shift", String(ms)), n % 2 === 0 ? -3_600_000 : 0);
    await page.reload();
    if (n % 3 === 1) await pocket.context.setOffline(false);
    await page.locator(".visit-where").waitFor();
    if ((await page.locator("main").innerText()).includes("p1 = 0.51 is above 0.45")) said++;
  });
  await page.evaluate(() => localStorage.removeItem("shift"));
  const got = await captures(cut);
  const plainOf = (list) => list.filter((x) => !x.includes("settle") && !x.startsWith("done.l8"));
  assert.deepEqual(plainOf(got), plainOf(want), "apart from how often the settling was looked at over a moved clock");
  assert.ok(said > 0, "the reason of the branch was shown");
  assert.deepEqual(pocket.faults, []);
});

test("a logger's file decides a wait for rest: the run continues from the sample at which the pressure had settled, with the reason", async () => {
  const visit = await begin(
    "Rest by a logger",
    "unit bar gauge\nset 0.5\nsettle within 0.01 for 20 s, at most 600 s\nread p1 from gauge\nvent\n",
  );
  await press("Target reached").click();
  await page.getByText("stays within").first().waitFor();
  await press("Take it from a logger's file").click();
  const rows = ["t [s],p [bar]"];
  for (let i = 0; i < 90; i++) rows.push(`${i},${(0.5 - 0.2 * Math.exp(-i / 10)).toFixed(5)}`);
  await page
    .locator("input[type=file]")
    .setInputFiles({ name: "rest.csv", mimeType: "text/csv", buffer: Buffer.from(rows.join("\n")) });
  await page.getByText("Check each column").waitFor();
  await page.getByLabel("gauge: zero when vented").check();
  await press("These columns are right: read the file").click();
  await page.getByText(/rows are used/).waitFor();
  await press("Use this record").click();
  await saw(page, /rest.csv/);
  await page.getByText("p1, at the instrument").first().waitFor(); // the wait is over
  await picture("rest by a logger");
  await walk(
    () => page,
    () => "0.5",
  );
  await press("Close this run").click();
  await page.getByText("As found: result").waitFor();
  assert.ok(
    (await captures(visit)).some((c) => /^l3\.1 trace /.test(c)),
    "the record stands among the captures",
  );
  assert.deepEqual(pocket.faults, []);
});

test("after the office sent the visit back, a photo that answers a question is replaced; both are kept", async () => {
  const visit = await begin(
    "A plate",
    'unit bar gauge\nset 0.5\nhold 1 s\nask "Photograph the plate" as photo into plate\nvent\n',
  );
  const shot = (color) =>
    page.evaluate((c) => {
      const canvas = document.createElement("canvas");
      canvas.width = canvas.height = 60;
      const draw = canvas.getContext("2d");
      draw.fillStyle = c;
      draw.fillRect(0, 0, 60, 60);
      return canvas.toDataURL("image/png").split(",")[1];
    }, color);
  const give = async (where, color) =>
    where.setInputFiles({ name: "plate.png", mimeType: "image/png", buffer: Buffer.from(await shot(color), "base64") });
  await walk(
    () => page,
    () => "0.5",
    async () => {
      const asked = page.locator(".typed input[type=file]");
      if ((await asked.count()) === 0) return false;
      await give(asked, "black");
      await asked.waitFor({ state: "detached" });
      return true;
    },
  );
  await press("Close this run").click();
  await page.getByText("As found: result").waitFor();
  await onward(page);
  const sign = async () => {
    await press("To the signature").click();
    await stroke(page);
    await press("Sign").click();
    await page.getByRole("heading", { name: "Signed" }).waitFor();
    await page.getByText("All work sent").waitFor({ timeout: 90000 });
  };
  await sign();
  const office = await asPerson(plant, plant.someone("reviewer"));
  /** arrived waits for the signed visit: the line that says that all is sent may be a moment old. */
  const arrived = async () => {
    for (let i = 0; i < 240; i++) {
      const seen = await office(`/api/office/visits/${visit}`);
      if (seen.status === "signed") return seen;
      await new Promise((done) => setTimeout(done, 250));
    }
    throw new Error("the signed visit does not come");
  };
  await arrived();
  await office(`/api/office/visits/${visit}/return`, "POST", { remark: "The plate cannot be read." });
  await page.getByText("The plate cannot be read.").waitFor({ timeout: 90000 });
  await page.locator(".corrections summary").first().click();
  await page
    .locator(".corrections .before li")
    .filter({ hasText: "Photograph the plate" })
    .getByRole("button", { name: "Correct" })
    .click();
  await page.getByLabel("Reason", { exact: true }).fill("Taken again by daylight");
  await give(page.locator(".correcting input[type=file]"), "white");
  await page.locator(".correcting").waitFor({ state: "detached" }); // the photo is kept, and the run judged again
  await page.locator(".corrections summary").first().waitFor();
  await sign();
  const seen = await arrived();
  const photos = Object.entries(seen.runs[0].fields).flatMap(([f, v]) =>
    f.startsWith("capture.") && /^[0-9a-f]{64}$/.test(v.heads[0].value.value) ? [v.heads[0].value] : [],
  );
  assert.deepEqual(photos.map((c) => c.reason ?? "").sort(), ["", "Taken again by daylight"]);
  assert.notEqual(photos[0].value, photos[1].value);
  for (const c of photos) assert.ok((await office(`/api/blobs/${c.value}`)).length > 100, "the photo is there");
  assert.ok(!seen.attention.includes("recomputed"), JSON.stringify(seen.attention));
  assert.deepEqual(pocket.faults, []);
});
