/*
 * The trade's words, one for one thing, in every text of the app:
 * instrument (what is tested), standard (the reference), method (a kind of work with its settings),
 * visit (one instrument on one occasion), run (as found, as left, repeat), step, reading (a value that
 * was typed), point (a test pressure), limit (permissible error), out of tolerance (a standard found
 * beyond its limits), set point, reset point, dead band, head correction, permit to work.
 * Of the office: review, approve, send back; conflict (two people changed one field), not accepted (an
 * entry the server did not take), look-back (results recalculated after a standard was out).
 * Buttons are verbs: Keep a reading, Save a form, Cancel, Withdraw what was said, Remove what was
 * added, Import, Export. A person connects and sends; nothing "waits", "stands", "lies" or is "told".
 * An error names the field and says what to do, in one or two short sentences.
 */
import { english } from "./english";
import { german, locale, say } from "./language";

/** words are the texts of the base client in the chosen language. */
export const words = say("english", english);

export type Mark = "." | ",";
let mark: Mark = ".";

/** setDecimalMark chooses how decimal numbers are shown. */
export function setDecimalMark(m: Mark): void {
  mark = m;
}

/** decimalMark gives the mark in use. */
export function decimalMark(): Mark {
  return mark;
}

/** showDecimal shows a decimal string with the chosen mark; nothing else of it changes. */
export function showDecimal(decimal: string | number): string {
  const [, mantissa, power] = /^([-+.\d]+)e([-+]?\d+)$/i.exec(String(decimal)) ?? [];
  if (mantissa !== undefined) return `${showDecimal(mantissa)}\u00a0\u00d7\u00a010${raised(Number(power))}`;
  return String(decimal).replace("-", "\u2212").replace(".", mark);
}

/** raised writes an exponent in small digits above the line. */
function raised(power: number): string {
  return [...String(power)].map((c) => "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"["-0123456789".indexOf(c)]).join("");
}

/**
 * readDecimal turns what was typed, with either mark, into a plain decimal string; undefined when
 * it is not one.
 */
export function readDecimal(typed: string): string | undefined {
  const plain = typed.trim().replace("\u2212", "-").replace(",", ".");
  return /^[+-]?(\d+(\.\d*)?|\.\d+)$/.test(plain) ? plain : undefined;
}

/** showAge says how long ago a moment was. */
export function showAge(at: number, now: number): string {
  const minutes = Math.floor((now - at) / 60_000);
  if (minutes < 1) return words.age.now;
  if (minutes < 60) return words.age.minutes(minutes);
  if (minutes < 60 * 24) return words.age.hours(Math.floor(minutes / 60));
  return words.age.days(Math.floor(minutes / (60 * 24)));
}

/**
 * showDate shows the date of an RFC 3339 time or date in the reader's way; the text itself if it is
 * neither.
 */
export function showDate(iso: string): string {
  const t = Date.parse(iso);
  if (Number.isNaN(t)) return iso;
  return new Date(t).toLocaleDateString(locale, { year: "numeric", month: "short", day: "numeric" });
}

/** showTime shows the time of day of an RFC 3339 time where the reader is. */
export function showTime(iso: string): string {
  const t = Date.parse(iso);
  return Number.isNaN(t) ? iso : new Date(t).toLocaleTimeString(locale, { hour: "2-digit", minute: "2-digit" });
}

/** showDateTime shows both. */
export function showDateTime(iso: string): string {
  const t = Date.parse(iso);
  return Number.isNaN(t) ? iso : `${showDate(iso)} ${showTime(iso)}`;
}

/**
 * sentence gives a sentence of the calculations, which records keep in English, in the language of this
 * page; what is not known, such as a text of somebody's own, stays as it is.
 */
export const sentence = (english: string): string => german?.said(english, showDecimal) ?? english;
