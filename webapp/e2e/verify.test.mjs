// The page where anybody checks a certificate, in a browser that nobody has logged in with.
import assert from "node:assert/strict";
import { writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { chromium } from "playwright-core";
import { flags, Plant } from "./plant.mjs";
import { snap } from "./pocket.mjs";

let plant;
let browser;
let page;
const forms = {};
const place = (name) => join(tmpdir(), `gaugewright-verify-${process.pid}-${name}`);

before(async () => {
  plant = await Plant.make();
  const who = plant.someone("reviewer");
  const login = await fetch(`${plant.url}/api/login`, {
    method: "POST",
    headers: { "content-type": "application/json", origin: plant.url },
    body: JSON.stringify({ name: who.name, password: who.password }),
  });
  const headers = { authorization: `Bearer ${(await login.json()).access}` };
  const get = (path) => fetch(plant.url + path, { headers });
  let certificate;
  for (let back = 1; !certificate && back < 120; back++) {
    const date = new Date(Date.now() - back * 86400000).toISOString().slice(0, 10);
    const day = await (await get(`/api/office/day?date=${date}`)).json();
    for (const v of day.visits) {
      certificate ??= (await (await get(`/api/office/visits/${v.id}`)).json()).certificates[0];
    }
  }
  assert.ok(certificate, "the plant has a certificate");
  for (const kind of ["pdf", "xml", "record"]) {
    forms[kind] = Buffer.from(await (await get(`/api/certificates/${certificate.id}.${kind}`)).arrayBuffer());
  }
  forms.number = certificate.number;
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: flags });
  page = await browser.newPage();
  await page.goto(`${plant.url}/verify`);
});

after(async () => {
  await browser?.close();
  await plant?.remove();
});

async function choose(kind, bytes) {
  const file = place(kind === "record" ? "record.json" : `certificate.${kind}`);
  writeFileSync(file, bytes);
  await page.locator("input[type=file]").last().setInputFiles(file);
}

test("each form of a certificate holds", async () => {
  for (const [kind, says] of [
    ["pdf", "The PDF is as the laboratory signed it."],
    ["xml", "The XML and the paper in it are as the laboratory signed them."],
    ["record", "The record is as the laboratory signed it."],
  ]) {
    await choose(kind, forms[kind]);
    await page.locator("section.good", { hasText: says }).waitFor();
    await page.locator("dd", { hasText: forms.number }).first().waitFor();
  }
  await choose("pdf", forms.pdf);
  await page.locator("section.good").waitFor();
  await snap(page, "verify-good", [360, 390, 1440]);
});

test("an altered one does not", async () => {
  for (const kind of ["pdf", "xml", "record"]) {
    const bytes = Buffer.from(forms[kind]);
    bytes[bytes.length >> 1] ^= 1;
    await choose(kind, bytes);
    await page.locator("section.bad", { hasText: "This does not hold." }).waitFor();
    await page.reload();
  }
  await choose("pdf", Buffer.from("%PDF-1.4\nno seal\n"));
  await page.locator("section.bad", { hasText: "has no seal" }).waitFor();
  await snap(page, "verify-bad", [360]);
});

test("a scanned code opens the page, and nothing behind the # is sent", async () => {
  const asked = [];
  page.on("request", (r) => asked.push(r.url()));
  const at = forms.pdf.lastIndexOf("\n%gaugewright-seal ");
  const seal = JSON.parse(Buffer.from(forms.pdf.subarray(at + 19).toString().split(" ")[0], "base64url").toString());
  await page.goto("about:blank");
  await page.goto(`${plant.url}/verify#${seal.code}`);
  await page.locator("section.good", { hasText: "The code is genuine." }).waitFor();
  assert.ok(asked.some((u) => u.endsWith("/api/verify")));
  for (const url of asked) assert.ok(!new URL(url).pathname.includes("gw1") && new URL(url).search === "", url);
  await page.goto("about:blank");
  await page.goto(`${plant.url}/verify#${seal.code.replace(/\.P/, ".F")}`);
  await page.locator("section.bad", { hasText: "None of this laboratory's keys signed it." }).waitFor();
});
