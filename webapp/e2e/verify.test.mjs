// The page where anybody checks a certificate, in a browser without a log-in.
import assert from "node:assert/strict";
import { createPrivateKey, sign } from "node:crypto";
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import AxeBuilder from "@axe-core/playwright";
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

test("each form of a certificate verifies", async () => {
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

test("an altered certificate does not verify", async () => {
  for (const kind of ["pdf", "xml", "record"]) {
    const bytes = Buffer.from(forms[kind]);
    bytes[bytes.length >> 1] ^= 1;
    await choose(kind, bytes);
    await page.locator("section.bad", { hasText: "Not valid." }).waitFor();
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

// The papers that the server's package signs and freezes, with the key of RFC 8037 appendix A.1, whose
// private half is there too: so a list of keys and replaced certificates can be signed here.
const frozen = (name) => readFileSync(new URL(`../../testdata/papers/${name}`, import.meta.url));
const ofRfc = createPrivateKey({
  format: "jwk",
  key: {
    kty: "OKP",
    crv: "Ed25519",
    d: "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A",
    x: "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo",
  },
});

/** listed gives the frozen list as a laboratory would sign it that changed something in it. */
function listed(change = () => {}) {
  const file = JSON.parse(frozen("list.json"));
  const list = JSON.parse(Buffer.from(file.payload, "base64url"));
  change(list);
  const payload = Buffer.from(JSON.stringify(list)).toString("base64url");
  const signature = sign(null, Buffer.from(`${file.protected}.${payload}`), ofRfc).toString("base64url");
  return `${JSON.stringify({ payload, protected: file.protected, signature })}\n`;
}

const ended = (until) => (list) => {
  list.replaced = [];
  Object.assign(list.keys[0], { until, why: "the device was lost" });
};

const flipped = () => {
  const bytes = Buffer.from(frozen("certificate.pdf"));
  bytes[bytes.length >> 1] ^= 1;
  return bytes;
};

/** What is checked, with what the page says of it in English and in German. */
const shown = [
  {
    name: "good",
    list: listed((l) => {
      l.replaced = [];
    }),
    file: frozen("certificate.pdf"),
    as: "section.good",
    says: ["The PDF is as the laboratory signed it.", "Das PDF ist so, wie das Labor es unterschrieben hat."],
  },
  {
    name: "replaced",
    list: listed(),
    file: frozen("certificate.pdf"),
    as: "section.mixed",
    says: [
      "No longer valid: certificate 2026-00011 replaces this one.",
      "Nicht mehr gültig: Kalibrierschein 2026-00011 ersetzt diesen.",
    ],
  },
  {
    name: "altered",
    list: listed(),
    file: flipped(),
    as: "section.bad",
    says: ["It was altered after it was signed.", "Es wurde nach der Unterschrift verändert."],
    untold: true,
  },
  {
    name: "key-ended-later",
    list: listed(ended("2026-05-01T00:00:00Z")),
    file: frozen("certificate.pdf"),
    as: "section.good",
    says: ["is out of use since 2026-05-01: the device was lost.", "ist seit 2026-05-01 außer Gebrauch: the device was lost."],
  },
  {
    name: "key-revoked",
    list: listed(ended("2026-02-01T00:00:00Z")),
    file: frozen("certificate.pdf"),
    as: "section.bad",
    says: ["Do not rely on it", "Nicht darauf verlassen"],
  },
  {
    name: "list-altered",
    list: listed().replace(/.{20}"\}\n$/, 'AAAAAAAAAAAAAAAAAAAA"}\n'),
    file: frozen("certificate.pdf"),
    as: "section.mixed",
    says: ["The laboratory's list of keys", "Die Schlüsselliste des Labors"],
    untold: true,
  },
  {
    name: "code",
    list: listed((l) => {
      l.replaced = [];
    }),
    code: frozen("code.txt").toString().trim(),
    as: "section.good",
    says: ["The code is genuine.", "Der Code ist echt."],
  },
];

for (const locale of ["en-GB", "de-DE"])
  for (const colorScheme of ["light", "dark"])
    for (const [width, height] of [
      [360, 640],
      [1440, 900],
    ])
      test(`what is checked is said plainly: ${locale}, ${colorScheme}, ${width} wide`, async () => {
        const german = locale.startsWith("de") ? 1 : 0;
        const context = await browser.newContext({ locale, colorScheme, viewport: { width, height } });
        const looked = await context.newPage();
        looked.setDefaultTimeout(20000);
        let list = "";
        await context.route("**/api/verify", (route) => route.fulfill({ body: list, contentType: "application/json" }));
        await looked.goto(`${plant.url}/verify`);
        assert.equal(await looked.locator("html").getAttribute("lang"), german ? "de" : "en");
        const sound = async (name) => {
          const { violations } = await new AxeBuilder({ page: looked }).analyze();
          assert.deepEqual(
            violations.map((v) => [v.id, v.nodes[0].failureSummary]),
            [],
            name,
          );
          const over = await looked.evaluate(() => document.documentElement.scrollWidth - innerWidth);
          assert.ok(over <= 0, `${name} is ${over} px wider than the screen`);
          const { SHOTS } = process.env;
          if (!SHOTS) return;
          mkdirSync(SHOTS, { recursive: true });
          await looked.screenshot({ path: join(SHOTS, `verify-${name}-${locale}-${colorScheme}-${width}.png`), fullPage: true });
        };
        await sound("begun");
        for (const s of shown) {
          list = s.list;
          if (s.code) await looked.evaluate((code) => location.assign(`#${code}`), s.code);
          else await looked.locator("input[type=file]").last().setInputFiles(under(s.name, s.file));
          await looked.locator(s.as, { hasText: s.says[german] }).waitFor();
          await looked.locator("dd", { hasText: "2026-00007" }).first().waitFor({ state: s.untold ? "detached" : "visible" });
          await sound(s.name);
        }
        await context.setOffline(true);
        await context.unroute("**/api/verify");
        await looked.locator("input[type=file]").last().setInputFiles(under("offline", frozen("certificate.pdf")));
        await looked.locator("section.good", { hasText: german ? "jetzt besteht keine Verbindung" : "there is no connection now" }).waitFor();
        await sound("offline");
        await looked.evaluate(() => localStorage.clear());
        await looked.locator("input[type=file]").last().setInputFiles(under("unreached", frozen("certificate.pdf")));
        await looked.locator("section.mixed", { hasText: german ? "konnten nicht geholt werden" : "could not be fetched" }).waitFor();
        await sound("unreached");
        await context.close();
      });

/** under keeps a file to be chosen, by the name of what is tried with it. */
function under(name, bytes) {
  const file = place(`${name}.pdf`);
  writeFileSync(file, bytes);
  return file;
}
