import assert from "node:assert/strict";
import { test } from "node:test";
import fc from "fast-check";
import jsQR from "jsqr";
import { packed, spelled, unpacked, unspelled } from "../src/screens/programme/code";
import { gridOf, mostSigns, mostVersion } from "../src/views/code-grid";
import { definitionOf, type Draft, readFile } from "../src/records/programme";
import { readTag } from "../src/scan/tag";

const here = "https://plant.example/programmes/take#";

/** photo draws a grid as a camera sees it, slightly out of focus, on a frame of 800 by 450. */
function photo(grid: boolean[][], height: number): { data: Uint8ClampedArray; width: number; height: number } {
  const frame = { width: 800, height: 450 };
  const data = new Uint8ClampedArray(frame.width * frame.height * 4).fill(255);
  const dots = height / grid.length;
  const left = (frame.width - height) / 2 + 0.37;
  const top = (frame.height - height) / 2 + 0.21;
  const places = [-0.56, -0.19, 0.19, 0.56]; // each dot is the mean over one and a half times its own width
  for (let y = 0; y < frame.height; y++)
    for (let x = 0; x < frame.width; x++) {
      let light = 0;
      for (const dy of places)
        for (const dx of places)
          light += grid[Math.floor((y + 0.5 + dy - top) / dots)]?.[Math.floor((x + 0.5 + dx - left) / dots)] ? 40 : 215;
      const i = (y * frame.width + x) * 4;
      data.fill(light / places.length ** 2, i, i + 3);
    }
  return { data, ...frame };
}

const draft = (text: string): Draft => ({
  name: "Über 5 bar",
  text,
  rules: [{ name: "p1", low: "1,5", high: "2", unit: "", when: "", text: "" }],
});

test("bytes of any kind are written in signs of a code and come back; other texts are none", () => {
  fc.assert(
    fc.property(fc.uint8Array({ maxLength: 60 }), (bytes) => {
      const text = spelled(bytes);
      assert.match(text, /^[0-9A-Z$*+\-./:]*$/);
      assert.equal(text.length, Math.ceil((bytes.length * 3) / 2));
      assert.deepEqual([...(unspelled(text) ?? [])], [...bytes]);
    }),
  );
  for (const bad of ["0", "0000", "::", ":::", "a00", "0 0"]) assert.equal(unspelled(bad), undefined, bad);
});

test("a programme goes through a code: drawn, seen by a camera, read, judged to be a link of ours", async () => {
  const one = draft("unit bar gauge\nset 0.5\nhold 5 s\nread p1 from gauge\nvent\n");
  const grid = gridOf(here, await packed(one));
  if (!grid) return assert.fail("no code");
  const p = photo(grid, 380);
  const tag = readTag(jsQR(p.data, p.width, p.height)?.data ?? "");
  assert.equal(tag.kind, "programme");
  const body = await unpacked(tag.kind === "programme" ? tag.signs : "");
  assert.deepEqual(readFile(body ?? ""), { name: one.name, definition: definitionOf(one) });
});

test("the largest code offered is still read from a camera's picture; a longer programme has none", async () => {
  const fitted: { grid: boolean[][]; signs: string }[] = [];
  let next = 1;
  const any = () => {
    next = (next * 16807) % 2147483647;
    return next;
  };
  let text = "unit bar gauge\n";
  for (;;) {
    text += `note "${any().toString(36)} ${any().toString(36)}"\n`;
    const signs = await packed(draft(text));
    const grid = gridOf(here, signs);
    if (!grid) {
      assert.ok(signs.length > mostSigns - 60, `${signs.length} signs do not fit`);
      break;
    }
    assert.ok(signs.length <= mostSigns + 20);
    fitted.push({ grid, signs });
  }
  const last = fitted.at(-1);
  if (!last || fitted.length < 20) return assert.fail(`${fitted.length} programmes fitted`);
  assert.equal(last.grid.length, 17 + 4 * mostVersion);
  const p = photo(last.grid, 395);
  assert.equal(jsQR(p.data, p.width, p.height)?.data, here + last.signs);
});

test("damaged and foreign links give nothing, and a decompression bomb is not unpacked", async () => {
  const whole = await packed(draft("vent"));
  for (const bad of [
    "",
    "1E",
    whole.slice(1),
    whole.slice(0, -1),
    `2${whole.slice(1)}`,
    `${whole.slice(0, 20)}E`,
    `1ZZZZZZE`,
    `${whole.slice(0, -4)}E`,
    `${whole} `,
  ])
    assert.equal(await unpacked(bad), undefined, bad);
  const zeros = new Blob([new Uint8Array(3_000_000)]).stream().pipeThrough(new CompressionStream("deflate-raw"));
  const bomb = new Uint8Array(await new Response(zeros as ReadableStream<Uint8Array<ArrayBuffer>>).arrayBuffer());
  assert.equal(await unpacked(`1${spelled(bomb)}E`), undefined);
});
