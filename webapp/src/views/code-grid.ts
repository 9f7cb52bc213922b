import qrcode from "qrcode-generator";

/**
 * The largest QR code that is offered. Version 20 has 97 modules a side, four dots each if it fills
 * most of a camera picture of 800 by 450. With three and a half dots (version 25), the client's own
 * reader misses one slightly blurred picture in three.
 */
export const mostVersion = 20;

/**
 * The signs that such a code holds after a link's beginning of usual length, for telling how much
 * too long a programme is.
 */
export const mostSigns = 1180;

/**
 * gridOf draws a link as the rows of a QR code, true for dark; undefined if it would need a larger
 * code than phones read.
 */
export function gridOf(beginning: string, signs: string): boolean[][] | undefined {
  if (signs.length > 3 * mostSigns) return undefined; // more than the largest possible code holds, or close to it
  const code = qrcode(0, "L");
  code.addData(beginning, "Byte");
  code.addData(signs, "Alphanumeric");
  code.make();
  const side = code.getModuleCount();
  if ((side - 17) / 4 > mostVersion) return undefined;
  return Array.from({ length: side }, (_, r) => Array.from({ length: side }, (_, c) => code.isDark(r, c)));
}
