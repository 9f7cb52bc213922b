import type { Group, HoldReply, Place, Shown } from "../wire/api";
import { newId, type RecordState } from "../wire/records";
import { alone, locked } from "./alone";
import { around, forked, missing, puts } from "./rows";
import type { Device, Held, Hold, Meta, Row, Writing } from "./schema";
import { type Calc, settle } from "./settle";
import { entryOf } from "./shelf";
import { part, unshow } from "./shown";
import { base, calculate, meta, putMeta, tell, unsentChanges, write } from "./store";

/** The longest time that storing a reply may take: hundreds of records on a slow phone. */
const longest = 20_000;
/** Beyond this many characters of text, units that nobody opened for long are dropped. */
export const mostBytes = 12_000_000;
/** A unit opened within this time stays, since somebody may be standing at it. */
const atHand = 3_600_000;

/**
 * between gives all keys from the first of some ids to the last: one answer, where one for each
 * takes a slow phone more than a millisecond.
 */
async function between<K>(from: { getAllKeys(of: IDBKeyRange): Promise<K[]> }, ids: string[]): Promise<K[]> {
  const [first, ...rest] = ids.toSorted();
  return first === undefined ? [] : from.getAllKeys(IDBKeyRange.bound(first, rest.at(-1) ?? first));
}

/**
 * takeEntries keeps a piece of the register. With fresh it first drops the entries that are there.
 */
export function takeEntries(entries: Shown[], next: number, fresh: boolean): Promise<void> {
  return alone(async () => {
    await write(
      ["records", "register", "meta"],
      async (tx) => {
        if (fresh)
          for (let at = await tx.objectStore("register").openCursor(); at; at = await at.continue())
            if (at.value.part) await at.delete();
        const ids = entries.map((e) => e.id);
        const register = tx.objectStore("register");
        const [here, listed] = await Promise.all([
          between(tx.objectStore("records"), ids),
          between(register.index("id"), ids),
        ]);
        // Of an instrument that is held its record says more.
        const now = new Map(entries.map((e) => [e.id, e]));
        for (const id of here) now.delete(id);
        await Promise.all([
          ...listed.filter(([, id]) => now.has(id)).map((key) => register.delete(key)),
          ...[...now.values()].map((e) => register.put(part(e))),
        ]);
        const hold = (await tx.objectStore("meta").get("hold")) as Meta["hold"];
        if (hold) await tx.objectStore("meta").put({ ...hold, next }, "hold");
      },
      longest,
      "relaxed",
    );
    tell({ records: [], kinds: ["instrument"] });
  });
}

/** held gives the units that this device holds. */
export async function held(): Promise<Held[]> {
  return (await base()).getAll("held");
}

/** heldNames gives only their ids. */
export async function heldNames(): Promise<string[]> {
  return (await base()).getAllKeys("held");
}

/**
 * begun notes the place at which this device begins to hold a part. What it held before is no
 * longer known.
 */
export async function begun(place: Place, wanted: string[]): Promise<void> {
  await putMeta("hold", { name: "", begun: place, wanted });
}

/** complete ends the beginning: from its place on, the device follows the journal. */
export function complete(): Promise<void> {
  return alone(async () => {
    await write(["meta"], async (tx) => {
      const hold = (await tx.objectStore("meta").get("hold")) as Meta["hold"];
      if (!hold?.begun) return;
      await tx.objectStore("meta").put(hold.begun, "link");
      await tx.objectStore("meta").put({ name: newId(), wanted: hold.wanted ?? [] } satisfies Hold, "hold");
    });
    tell({ records: [], kinds: ["instrument"] });
  });
}

/**
 * wants notes which units the office plans for this person, and the day on which it was asked for
 * all of them.
 */
export async function wants(wanted: string[], day: string): Promise<void> {
  const hold = await meta("hold");
  if (hold) await putMeta("hold", { ...hold, wanted, day });
}

