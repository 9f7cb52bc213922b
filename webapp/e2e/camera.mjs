// A fake camera: Chromium shows a picture as if it was in front of the phone.
import { readFileSync, writeFileSync } from "node:fs";
import { PNG } from "pngjs";

const width = 640;
const height = 480;

/**
 * film writes a picture as a short uncompressed film, in the middle of a grey wall, and gives the
 * browser's flag for it.
 */
export function film(file, png) {
  const picture = PNG.sync.read(Buffer.isBuffer(png) ? png : readFileSync(png));
  const scale = Math.min(360 / picture.width, 360 / picture.height);
  const w = Math.round(picture.width * scale);
  const h = Math.round(picture.height * scale);
  const luma = Buffer.alloc(width * height, 150);
  for (let y = 0; y < h; y++) {
    for (let x = 0; x < w; x++) {
      const from = (Math.floor(y / scale) * picture.width + Math.floor(x / scale)) * 4;
      const ink = picture.data[from + 3] < 128 ? 255 : picture.data[from];
      luma[(y + Math.floor((height - h) / 2)) * width + x + Math.floor((width - w) / 2)] =
        16 + Math.round((ink * 219) / 255);
    }
  }
  const frame = Buffer.concat([Buffer.from("FRAME\n"), luma, Buffer.alloc((width * height) / 2, 128)]);
  writeFileSync(
    file,
    Buffer.concat([Buffer.from(`YUV4MPEG2 W${width} H${height} F30:1 Ip A1:1 C420jpeg\n`), ...Array(10).fill(frame)]),
  );
  return `--use-file-for-fake-video-capture=${file}`;
}
