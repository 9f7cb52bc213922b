// The tag on the instrument: read by the phone's camera in the program, by the phone's own camera
// app as a link, and a code that is not ours.
import assert from "node:assert/strict";
import { rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { after, before, test } from "node:test";
import { film } from "./camera.mjs";
import { Plant } from "./plant.mjs";
import { asPerson, kept, Pocket } from "./pocket.mjs";

let plant;
let pocket;
let gauge;
const file = join(tmpdir(), `gaugewright-camera-${process.pid}.y4m`);

before(async () => {
  plant = await Plant.make();
  pocket = new Pocket(plant);
  const page = await pocket.begin(plant.someone("technician"));
  await page.locator("main a[href^='/instrument/']").first().waitFor({ timeout: 120000 });
  const id = (await page.locator("main a[href^='/instrument/']").first().getAttribute("href")).split("/").pop();
  const reviewer = await asPerson(plant, plant.someone("reviewer"));
  const { label } = await kept(page, id);
  assert.match(label, /^[0-9a-z-]{4,40}$/i);
  gauge = { id, label, png: await reviewer(`/api/labels/${id}.png`) };
  await pocket.close();
});

after(async () => {
  await pocket?.remove();
  await plant?.remove();
  rmSync(file, { force: true });
});

test("the camera reads a label and opens the instrument's history", async (t) => {
  const page = await pocket.open({ args: [film(file, gauge.png)] });
  await page.goto(`${plant.url}/find`);
  await page.getByRole("button", { name: "Scan a tag" }).waitFor();
  const took = await page.evaluate(
    () =>
      new Promise((done) => {
        const began = performance.now();
        const look = () =>
          document.querySelector(".instrument .history")
            ? requestAnimationFrame(() => done(performance.now() - began))
            : requestAnimationFrame(look);
        [...document.querySelectorAll("button")].find((b) => b.textContent === "Scan a tag").click();
        look();
      }),
  );
  t.diagnostic(`from the button to the history: ${Math.round(took)} ms`);
  assert.equal(new URL(page.url()).pathname, `/instrument/${gauge.id}`);
  await page.getByText("As-found history").waitFor();
  await pocket.close();
});

test("no text becomes markup or a script of the page, and the workers run all the same", async () => {
  const page = await pocket.open({ args: [film(file, gauge.png)] });
  await page.goto(`${plant.url}/find`);
  const tried = await page.evaluate(() => {
    const refused = (work) => {
      try {
        work();
        return false;
      } catch (error) {
        return error instanceof TypeError;
      }
    };
    return {
      markup: refused(() => {
        document.createElement("p").innerHTML = "<b>x</b>";
      }),
      worker: refused(() => new Worker("/assets/other.js")),
      policy: refused(() => globalThis.trustedTypes.createPolicy("other", {})),
    };
  });
  assert.deepEqual(tried, { markup: true, worker: true, policy: true });
  await page.getByRole("button", { name: "Scan a tag" }).click();
  await page.locator(".instrument .history").waitFor();
  await pocket.close();
});

test("a foreign code is named, not followed", async () => {
  const page = await pocket.open({ args: [film(file, resolve(import.meta.dirname, "foreign.png"))] });
  await page.goto(`${plant.url}/find`);
  await page.getByRole("button", { name: "Scan a tag" }).click();
  await page.getByText("https://shop.example/offer?7").waitFor();
  assert.equal(new URL(page.url()).pathname, "/find");
  await page.getByRole("button", { name: "Stop the camera" }).click();
  await page.locator("main video").waitFor({ state: "detached" });
});

test("the link on a label opens the instrument with no server", async () => {
  const page = pocket.page;
  await plant.kill();
  await page.goto(`${plant.url}/t/${gauge.label}`);
  await page.getByText("As-found history").waitFor();
  assert.equal(new URL(page.url()).pathname, `/instrument/${gauge.id}`);
  await page.locator(".history").waitFor();
  await page.goto(`${plant.url}/t/0000-0000`);
  await page.getByText("is not on this device").waitFor();
});

test("no script failed on the way", () => {
  assert.deepEqual(pocket.faults, []);
});
