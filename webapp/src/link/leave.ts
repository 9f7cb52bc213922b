import type { User } from "../wire/api";
import { LinkError } from "./reply";
import { waited } from "./tabs";

// Logging out, and what it leaves on the device. The code of store/clear comes when it is needed.

const emptied = () => import("../store/clear");

/** leave notes a log-out on the device. */
export const leave = async (): Promise<void> => (await emptied()).leave();

/** enter notes who is logged in; another person finds unsent work only. */
export const enter = async (user: User, access: string): Promise<void> => (await emptied()).enter(user, access);

/**
 * empty leaves nothing but unsent work on a device on which nobody is logged in. It waits for a
 * running exchange, of whichever tab, whose last reply would otherwise be stored afterwards.
 */
export async function empty(exchange: Promise<void> | undefined): Promise<void> {
  await exchange?.catch(() => undefined);
  const { clear, forgetChoices } = await emptied();
  forgetChoices(); // each tab has its own
  await waited(clear);
}

/** either is aborted with the first of two signals; older browsers know the first alone. */
export const either = (one: AbortSignal, two: AbortSignal): AbortSignal => AbortSignal.any?.([one, two]) ?? one;

/**
 * tellLeft tells the office that a log-in ended here. Refuses: LinkError until the office hears it.
 */
export async function tellLeft(fetcher: typeof fetch, patience: number): Promise<void> {
  const init = {
    method: "POST",
    body: "{}",
    headers: { "content-type": "application/json" },
    credentials: "same-origin" as const,
  };
  const answer = await fetcher("/api/logout", {
    ...init,
    cache: "no-store",
    signal: AbortSignal.timeout(patience),
  }).catch((e: unknown) => {
    throw new LinkError("offline", 0, "", e instanceof Error ? e.message : "offline");
  });
  // A captive portal's page may answer with 200; the office's answer has no body.
  if (answer.status !== 204) throw new LinkError(answer.ok ? "portal" : "server", answer.status);
}
