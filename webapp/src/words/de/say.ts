/*
 * Gives sentences that are put together elsewhere in German: those that the calculations write into
 * records, which stay in English there, and the texts of forms.
 */
import { refusals } from "./refusals";
import { airSentences } from "./sentences-air";
import { programmeSentences } from "./sentences-programme";
import { systemSentences } from "./sentences-systems";
import { workSentences } from "./sentences-work";

/** Words that stand for a value of a sentence. */
export const valueWords: { [english: string]: string } = {
  gauge: "Überdruck",
  absolute: "Absolutdruck",
  differential: "Differenzdruck",
  rising: "aufwärts",
  falling: "abwärts",
  up: "aufwärts",
  down: "abwärts",
  above: "über",
  below: "unter",
  "equal to": "gleich",
  instrument: "Gerät",
  standard: "Normal",
  meter: "Messgerät",
  barometer: "Barometer",
  thermometer: "Thermometer",
  values: "Werte",
  readings: "Messwerte",
  value: "der Wert",
  reading: "der Messwert",
  answer: "die Antwort",
  record: "die Aufzeichnung",
  number: "eine Zahl",
  text: "ein Text",
  yes: "ja",
  no: "nein",
  pressure: "Druck",
  vacuum: "Vakuum",
  volume: "Volumen",
  temperature: "Temperatur",
  length: "Länge",
  speed: "Geschwindigkeit",
  time: "Zeit",
};

/** How a number is written with the reader's mark. */
type Mark = (decimal: string) => string;

/** A sentence with values in it, with which the text of a sentence is compared. */
type Pattern = { literal: number; has: string; test: RegExp; german: string };

/** What the client says itself where the calculations do not answer. */
const ownSentences: { [english: string]: string } = {
  "the calculation did not answer in time": "die Berechnung hat nicht rechtzeitig geantwortet",
  "the calculation {} gave no document": "die Berechnung {} hat kein Dokument ergeben",
  "the calculation ended with {}: {}": "die Berechnung endete mit {}: {}",
  "a request of {} bytes is too large": "eine Anfrage von {} Bytes ist zu groß",
};

/** Every sentence with its German. The server has them from here too: its papers are in German as well. */
export const known: { [english: string]: string } = {
  ...ownSentences,
  ...workSentences,
  ...systemSentences,
  ...airSentences,
  ...programmeSentences,
};

/** What the server refuses with is said here alone: no paper has it. */
const all: { [english: string]: string } = { ...known, ...refusals };

let patterns: Pattern[] | undefined;

/** patternsOf makes the patterns when the first is needed, those that say the most first. */
function patternsOf(): Pattern[] {
  patterns ??= Object.entries(all)
    .filter(([english]) => english.includes("{}"))
    .map(([english, german]) => ({
      literal: english.replaceAll("{}", "").length,
      has: english.split("{}").reduce((a, b) => (b.length > a.length ? b : a)),
      test: new RegExp(`^${english.split("{}").map(literal).join("(.*?)")}$`, "s"),
      german,
    }))
    .sort((a, b) => b.literal - a.literal);
  return patterns;
}

const literal = (text: string) => text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");

/** A pattern of fewer letters besides its values fits too much: its values must be short or known. */
const telling = 14;

/** A number first, or a formula, as a condition of a programme has it. */
const figure = /^[-\u2212+]?\d|^[\w .+*/()<>=,-]* [-+*/=] [\w .+*/()<>=,-]*$|^abs\(/;

/** A name in quotes, such as that of a column. */
const quoted = /^"[^"]*"$/;

/** matched gives a sentence by the pattern that says the most of it. */
function matched(text: string, number: Mark): string | undefined {
  for (const p of patternsOf()) {
    const values = text.includes(p.has) ? p.test.exec(text)?.slice(1) : undefined;
    if (!values || values.some((v) => v.includes(". ") || v.includes("\n"))) continue;
    // A value of several words is the name that a sentence begins with, or a sentence itself.
    const fits = (v: string, i: number) =>
      !v.includes(" ") ||
      quoted.test(v) ||
      (i === 0 && p.german.startsWith("{}: ")) ||
      figure.test(v) ||
      whole(v, number) !== undefined;
    if (p.literal < telling && !values.every(fits)) continue;
    let i = 0;
    return p.german.replaceAll("{}", () => valueIn(values[i++] ?? "", number));
  }
  return undefined;
}

/** A condition of a programme, or what came of it: names, numbers and signs between them. */
const formula = /^[\w .+*/()<>=,-]* [-+*/<>=]+ [\w .+*/()<>=,-]*$|^abs\(/;

/** marked gives the numbers of a formula with the reader's mark; another text stays. */
const marked = (text: string, number: Mark) => (formula.test(text) ? text.replace(/\d+\.\d+/g, number) : text);

const amount = /^([-\u2212+]?\d+(?:\.\d+)?)( ?\S{1,12})?$/;

/** valueIn gives a value of a sentence: a number with the reader's mark, a word, a sentence. */
function valueIn(text: string, number: Mark): string {
  const n = amount.exec(text);
  if (n) return `${number(n[1] ?? "")}${n[2] ?? ""}`;
  return valueWords[text] ?? said(text, number);
}

/** whole gives a text that is a sentence, with values in it or without. */
const whole = (text: string, number: Mark) => all[text] ?? matched(text, number);

/** Where one sentence ends and another begins, in a text of several: the strongest first. */
const joints = [/\. |\n/g, /; /g, /: /g, /, (?=\D)/g];

/**
 * said gives a text of the calculations in German. A text of several sentences is taken apart; what
 * is not known, such as a name or a question that somebody wrote, stays.
 */
export function said(text: string, number: Mark): string {
  const key = `${number("0.5")} ${text}`;
  const had = before.get(key);
  if (had !== undefined) return had;
  if (before.size > mostKept) before.clear();
  const german = put(text, number);
  before.set(key, german);
  return german;
}

/** What was asked lately: screens ask the same again and again. */
const before = new Map<string, string>();
const mostKept = 2000;

/** What a complaint about a cell begins with: the name of its column, which is no part of a sentence. */
const cell = /^(column "[^"]*"|the value for an empty \w+): /;

function put(text: string, number: Mark): string {
  const named = cell.exec(text)?.[1];
  if (named !== undefined) return `${whole(named, number) ?? named}: ${said(text.slice(named.length + 2), number)}`;
  const all = whole(text, number);
  if (all !== undefined) return all;
  for (const joint of joints)
    for (const m of text.matchAll(joint)) {
      const end = m.index + (m[0] === ". " ? 1 : 0);
      const first = text.slice(0, end);
      const rest = text.slice(m.index + m[0].length);
      const told = whole(first, number) ?? (follows(rest, m[0], number) ? first : undefined);
      if (told !== undefined) return `${told}${text.slice(end, m.index + m[0].length)}${said(rest, number)}`;
    }
  return marked(text, number);
}

/** follows says of what follows a name, such as that of a phase, whether it is a sentence. */
const follows = (rest: string, joint: string, number: Mark) =>
  (joint === ": " || joint === ", ") && whole(rest, number) !== undefined;
