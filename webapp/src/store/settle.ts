import type { Change, FieldState, Head, Json, RecordState } from "../wire/records";

type Order = {
  records: { id: string; fields: { [name: string]: { heads: string[]; replaced: string[] } } }[];
  count: number;
};
/**
 * isErasure says whether a field is an erasure. The code for those is fetched with the first one.
 */
export const isErasure = (field: string): boolean => field.startsWith("erased.");

export type Calc = (name: string, doc: unknown) => Promise<Json>;

/**
 * settle merges changes into their records. The calculation does the merge, on everything but the
 * values. Those stay here and are reattached by change, so that a plant's megabytes are not copied
 * into it and out again.
 *
 * Takes: the known state of the records, and the changes in any order. Gives: the changed records,
 * and the highest count seen.
 */
export async function settle(
  calc: Calc,
  known: RecordState[],
  changes: Change[],
): Promise<{ records: RecordState[]; count: number }> {
  if (changes.length === 0) return { records: [], count: 0 };
  const before = new Map(known.map((r) => [r.id, r]));
  const touched = new Map<string, Set<string>>();
  const first = new Map<string, Change>();
  const heads = new Map<string, Head>(); // by field, change and record
  const skeletons = changes.map((c) => {
    if (!first.has(c.record)) first.set(c.record, c);
    let names = touched.get(c.record);
    if (!names) {
      names = new Set();
      touched.set(c.record, names);
    }
    const sees: { [field: string]: string[] } = {};
    for (const s of c.set) {
      names.add(s.field);
      if (s.sees.length > 0) sees[s.field] = s.sees;
      heads.set(`${s.field} ${c.id} ${c.record}`, {
        change: c.id,
        value: s.value,
        author: c.author,
        device: c.device,
        wall: c.wall,
        stamp: c.stamp,
      });
    }
    return {
      id: c.id,
      stamp: c.stamp,
      record: c.record,
      kind: c.kind,
      site: c.site,
      parent: c.parent,
      fields: c.set.map((s) => s.field),
      sees,
    };
  });
  const records = known.map((r) => {
    const fields: { [name: string]: { heads: { change: string; stamp: string }[]; replaced: string[] } } = {};
    for (const name of [...(touched.get(r.id) ?? [])].sort()) {
      const field = r.fields[name];
      if (!field) continue;
      for (const h of field.heads) heads.set(`${name} ${h.change} ${r.id}`, h);
      fields[name] = {
        heads: field.heads.map((h) => ({ change: h.change, stamp: h.stamp })),
        replaced: field.replaced,
      };
    }
    return { id: r.id, kind: r.kind, site: r.site, parent: r.parent, fields };
  });
  const order = (await calc("sync/settle", { records, changes: skeletons })) as unknown as Order;
  const whole = order.records.map((o) => {
    const c = first.get(o.id) as Change;
    const all: { [name: string]: FieldState } = { ...before.get(o.id)?.fields };
    for (const [name, field] of Object.entries(o.fields)) {
      all[name] = {
        heads: field.heads.map((id) => heads.get(`${name} ${id} ${o.id}`) as Head),
        replaced: field.replaced,
      };
    }
    // The merge wants the names in order when it gets the record again.
    const fields = Object.fromEntries(Object.entries(all).sort((a, b) => (a[0] < b[0] ? -1 : 1)));
    return { id: o.id, kind: c.kind, site: c.site, parent: c.parent, fields };
  });
  const merged: RecordState[] = [];
  for (const state of whole)
    merged.push(
      Object.keys(state.fields).some(isErasure) ? await (await import("./erased")).withoutErased(calc, state) : state,
    );
  return { records: merged, count: order.count };
}