const placeOf = ({ store, epoch, root, cursor, scope }: HoldReply): Place => ({ store, epoch, root, cursor, scope });

/** rowsOf reads the rows and own changes of records. */
async function rowsOf(ids: string[]) {
  const b = await base();
  const tx = b.transaction(["records", "changes"]);
  const [known, written] = await Promise.all([
    between(tx.objectStore("records"), ids).then((keys) => new Set(keys)),
    tx.objectStore("changes").count(),
  ]);
  const rows = await Promise.all(ids.map((id) => (known.has(id) ? tx.objectStore("records").get(id) : undefined)));
  const own = await Promise.all(
    ids.map((id) => (written > 0 ? tx.objectStore("changes").index("record").getAll(id) : [])),
  );
  return { rows, own: own.map((list) => list.map((o) => o.change)) };
}

/**
 * merged gives the office's records merged with changes that were written here and that it may
 * lack.
 */
async function merged(calc: Calc, states: RecordState[], own: Awaited<ReturnType<typeof rowsOf>>["own"]) {
  const touched = states.filter((_, i) => own[i]?.length);
  if (touched.length === 0) return { states, count: 0 };
  const made = await settle(calc, touched, own.flat());
  const by = new Map(made.records.map((r) => [r.id, r]));
  return { states: states.map((s) => by.get(s.id) ?? s), count: made.count };
}

/**
 * takeUnits keeps the office's units: whole records in their state there, merged with what was
 * written here. along is the day until which they are taken along.
 *
 * Gives: false if the device is further in the journal than these records are: they must be
 * requested again.
 */
export function takeUnits(groups: Group[], reply: HoldReply, along?: string): Promise<boolean> {
  return alone(async () => {
    const states = groups.flatMap((g) => g.states);
    const ids = states.map((s) => s.id);
    for (let attempt = 0; attempt < 6; attempt++) {
      const rebuild = await meta("rebuild");
      const { rows, own } = await rowsOf(ids);
      const made = await merged(calculate(), states, own);
      const kept = await write(
        ["records", "register", "held", "meta", "changes"],
        async (tx) => {
          if (!locked()) {
            const now = await Promise.all(ids.map((id) => tx.objectStore("records").get(id)));
            if (now.some((row, i) => row?.rev !== rows[i]?.rev)) return undefined;
          }
          const notes = tx.objectStore("meta");
          const hold = (await notes.get("hold")) as Meta["hold"];
          const link = (await notes.get("link")) as Meta["link"];
          const active = hold !== undefined && hold.name !== "";
          if (!hold) return false;
          if (
            active &&
            link &&
            (link.store !== reply.store || link.epoch !== reply.epoch || link.cursor > reply.cursor)
          )
            return false;
          const fresh = made.states.filter((s, i) => s.kind === "instrument" && rows[i] === undefined);
          await Promise.all(fresh.map((s) => unshow(tx, s.id)));
          await Promise.all(made.states.flatMap((s, i) => puts(tx, s, rows[i] as Row | undefined, rebuild)));
          for (const g of groups.filter((g) => g.unit !== "")) {
            const was = await tx.objectStore("held").get(g.unit);
            const day = along ?? was?.along;
            await tx.objectStore("held").put({
              id: g.unit,
              used: Date.now(),
              bytes: JSON.stringify(g.states).length,
              ...(day === undefined ? {} : { along: day }),
              place: placeOf(reply),
              given: g.given,
            });
          }
          if (active && groups.some((g) => g.unit !== "")) await notes.put({ ...hold, name: newId() }, "hold");
          await known(tx, states, Math.max(Number(reply.count) || 0, made.count));
          return true;
        },
        longest,
        "relaxed",
      );
      if (kept === undefined) continue;
      if (kept) tell({ records: ids, kinds: [...new Set(states.map((s) => s.kind))] });
      return kept;
    }
    return false;
  });
}

/**
 * known continues the count from what came, and takes another id if a copy of this device wrote
 * some of it.
 */
