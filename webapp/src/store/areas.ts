import { text } from "../wire/records";
import { heldNames } from "./held";
import { base, byKind } from "./store";
import { orderOf } from "./shelf";

/** An area of a site, its instruments, and how many of these are held here in full. */
export type Area = { key: string; site: string; code: string; area: string; ids: string[]; here: number };

const piece = 1_000; // entries of the register read at once

/** areas lists the areas of the register, by site and name. */
export async function areas(): Promise<Area[]> {
  const b = await base();
  const [sites, list] = await Promise.all([byKind("site"), heldNames()]);
  const codes = new Map(sites.map((s) => [s.id, text(s, "code") || text(s, "name")]));
  const held = new Set(list);
  const all = new Map<string, Area>();
  for (let after: [string, string] | undefined; ; ) {
    const entries = await b.getAll("register", after ? IDBKeyRange.lowerBound(after, true) : null, piece);
    for (const e of entries) {
      const site = e.site ?? "";
      const key = `${site} ${e.area}`;
      const of = all.get(key) ?? { key, site, code: codes.get(site) ?? "", area: e.area, ids: [], here: 0 };
      of.ids.push(e.id);
      if (held.has(e.id)) of.here++;
      all.set(key, of);
    }
    const last = entries.length < piece ? undefined : entries.at(-1);
    if (!last) break;
    after = [last.order, last.id];
  }
  return [...all.values()].sort((a, b) => (orderOf(`${a.code} ${a.area}`) < orderOf(`${b.code} ${b.area}`) ? -1 : 1));
}
