import { LinkError, link } from "../link/link";
import { meta } from "../store/store";

/** holdsPart says whether this device holds only a part of the plant. */
export const holdsPart = async (): Promise<boolean> => Boolean((await meta("hold"))?.name);

/**
 * The outcome of fetching: it is here, the office does not know it, there is no connection, or the
 * office refused.
 */
export type Fetched = "here" | "unknown" | "offline" | "refused";

/** bring fetches the unit of a record or a label from the office. */
export async function bring(name: string): Promise<Fetched> {
  try {
    const { fetchUnits } = await import("../link/hold");
    return (await fetchUnits((path, init) => link.json(path, init), [name])) > 0 ? "here" : "unknown";
  } catch (e) {
    if (e instanceof LinkError) return e.problem === "offline" || e.problem === "portal" ? "offline" : "refused";
    throw e;
  }
}

/**
 * takeAlong fetches units that stay until a day has passed. Gives: how many came. Refuses:
 * LinkError.
 */
export async function takeAlong(names: string[], day: string, tell: (done: number) => void): Promise<number> {
  const { fetchUnits } = await import("../link/hold");
  return fetchUnits((path, init) => link.json(path, init), names, day, tell);
}
