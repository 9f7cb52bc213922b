import type { Place, User } from "../wire/api";
import { newId } from "../wire/records";
import { alone } from "./alone";
import { offerNext } from "./outbox";
import { rowOf } from "./rows";
import type { Device, Meta } from "./schema";
import { settle } from "./settle";
import { base, calculate, meta, tellAll, unsentChanges, write } from "./store";

// What a device keeps while nobody is logged in: unsent work, and what sends it later under its
// authors.

/** Emptying a plant's records may take a slow phone this long. */
const longest = 120_000;
const all = 2 ** 31;

/** The notes that stay. Notes that are not named here go. */
const notes = ["device", "birth", "heard", "heardBeside", "forked", "was", "leaving", "presses", "gone"] as const;
/** The choices that are the device's and no person's. */
const choices = ["theme", "mark", "language", "tone", "gaugewright-verify-list"];
const draft = "draft ";
const putAway = (user: string) => `away ${user} `;

/** leave notes that nobody is logged in any more, and that the office has to hear of it. */
export async function leave(): Promise<void> {
  const user = await meta("user");
  if (user) move(draft, putAway(user.id) + draft);
  await write(["meta"], async (tx) => {
    const m = tx.objectStore("meta");
    await m.put(true, "leaving");
    for (const note of ["user", "access", "refused"] as const) await m.delete(note);
  });
}

/**
 * enter notes who is logged in. Another person finds nothing of the one before but unsent work, and
 * a person who comes back finds what they had typed and not kept.
 */
export async function enter(user: User, access: string): Promise<void> {
  const before = await meta("user");
  if (before && before.id !== user.id) {
    move(draft, putAway(before.id) + draft);
    await write(["meta"], (tx) => tx.objectStore("meta").delete("user"));
  }
  await clear();
  await write(["meta"], async (tx) => {
    const m = tx.objectStore("meta");
    const names = (await m.get("names")) as Meta["names"];
    await m.put(user, "user");
    await m.put(access, "access");
    await m.put({ ...names, [user.id]: user.full || user.name }, "names");
    if (before?.id !== user.id) await m.delete("refused");
    await m.delete("cleared");
  });
  move(putAway(user.id) + draft, draft);
}

/**
 * clear removes everything but unsent work from a device on which nobody is logged in. What was cut
 * off begins again with the next start or log-in.
 */
export async function clear(): Promise<void> {
  for (let done = false; !done; ) done = await alone(once);
}

async function once(): Promise<boolean> {
  const b = await base();
  if ((await meta("user")) || (await meta("cleared"))) return true;
  forgetChoices();
  // An office that has lost something may lack what it once had.
  for (let more = (await meta("offer")) !== undefined; more; )
    more = await write(
      ["changes", "outbox", "photos", "meta"],
      async (tx) => {
        await offerNext(tx, undefined, all);
        return (await tx.objectStore("meta").get("offer")) !== undefined;
      },
      longest,
    );
  const unsent = await unsentChanges();
  // Records as far as unsent work makes them; the office's part is merged when it comes again.
  const made = (await settle(calculate(), [], unsent)).records;
  const text = JSON.stringify(unsent);
  const count = await b.count("outbox");
  const done = await write(
    ["changes", "outbox", "records", "register", "held", "photos", "meta", "given"],
    async (tx) => {
      const m = tx.objectStore("meta");
      if (await m.get("user")) return true; // another tab was faster
      if ((await tx.objectStore("outbox").count()) !== count) return false;
      for (const store of ["records", "register", "held", "given"] as const) await tx.objectStore(store).clear();
      const waits = new Set(unsent.map((c) => c.id));
      for (const id of await tx.objectStore("changes").getAllKeys())
        if (!waits.has(id)) await tx.objectStore("changes").delete(id);
      const photos = tx.objectStore("photos");
      const owed = new Set(await photos.index("sent").getAllKeys(0));
      for (const name of await photos.getAllKeys())
        if (!owed.has(name) && !text.includes(name)) await photos.delete(name);
      for (const state of made) await tx.objectStore("records").put(rowOf(state, 0, undefined));
      const [link, names, device] = [
        (await m.get("link")) as Place | undefined,
        (await m.get("names")) as Meta["names"],
        (await m.get("device")) as Device,
      ];
      for (const note of await m.getAllKeys()) if (!notes.includes(note as "device")) await m.delete(note);
      if (link) await m.put({ ...link, root: "", cursor: 0, scope: "" }, "link");
      const authors = new Set(unsent.map((c) => c.author));
      await m.put(Object.fromEntries(Object.entries(names ?? {}).filter(([id]) => authors.has(id))), "names");
      if (made.length > 0) await m.put(newId(), "rebuild");
      await m.put(device.count, "gone");
      await m.put(true, "cleared");
      return true;
    },
    longest,
  );
  if (done) tellAll();
  return done;
}

/** forgetChoices drops what the browser keeps beside the database of a person's work. */
export function forgetChoices(): void {
  try {
    for (const key of Object.keys(localStorage))
      if (!choices.includes(key) && !key.startsWith("away ") && !key.startsWith(draft)) localStorage.removeItem(key);
    sessionStorage.clear();
  } catch {
    // storage switched off: nothing is there
  }
}

/** move renames what is kept under keys with a prefix. */
function move(from: string, to: string): void {
  try {
    for (const key of Object.keys(localStorage).filter((k) => k.startsWith(from))) {
      localStorage.setItem(to + key.slice(from.length), localStorage.getItem(key) ?? "");
      localStorage.removeItem(key);
    }
  } catch {
    // full or switched off: a text that could not be moved stays as it was
  }
}
