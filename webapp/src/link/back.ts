import { unpacked } from "../store/given";
import * as store from "../store/store";
import type { SyncReply, SyncRequest } from "../wire/api";
import { LinkError } from "./reply";

type Ask = (more: Partial<SyncRequest>, raw?: string) => Promise<SyncReply>;

/**
 * giveBack sends an office that was restored from an older copy what it had sent before: other
 * people's changes and its own decisions, which it recognizes by its signature. It first asks which
 * of them the office has, since most are older than the copy.
 * Gives: whether everything is answered for. An office that does not mention them, such as one of
 * an earlier version, is tried again later.
 */
export async function giveBack(ask: Ask): Promise<boolean> {
  for (let given = await store.nextGiven(); given; given = await store.nextGiven()) {
    const text = await unpacked(given);
    const ids = (JSON.parse(text) as { id: string }[]).map((c) => c.id);
    const asked = await ask({ has: ids, limit: 1 });
    if (asked.again) return false; // restored once more: the exchange begins again
    const had = new Set(asked.had);
    if (ids.some((id) => !had.has(id))) {
      const raw = `,"back":[{"given":${JSON.stringify(given.sign)},"changes":${text}}]`;
      const reply = await ask({ limit: 1 }, raw).catch((e: unknown) => {
        if (e instanceof LinkError && e.status === 413) return undefined;
        throw e;
      });
      if (!reply || reply.again) return false;
      const answered = new Set([...reply.acknowledged, ...reply.quarantined.map((q) => q.id), ...(reply.newer ?? [])]);
      if (ids.some((id) => !answered.has(id))) return false;
    }
    await store.gaveBack(given.n);
  }
  return true;
}
