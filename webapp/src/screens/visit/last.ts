import { asObject, asText, type Json } from "../../wire/records";

/** What was chosen at the last stop on this device, to be offered at the next. */
type Last = { [name: string]: Json };

const key = (what: string) => `last ${what}`;

/** rememberLast keeps a choice with its moment. */
export function rememberLast(what: "standard" | "surroundings", choice: Last): void {
  try {
    localStorage.setItem(key(what), JSON.stringify({ ...choice, at: new Date().toISOString() }));
  } catch {
    // storage switched off or full: nothing is offered
  }
}

/** lastChoice gives a choice that is not older than so many hours. */
export function lastChoice(what: "standard" | "surroundings", hours: number): Last | undefined {
  try {
    const choice = asObject(JSON.parse(localStorage.getItem(key(what)) ?? "{}"));
    const age = Date.now() - Date.parse(asText(choice["at"]));
    return age >= 0 && age < hours * 3_600_000 ? choice : undefined;
  } catch {
    return undefined;
  }
}
