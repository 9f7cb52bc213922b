import * as held from "../store/held";
import { around } from "../store/rows";
import { base, keepSites, meta, putMeta, unsentChanges } from "../store/store";
import type { HoldReply } from "../wire/api";

/** Asks the office with the login. Refuses: LinkError. */
export type Ask = (path: string, init: RequestInit) => Promise<unknown>;

/** Units requested at once; the office sends as many as fit into about a megabyte. */
const most = 100;
/** How many instruments come before the base: those of a day, so that its round is whole early. */
const atOnce = 24;

const post = async (ask: Ask, body: unknown): Promise<HoldReply> =>
  (await ask("/api/hold", { method: "POST", body: JSON.stringify(body) })) as HoldReply;

/**
 * ahead asks for the next piece while the one before is being kept, so that the line and the device
 * work at the same time.
 */
function ahead(ask: Ask, body: unknown): Promise<HoldReply> {
  const reply = post(ask, body);
  reply.catch(() => undefined); // reported when somebody waits for it
  return reply;
}

/** change begins to hold a part of the plant, or stops that if the office has no parts. */
export async function change(lost: boolean, ask: Ask): Promise<void> {
  if (lost) await held.forgetHeld();
  else await begin(ask);
}

/**
 * begin fetches what this device is to hold of a plant that is too large for it: the person's
 * rounds, the units of the next day, the base, the units of the other days, then the register. If
 * it breaks off, it later goes on from there.
 */
export async function begin(ask: Ask): Promise<void> {
  const reply = await post(ask, { part: "base", rounds: true });
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
  if (reply.more) {
    await fetchUnits(ask, names.splice(0, atOnce));
    const base = await post(ask, { part: "base" });
    await held.takeUnits(base.groups ?? [], base);
  }
  await fetchUnits(ask, names);
  const strays = await held.strays();
  const asked = (next: number) => ahead(ask, { part: "register", from: next });
  let drop = !on && (moved || rebuild !== undefined);
  for (let coming: Promise<HoldReply> | undefined = asked((on && hold?.next) || 0); coming; drop = false) {
    const piece: HoldReply = await coming;
    coming = piece.next ? asked(piece.next) : undefined;
    await held.takeEntries(piece.entries ?? [], piece.next ?? 0, drop);
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
    const asked = (units: string[]) => (units.length > 0 ? ahead(ask, { part: "units", units }) : undefined);
    let left = names.slice(at, at + most);
    let coming = asked(left);
    for (let tries = 0; coming && tries < 200; tries++) {
      const reply: HoldReply = await coming;
      const rest = reply.left ?? [];
      coming = asked(rest);
      if (!(await held.takeUnits(reply.groups ?? [], reply, along))) {
        // This device meanwhile went on in the journal, so the reply may lack some changes.
        coming = asked(left);
        continue;
      }
      came += reply.groups?.length ?? 0;
      left = rest;
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
