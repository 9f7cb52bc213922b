import type { Entry } from "./shelf";
import { base, meta } from "./store";

/** entry gives the register's entry of an instrument, by its id or its label's text. */
export async function entry(of: string): Promise<Entry | undefined> {
  const b = await base();
  return (await b.getFromIndex("register", "id", of)) ?? b.getFromIndex("register", "label", of.toLowerCase());
}

/** used notes that somebody opens a unit, on a device that holds a part of the plant. */
export async function used(id: string): Promise<void> {
  if ((await meta("hold"))?.name) await (await import("./shown")).used(await base(), id);
}
