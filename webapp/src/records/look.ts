import { moveDay } from "./office";

/** The register's filters whose values are chosen from a list. */
export const filters = ["area", "kind", "range", "manufacturer", "method", "status", "verdict"] as const;
export type Filter = (typeof filters)[number];

/** The columns of the register, in the order in which they are shown. */
export const columns = [
  "tag",
  "serial",
  "description",
  "kind",
  "manufacturer",
  "model",
  "area",
  "place",
  "range",
  "method",
  "interval_months",
  "due",
  "tested",
  "verdict",
  "status",
] as const;
export type Column = (typeof columns)[number];

/** The columns shown until somebody chooses others. */
const usual: readonly Column[] = ["tag", "description", "area", "range", "method", "due", "verdict", "status"];

/** Look is a person's view of the register. It is the query of the page's address. */
export type Look = {
  q: string;
  only: Partial<Record<Filter, string[]>>;
  /** "", "overdue", "none", or the number of days within which it is due. */
  due: string;
  atLeast: string;
  atMost: string;
  unit: string;
  standard: string;
  sort: Column;
  down: boolean;
  cols: readonly Column[];
};

const isColumn = (name: string): name is Column => (columns as readonly string[]).includes(name);

/** readLook reads the query of the page's address. It leaves out what it does not know. */
export function readLook(query: string): Look {
  const p = new URLSearchParams(query);
  const only: Look["only"] = {};
  for (const f of filters) if (p.has(f)) only[f] = p.getAll(f);
  const sort = p.get("sort") ?? "";
  const cols = (p.get("cols") ?? "").split(",").filter(isColumn);
  return {
    q: p.get("q") ?? "",
    only,
    due: p.get("due") ?? "",
    atLeast: p.get("at_least") ?? "",
    atMost: p.get("at_most") ?? "",
    unit: p.get("unit") ?? "",
    standard: p.get("standard") ?? "",
    sort: isColumn(sort) ? sort : "tag",
    down: p.get("down") === "1",
    cols: cols.length > 0 ? columns.filter((c) => c === "tag" || cols.includes(c)) : usual,
  };
}

function asked(look: Look): URLSearchParams {
  const p = new URLSearchParams();
  const put = (name: string, v: string) => v !== "" && p.set(name, v);
  put("q", look.q.trim());
  for (const f of filters) for (const v of look.only[f] ?? []) p.append(f, v);
  put("due", look.due);
  if (look.unit !== "" && look.atLeast + look.atMost !== "") {
    put("at_least", look.atLeast);
    put("at_most", look.atMost);
    put("unit", look.unit);
  }
  put("standard", look.standard);
  if (look.sort !== "tag") put("sort", look.sort);
  if (look.down) put("down", "1");
  return p;
}

/** writeLook writes the query of the page's address. */
export function writeLook(look: Look): string {
  const p = asked(look);
  if (look.cols.join() !== usual.join()) p.set("cols", look.cols.join());
  return p.toString();
}

/** askFor writes the query for the office. */
export function askFor(look: Look, today: string): string {
  const p = asked(look);
  if (/^\d+$/.test(look.due)) p.set("due", moveDay(today, Number(look.due)));
  return p.toString();
}

/** without gives the same look without any filter and words. */
export function without(look: Look): Look {
  return { ...look, q: "", only: {}, due: "", atLeast: "", atMost: "", unit: "", standard: "" };
}

/** narrowed says whether a view leaves anything out. */
export function narrowed(look: Look): boolean {
  return writeLook({ ...without(look) }) !== writeLook(look);
}

/** toggled adds a value to a list, or removes it. */
export function toggled<T>(list: readonly T[], v: T): T[] {
  return list.includes(v) ? list.filter((x) => x !== v) : [...list, v];
}
