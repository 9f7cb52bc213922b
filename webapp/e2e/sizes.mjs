// The four sizes at which every field screen is checked: a small phone, a phone, a phone in
// landscape, and a phone with text twice as large.
import assert from "node:assert/strict";

const sizes = [
  { name: "small", width: 360, height: 640, text: "100%" },
  { name: "phone", width: 390, height: 844, text: "100%" },
  { name: "landscape", width: 844, height: 390, text: "100%" },
  { name: "large text", width: 390, height: 844, text: "200%" },
];

/** look names what is cut off, overflows the screen or is too small for a glove. */
const look = (page) =>
  page.evaluate(() => {
    const cover = document.querySelector(".cover");
    const root = cover ?? document.querySelector("main");
    const shown = (e) => e.checkVisibility({ visibilityProperty: true }) && !e.closest(".unseen, svg");
    const name = (e) => `${e.tagName.toLowerCase()}.${e.className}: ${(e.textContent ?? "").slice(0, 40)}`;
    const around = cover ? [] : [...document.querySelectorAll("header *, nav *")];
    const wrong = [];
    if (root.scrollWidth > root.clientWidth) wrong.push(`scrolls ${root.scrollWidth - root.clientWidth} px sideways`);
    for (const e of [...around, ...root.querySelectorAll("*")]) {
      if (!shown(e)) continue;
      const { left, right, width, height } = e.getBoundingClientRect();
      const framed = e.closest(".wide-table, .chart, table") !== null; // these scroll within their own frame
      if (!framed && width > 0 && (left < -1 || right > innerWidth + 1)) wrong.push(`out: ${name(e)}`);
      // The device's screen shows the line about the connection in full.
      if (e.closest(".visit-where, .sync-line") !== null) continue;
      const hides = ["hidden", "clip"].includes(getComputedStyle(e).overflowX) || e.matches(".button");
      if (hides && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1)) wrong.push(`cut: ${name(e)}`);
      if (e.matches("button, summary, .stops a, .rows a, nav a") && !framed && height < 44) wrong.push(`${Math.round(height)} px high: ${name(e)}`);
    }
    return wrong;
  });

/** atSizes checks the open screen at each of the four sizes; `at` gets the size's name. */
export async function atSizes(page, screen, at = async () => {}) {
  const before = page.viewportSize();
  const wrong = [];
  for (const { name, width, height, text } of sizes) {
    await page.setViewportSize({ width, height });
    await page.evaluate(
      (size) =>
        new Promise((done) => {
          document.documentElement.style.fontSize = size;
          requestAnimationFrame(() => requestAnimationFrame(done));
        }),
      text,
    );
    await at(name);
    for (const w of await look(page)) wrong.push(`${screen}, ${name}: ${w}`);
    if (process.env.SHOTS)
      await page.screenshot({ path: `${process.env.SHOTS}/sizes-${screen}-${name}.png`.replaceAll(" ", "-") });
  }
  await page.evaluate(() => document.documentElement.style.removeProperty("font-size"));
  if (before) await page.setViewportSize(before);
  assert.deepEqual(wrong, []);
}

/**
 * places measures the parts of the screen: each as [left, top, right, bottom], without rounding.
 */
export const places = (page) =>
  page.evaluate(() => {
    const box = (e) => {
      const r = e.getBoundingClientRect();
      return [r.left, r.top, r.right, r.bottom];
    };
    const parts = {
      line: ".frame > header",
      instruction: ".bench-head > .instruction",
      bounds: ".bench-head > .bounds",
      timer: ".timer",
      value: ".pad-value",
      verdict: ".preview .said",
      band: ".preview .limit-band, .preview .doubt",
      pad: ".pad-keys",
      main: ".bench-act .button.main",
      foot: ".bench-foot",
    };
    const found = {};
    for (const [name, selector] of Object.entries(parts)) {
      const e = [...document.querySelectorAll(selector)].find((one) => one.getClientRects().length > 0);
      if (e) found[name] = box(e);
    }
    const main = document.querySelector("main");
    const head = document.querySelector(".bench-head");
    return {
      found,
      keys: [...document.querySelectorAll(".pad-key")].map(box),
      wide: [innerWidth, innerHeight],
      scrolls: main.scrollHeight > main.clientHeight + 1 || document.documentElement.scrollHeight > innerHeight + 1,
      sideways: main.scrollWidth > main.clientWidth + 1,
      cut: head ? head.scrollHeight - head.clientHeight : 0,
    };
  });

/**
 * holds checks the open screen of a step at every size: the wanted parts, the fixed line and the
 * main button are all within the screen, do not overlap, and nothing scrolls.
 */
export async function holds(page, what, wanted) {
  for (const size of sizes) {
    await page.setViewportSize({ width: size.width, height: size.height });
    await page.evaluate((t) => (document.documentElement.style.fontSize = t), size.text);
    await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
    const seen = await places(page);
    const at = `${what}, ${size.name}`;
    for (const part of ["line", "main", ...wanted]) assert.ok(seen.found[part], `${at}: no ${part} on the screen`);
    const [w, h] = seen.wide;
    for (const [part, [l, t, r, b]] of Object.entries(seen.found))
      assert.ok(
        l >= -1 && t >= -1 && r <= w + 1 && b <= h + 1,
        `${at}: ${part} is not within the screen: ${[l, t, r, b].map(Math.round)} of ${w} x ${h}`,
      );
    const list = Object.entries(seen.found).filter(([part]) => part !== "line" && part !== "timer");
    for (const [i, [one, a]] of list.entries())
      for (const [other, b] of list.slice(i + 1))
        assert.ok(
          a[2] <= b[0] + 1 || b[2] <= a[0] + 1 || a[3] <= b[1] + 1 || b[3] <= a[1] + 1,
          `${at}: ${one} ${a.map(Math.round)} lies over ${other} ${b.map(Math.round)}`,
        );
    for (const [l, t, r, b] of seen.keys)
      assert.ok(r - l >= 55.5 && b - t >= 55.5, `${at}: a key of ${Math.round(r - l)} x ${Math.round(b - t)}`);
    assert.ok(
      seen.found.main[3] - seen.found.main[1] >= 55.5,
      `${at}: the main button is ${Math.round(seen.found.main[3] - seen.found.main[1])} high`,
    );
    assert.ok(!seen.scrolls, `${at}: the page scrolls`);
    assert.ok(!seen.sideways, `${at}: the page scrolls sideways`);
    if (wanted.includes("pad")) assert.ok(seen.cut <= 2, `${at}: ${seen.cut} px of the instruction are cut off`);
    if (process.env.SHOTS)
      for (const theme of ["day", "night"]) {
        await page.evaluate((t) => (document.documentElement.dataset.theme = t), theme);
        await page.screenshot({
          path: `${process.env.SHOTS}/anatomy-${what.replaceAll(" ", "-")}-${size.name}-${theme}.png`.replaceAll(" ", "-"),
        });
      }
  }
  await page.setViewportSize({ width: 390, height: 844 });
  await page.evaluate(() => (document.documentElement.style.fontSize = ""));
}
