import * as held from "../store/held";
import { around } from "../store/rows";
import { base, keepSites, meta, putMeta, unsentChanges } from "../store/store";
import type { HoldReply } from "../wire/api";

/** Asks the office with the login. Refuses: LinkError. */
export type Ask = (path: string, init: RequestInit) => Promise<unknown>;

/** Units requested at once; the office sends as many as fit into about a megabyte. */
const most = 100;

const post = async (ask: Ask, body: unknown): Promise<HoldReply> =>
  (await ask("/api/hold", { method: "POST", body: JSON.stringify(body) })) as HoldReply;

/** change begins to hold a part of the plant, or stops that if the office has no parts. */
export async function change(lost: boolean, ask: Ask): Promise<void> {
  if (lost) await held.forgetHeld();
  else await begin(ask);
}

/**
 * begin fetches what this device is to hold of a plant that is too large for it: the base, the
 * units of the coming days, then the register. If it breaks off, it later goes on from there.
 */
export async function begin(ask: Ask): Promise<void> {
  const reply = await post(ask, { part: "base" });
  const before = await meta("link");
  const hold = await meta("hold");
  const rebuild = await meta("rebuild");
  const moved = (before?.scope ?? "") !== reply.scope || before?.store !== reply.store;
  const same = hold?.begun?.store === reply.store && hold.begun.epoch === reply.epoch;
  const on = same && hold?.begun?.scope === reply.scope;
  if (!on) {
    const { store, epoch, root, cursor, scope } = reply;
    await held.begun({ store, epoch, root, cursor, scope }, reply.wanted ?? []);
    if (moved && reply.sites) await keepSites(reply.sites);
    if (moved && reply.sites) await putMeta("sites", reply.sites); // records that stayed for unsent work go at the end
  }
  await held.takeUnits(reply.groups ?? [], reply);
  const from = (await meta("hold"))?.begun?.cursor ?? 0;
  const list = await held.held();
  const fresh = new Set(
    list.filter((h) => on && h.place.cursor >= from && h.place.store === reply.store).map((h) => h.id),
  );
  const names = [...new Set([...(reply.wanted ?? []), ...list.map((h) => h.id)])].filter((id) => !fresh.has(id));
  await fetchUnits(ask, names);
  const strays = await held.strays();
  for (let next = (on && hold?.next) || 0, first = true; ; first = false) {
    const piece = await post(ask, { part: "register", from: next });
    const drop = first && !on && (moved || rebuild !== undefined);
    await held.takeEntries(piece.entries ?? [], piece.next ?? 0, drop);
    next = piece.next ?? 0;
    if (next === 0) break;
  }
  await held.complete();
  if (rebuild === undefined) await held.drop(strays);
}

/**
 * fetchUnits fetches units by their ids, by the ids of any of their records, or by labels.
 *
 * Gives: how many came. The others are not at the office, or not for this person.
 */
export async function fetchUnits(
  ask: Ask,
  names: string[],
  along?: string,
  tell: (done: number) => void = () => undefined,
): Promise<number> {
  let came = 0;
  for (let at = 0; at < names.length; at += most) {
    let left = names.slice(at, at + most);
    for (let tries = 0; left.length > 0 && tries < 200; tries++) {
      const reply = await post(ask, { part: "units", units: left });
      // This device meanwhile went on in the journal, so the reply may lack some changes.
      if (!(await held.takeUnits(reply.groups ?? [], reply, along))) continue;
      came += reply.groups?.length ?? 0;
      left = reply.left ?? [];
      tell(at + Math.min(most, names.length - at) - left.length);
    }
  }
  return came;
}

/** tend fetches what the person's coming days need and drops what nobody has opened for long. */
export async function tend(ask: Ask, wanted: string[] | undefined, now: number): Promise<void> {
  const today = new Date(now).toISOString().slice(0, 10);
  const hold = await meta("hold");
  if (!hold || hold.name === "") return;
  if (hold.day !== today) {
    // The plan changes with the day; within a day the office says what is missing.
    wanted = (await post(ask, { part: "plan" })).wanted ?? [];
    await held.wants(wanted, today);
  } else if (wanted && wanted.length > 0) await held.wants([...new Set([...(hold.wanted ?? []), ...wanted])], today);
  const list = new Set(await held.heldNames());
  const missing = [...new Set([...(wanted ?? []), ...(await held.strays())])].filter((id) => !list.has(id));
  if (missing.length > 0) await fetchUnits(ask, missing);
  const unsent = await around(await base(), await unsentChanges());
  await held.drop(held.toDrop(await held.held(), { wanted: (await meta("hold"))?.wanted ?? [], unsent, today, now }));
}
