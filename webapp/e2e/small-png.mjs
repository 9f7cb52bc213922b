// A screenshot as a PNG of at most 256 colours: a page of text is a third as long that way and
// looks the same.
import { crc32, deflateSync } from "node:zlib";
import { PNG } from "pngjs";

function chunk(type, data) {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const whole = Buffer.alloc(8 + body.length);
  whole.writeUInt32BE(data.length, 0);
  body.copy(whole, 4);
  whole.writeUInt32BE(crc32(body), 4 + body.length);
  return whole;
}

/** small gives the same picture with its colours rounded until 256 are enough. */
export function small(png) {
  const { width, height, data } = PNG.sync.read(png);
  for (let bits = 8; ; bits--) {
    const keep = (0xff << (8 - bits)) & 0xff;
    const colours = new Map(); // by rounded colour: its index and the first true colour seen
    const rows = Buffer.alloc((width + 1) * height);
    let fits = true;
    for (let i = 0, y = 0; fits && y < height; y++) {
      for (let x = 0; x < width; x++, i += 4) {
        const key = ((data[i] & keep) << 16) | ((data[i + 1] & keep) << 8) | (data[i + 2] & keep);
        let known = colours.get(key);
        if (!known) {
          known = { at: colours.size, rgb: [data[i], data[i + 1], data[i + 2]] };
          colours.set(key, known);
          if (colours.size > 256) {
            fits = false;
            break;
          }
        }
        rows[y * (width + 1) + 1 + x] = known.at;
      }
    }
    if (!fits) continue;
    const head = Buffer.alloc(13);
    head.writeUInt32BE(width, 0);
    head.writeUInt32BE(height, 4);
    head.set([8, 3, 0, 0, 0], 8); // 8 bits, by palette
    const palette = Buffer.from([...colours.values()].flatMap((c) => c.rgb));
    const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
    return Buffer.concat([
      signature,
      chunk("IHDR", head),
      chunk("PLTE", palette),
      chunk("IDAT", deflateSync(rows, { level: 9 })),
      chunk("IEND", Buffer.alloc(0)),
    ]);
  }
}
