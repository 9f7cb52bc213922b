import { isOverdue } from "../wire/records";
import type { Entry } from "./shelf";

/** What a search looks at of an entry of the register. */
export type Searched = Pick<Entry, "words"> & Partial<Pick<Entry, "packed" | "due" | "status">>;

/** The word that asks for what is overdue, and the day that it is compared with. */
export type Late = { today: string; overdue: string };

/** How an entry answers a search: not at all, but for a slip of the finger, or as it was typed. */
export type Fit = 0 | 1 | 2;

/** From how many letters on a word may have one slip, and two. */
const oneSlip = 4;
const twoSlips = 8;

/** plain writes a text in small letters without accents, with every kind of dash as a hyphen. */
export function plain(text: string): string {
  return text
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    .replace(/[\u2212\u2010-\u2015]/g, "-");
}

/** packed leaves letters and digits, so that PI-1104, PI 1104 and pi1104 are one. */
export function packed(text: string): string {
  return plain(text).replace(/[^\p{L}\p{N}]+/gu, "");
}

/**
 * slips counts what has to be put right to make one word of another: a letter that is wrong, left
 * out, too many, or two that changed places; it stops counting beyond most.
 *
 * Source: the distance of Damerau (Communications of the ACM 7, 1964, 171) in the form where no
 * part is put right twice.
 */
export function slips(a: string, b: string, most: number): number {
  if (Math.abs(a.length - b.length) > most) return most + 1;
  let two: number[] = [];
  let one = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    let least = i;
    for (let j = 1; j <= b.length; j++) {
      const same = a[i - 1] === b[j - 1] ? 0 : 1;
      let n = Math.min((one[j] ?? 0) + 1, (row[j - 1] ?? 0) + 1, (one[j - 1] ?? 0) + same);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1]) n = Math.min(n, (two[j - 2] ?? 0) + 1);
      row.push(n);
      if (n < least) least = n;
    }
    if (least > most) return most + 1;
    two = one;
    one = row;
  }
  return one[b.length] ?? 0;
}

/**
 * matcher makes the one rule by which instruments are found of what was typed: every word of it has
 * to be in the entry, or all of it without its marks, as in pi1104 or 0-10bar. A word that says
 * overdue asks for what is due before today. A word of letters may have a slip, or two if it is
 * long; one with digits may not, since another number is another instrument.
 */
export function matcher(
  search: string,
  { today, overdue }: Late = { today: "", overdue: "" },
): (entry: Searched) => Fit {
  const words = plain(search).trim().split(/\s+/).filter(Boolean);
  const late = words.includes(overdue);
  const wanted = words
    .filter((word) => word !== overdue)
    .map((word) => ({ word, short: packed(word), near: near(word) }));
  const whole = wanted.length > 1 ? packed(wanted.map((x) => x.word).join("")) : "";
  return (entry) => {
    if (late && !isOverdue(entry.due ?? "", today, (entry.status ?? "") === "")) return 0;
    const short = entry.packed ?? "";
    if (whole !== "" && short.includes(whole)) return 2;
    let fit: Fit = 2;
    for (const { word, short: own, near: close } of wanted) {
      if (entry.words.includes(word) || (own !== "" && short.includes(own))) continue;
      if (!close?.(entry.words)) return 0;
      fit = 1;
    }
    return fit;
  };
}

/** near gives what finds a word with a slip among others, each of which is compared with it once. */
function near(word: string): ((words: string) => boolean) | undefined {
  if (word.length < oneSlip || !/^\p{L}+$/u.test(word)) return undefined;
  const most = word.length < twoSlips ? 1 : 2;
  const known = new Map<string, boolean>();
  return (words) =>
    words.split(/[^\p{L}]+/u).some((other) => {
      let close = known.get(other);
      if (close === undefined) {
        close = other.length >= oneSlip - 1 && slips(word, other, most) <= most;
        known.set(other, close);
      }
      return close;
    });
}
