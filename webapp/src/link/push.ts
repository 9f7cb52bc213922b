import * as store from "../store/store";
import type { SyncReply, SyncRequest } from "../wire/api";
import { type Change, newId } from "../wire/records";

type Ask = (changes: Change[], more: Partial<SyncRequest>) => Promise<SyncReply>;

/** The protocol from which an office takes a second request before it has answered the first. */
const lanes = 3;

/**
 * takesTwo says whether the office takes two requests, by the protocol in its reply; a brief reply
 * has none, and leaves it as before.
 */
export const takesTwo = (speaks: number | undefined, before: boolean): boolean =>
  speaks === undefined ? before : speaks >= lanes;

/**
 * push sends a piece of the outbox, and the next one, of at most n changes and size characters,
 * while the first is on its way. The office takes the second only after the first, so a failure of
 * the first costs nothing: the second is sent again.
 *
 * Gives: the reply to the first, with what the second says of its changes. Refuses: as the first.
 */
export async function push(ask: Ask, changes: Change[], n: number, size: number): Promise<SyncReply> {
  const nonce = newId();
  const first = ask(changes, { nonce });
  first.catch(() => undefined); // reported when somebody waits for it
  const next = await store.waiting(n, size, changes.at(-1)?.seq);
  const second = next.length > 0 ? ask(next, { limit: 1, lane: 1, after: nonce }).catch(() => undefined) : undefined;
  const [one, two] = await Promise.all([first.catch((e: unknown) => ({ failed: e })), second]);
  if ("failed" in one) throw one.failed;
  return two === undefined
    ? one
    : {
        ...one,
        acknowledged: [...(one.acknowledged ?? []), ...(two.acknowledged ?? [])],
        quarantined: [...(one.quarantined ?? []), ...(two.quarantined ?? [])],
        ...(two.twin === true ? { twin: true } : {}),
      };
}
