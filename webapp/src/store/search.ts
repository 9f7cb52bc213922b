import { isOverdue } from "../wire/records";
import type { Entry } from "./shelf";

/** The parts of a register's entry that a search reads. */
export type Searched = Pick<Entry, "words"> & Partial<Pick<Entry, "packed" | "due" | "status">>;

/** The word that asks for what is overdue, and the day to compare with. */
export type Late = { today: string; overdue: string };

/** How an entry matches a search: not at all, with a slip of the finger, or as typed. */
export type Fit = 0 | 1 | 2;

/** The number of letters from which a word may have one slip, and two. */
const oneSlip = 4;
const twoSlips = 8;

/** plain writes a text in lower case without accents, with every kind of dash as a hyphen. */
export function plain(text: string): string {
  return text
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    .replace(/[\u2212\u2010-\u2015]/g, "-");
}

/** packed keeps only letters and digits, so that PI-1104, PI 1104 and pi1104 are one. */
export function packed(text: string): string {
  return plain(text).replace(/[^\p{L}\p{N}]+/gu, "");
}

/**
 * slips counts the corrections that turn one word into another: a letter that is wrong, left out or
 * too many, or two that changed places. It stops counting beyond most.
 *
 * Source: the distance of Damerau (Communications of the ACM 7, 1964, 171) in the form in which no
 * part is corrected twice.
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
 * matcher makes the one rule for finding instruments by typed words: the entry must have every
 * word, or all of the text without its marks, as in pi1104 or 0-10bar. A word for overdue asks for
 * what is due before today. A word of letters may have a slip, or two if it is long. A word with
 * digits may not, since another number is another instrument.
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

/**
 * near gives a function that finds a word with a slip among others. It compares each of them once.
 */
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
