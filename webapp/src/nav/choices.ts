import { tellIn } from "../calc/calc";
import { language, locale } from "../words/language";
import { type Mark, sentence, setDecimalMark } from "../words/words";

export type Theme = "auto" | "day" | "night";

function read(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null; // storage switched off: the choice lasts as long as the page
  }
}

/** choose keeps a setting of this device, as long as its browser keeps any data. */
export function choose(key: string, v: string): void {
  try {
    localStorage.setItem(key, v);
  } catch {
    // as above
  }
}

/** theme gives the chosen look. */
export function theme(): Theme {
  const t = read("theme");
  return t === "day" || t === "night" ? t : "auto";
}

/** setTheme chooses the look. */
export function setTheme(t: Theme): void {
  choose("theme", t);
  applyTheme(t);
}

/** setMark chooses the decimal mark. */
export function setMark(m: Mark): void {
  choose("mark", m);
  setDecimalMark(m);
}

function applyTheme(t: Theme): void {
  if (t === "auto") delete document.documentElement.dataset["theme"];
  else document.documentElement.dataset["theme"] = t;
}

/**
 * applyChoices applies the saved choices. The decimal mark follows the device until somebody
 * chooses one.
 */
export function applyChoices(): void {
  tellIn(sentence);
  document.documentElement.lang = language;
  applyTheme(theme());
  const m = read("mark");
  const local = (1.5).toLocaleString(locale).includes(",") ? "," : ".";
  setDecimalMark(m === "," || m === "." ? m : local);
}

/** keptRegister gives the last view of the register on this device. */
export const keptRegister = (): string => read("register") ?? "";

/** keepRegister keeps it. */
export const keepRegister = (query: string): void => choose("register", query);