async function known(tx: Writing, states: RecordState[], count: number): Promise<void> {
  const device = (await tx.objectStore("meta").get("device")) as Device;
  const heads = states.flatMap((s) => Object.values(s.fields).flatMap((f) => f.heads));
  const mine = [...new Map(heads.filter((h) => h.device === device.id).map((h) => [h.change, h])).values()];
  const keys = await Promise.all(mine.map((h) => tx.objectStore("changes").getKey(h.change)));
  const copied = await missing(tx, keys, mine);
  const id = copied ? newId() : device.id;
  await tx.objectStore("meta").put({ ...device, id, count: Math.max(device.count, count) }, "device");
  if (copied) await forked(tx, device.id);
}

/** strays names instruments with a record here that are on no list: made here, or held before. */
export async function strays(): Promise<string[]> {
  const b = await base();
  const [all, list] = await Promise.all([b.getAllKeysFromIndex("records", "kind", "instrument"), heldNames()]);
  const names = new Set(list);
  return all.filter((id) => !names.has(id));
}

/**
 * toDrop chooses what is dropped: units that are not planned, not taken along for a coming day,
 * without unsent work and not opened just now, the longest unused first, until the rest has at most
 * most characters.
 */
export function toDrop(
  list: Held[],
  kept: { wanted: Iterable<string>; unsent: ReadonlySet<string>; today: string; now: number },
  most = mostBytes,
): string[] {
  const wanted = new Set(kept.wanted);
  let all = list.reduce((sum, h) => sum + h.bytes, 0);
  const may = list.filter(
    (h) =>
      !wanted.has(h.id) &&
      !kept.unsent.has(h.id) &&
      !(h.along !== undefined && h.along >= kept.today) &&
      kept.now - h.used > atHand,
  );
  const gone: string[] = [];
  for (const h of may.sort((a, b) => a.used - b.used)) {
    if (all <= most) break;
    all -= h.bytes;
    gone.push(h.id);
  }
  return gone;
}

/**
 * drop removes units from this device except what a search shows of them. Units with unsent work
 * stay.
 */
export async function drop(units: string[]): Promise<void> {
  for (const unit of units)
    await alone(async () => {
      const unsent = await around(await base(), await unsentChanges());
      if (unsent.has(unit)) return;
      await write(["records", "register", "held", "meta"], async (tx) => {
        const records = tx.objectStore("records");
        const top = await records.get(unit);
        const rows = top ? [top] : [];
        for (let i = 0; i < rows.length && rows.length < 100_000; i++)
          rows.push(...(await records.index("parent").getAll((rows[i] as Row).id)));
        if (top?.kind === "standard") rows.length = 0; // it is part of the base
        for (const r of rows) await records.delete(r.id);
        if (top?.kind === "instrument") {
          await unshow(tx, unit);
          await tx.objectStore("register").put({ ...entryOf(top.state), part: 1 });
        }
        const listed = (await tx.objectStore("held").getKey(unit)) !== undefined;
        await tx.objectStore("held").delete(unit);
        const hold = (await tx.objectStore("meta").get("hold")) as Meta["hold"];
        if (listed && hold && hold.name !== "") await tx.objectStore("meta").put({ ...hold, name: newId() }, "hold");
      });
    });
  if (units.length > 0) tell({ records: units, kinds: ["instrument", "visit", "run", "result", "certificate"] });
}

/** forgetHeld stops holding a part: everything comes from the beginning of the journal. */
export function forgetHeld(): Promise<void> {
  return alone(async () => {
    await write(["meta", "held"], async (tx) => {
      const link = (await tx.objectStore("meta").get("link")) as Place | undefined;
      await tx.objectStore("held").clear();
      await tx.objectStore("meta").delete("hold");
      if (link) await tx.objectStore("meta").put({ ...link, root: "", cursor: 0 }, "link");
    });
  });
}
