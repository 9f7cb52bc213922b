/*
 * Which language this device reads. The English texts are part of each screen; those of another
 * language are one script, which only its readers fetch, before anything is shown.
 */
import type { German } from "./de/german";

export type Language = "en" | "de";

/** languageOf finds the language of a code such as de-AT; English where there is no other. */
export const languageOf = (code: string): Language => (/^de/i.test(code) ? "de" : "en");

const device = typeof navigator === "undefined" ? "" : navigator.language;

function chosen(): string {
  try {
    return localStorage.getItem("language") ?? device;
  } catch {
    return device; // storage switched off
  }
}

/** wanted is the language that was chosen, or the device's. */
export const wanted = languageOf(chosen());

/** german has the texts, where this page is shown in German. */
export const german: German | undefined =
  wanted === "de"
    ? await import("./de/german").then(
        (m) => m.german,
        (e: unknown) => {
          console.error(e); // without its script the page is shown in English, rather than not at all
          return undefined;
        },
      )
    : undefined;

/** language is what this page is shown in. */
export const language: Language = german ? "de" : "en";

/** locale is how dates and numbers are written: the device's way where it is of this language. */
export const locale = device && languageOf(device) !== language ? `${language}-${german ? "DE" : "GB"}` : undefined;

/** Named are the values of a choice with their names. */
export type Named<T extends string> = readonly (readonly [T, string])[];

/** say gives the texts of a part in the language of this page. */
export function say<T>(part: string, english: T): T {
  return (german?.parts[part] as T | undefined) ?? english;
}
