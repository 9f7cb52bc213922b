import type { WorkOrder } from "./orders";
import { readEach } from "../wire/read";
import type { Role } from "../wire/api";
import { fieldNames } from "../words/field-names";
import { memberName } from "../words/member-names";
import type { Json, RecordState } from "../wire/records";

export type Row = {
  id: string;
  tag: string;
  serial: string;
  description: string;
  area: string;
  place: string;
  method: string;
  person: string;
  started: string;
  signed: string;
  status: string;
  as_found: string;
  as_left: string;
  of_limit?: string;
  attention: string[];
  changed: string[];
};
export type DayReply = { date: string; visits: Row[]; waiting: Row[]; more: number; quarantined: number };

export type PastSet = {
  field: string;
  value: Json;
  bytes: number;
  before: Json;
  first: boolean;
  /** The members that differ, of an object or a list that was another one before. */
  differs?: { field: string; named?: { [path: string]: string }; before: Json; after: Json }[];
};
export type Past = {
  seq: number;
  change: string;
  record: string;
  kind: string;
  author: string;
  device: string;
  wall: string;
  set: PastSet[];
};
export type Paper = {
  id: string;
  number: string;
  issued: string;
  replaces: string;
  why: string;
  different: string;
  replaced_by: string;
  /** There is a machine-readable form of it. */
  machine: boolean;
  in_force: boolean;
};
export type VisitReply = {
  visit: RecordState;
  runs: RecordState[];
  status: string;
  attention: string[];
  changed: string[];
  /**
   * Whether the signature and the approval are valid by their keys; an office of an earlier version
   * does not say.
   */
  keys?: { signature: string; approval: string; office: string };
  covers: string[];
  people: { [id: string]: string };
  history: Past[];
  certificates: Paper[];
  /** The gauges that were on one manifold with it, itself among them, in their order. */
  together?: { visit: string; tag: string; status: string }[];
  /**
   * The outcome of the rule of two people for the present viewer; an office of an earlier version
   * does not say.
   */
  pair?: { worked: string[]; own: boolean; authorised: boolean; issues: boolean };
  /** Approving it needs a statement of what the failure means. */
  effect_asked?: boolean;
  /** That statement, of the approval in force. */
  effect?: string;
};
export type Issued = { certificate: { id: string; number: string; without: string } };

export type Gauge = {
  id: string;
  tag: string;
  serial: string;
  description: string;
  kind: string;
  manufacturer: string;
  model: string;
  range: { [name: string]: Json };
  area: string;
  place: string;
  /** The method's name. */
  method: string;
  interval_months: number;
  due: string;
  status: string;
  /** The day of the latest visit with a result, and its verdict as found. */
  tested: string;
  verdict: string;
  label: string;
  contested: string[] | null;
  damaged: boolean;
  /** The open work orders on it. */
  orders: WorkOrder[] | null;
};
export type RegisterReply = { instruments: Gauge[]; after: string };
/** A piece of the register as a table, with the further values of each filter. */
export type TableReply = {
  rows: Gauge[];
  found: number;
  all: number;
  near: boolean;
  ids?: string[];
  values: { [filter: string]: { value: string; count: number }[] };
};
/** A saved view of the register. */
export type SavedView = { name: string; query: string };
export type Account = {
  id: string;
  /** For the log-in. */
  name: string;
  full?: string;
  function?: string;
  role: Role;
  revoked: boolean;
  sites?: string[];
  invited?: boolean;
  second?: boolean;
  provider?: string;
  linked?: boolean;
};
export type Aside = {
  seq: number;
  reason: string;
  author: string;
  /** The person who brought it, if that was another person. */
  from: string;
  device: string;
  wall: string;
  record: string;
  visit: string;
  tag: string;
  kind: string;
  set: PastSet[];
  sent: Json;
  bytes: number;
  closed: { how: string; by?: string; at: string; why?: string } | null;
};
/**
 * What one person wrote on one visit, or about one instrument. Its entries are in the order in
 * which they came.
 */
export type AsideGroup = { key: string; author: string; visit: string; tag: string; entries: Aside[] };

/** asideGroups groups entries that belong together, in the order of each group's first entry. */
export function asideGroups(list: Aside[]): AsideGroup[] {
  const groups = new Map<string, AsideGroup>();
  for (const a of list) {
    const key = [a.author, a.visit, a.visit === "" ? a.tag : ""].join("\n");
    const g = groups.get(key) ?? { key, author: a.author, visit: a.visit, tag: a.tag, entries: [] };
    g.tag ||= a.tag;
    g.entries.push(a);
    groups.set(key, g);
  }
  return [...groups.values()];
}

/** Back is what one person had written on one occasion and was brought back after a restore. */
export type Back = {
  author: string;
  record: string;
  kind: string;
  visit: string;
  tag: string;
  count: number;
  first: string;
  last: string;
  fields: string[];
  numbers: string[];
  by: string[];
};

/** backFields names what was written, each kind of thing once. */
export function backFields(b: Back): string[] {
  return [...new Set(b.fields.map((f) => fieldName(b.kind, f.split(".")[0] ?? f)))];
}

/** A laboratory's statement of its accreditation. */
export type Accreditation = { text: string; number: string; scope: string };

/** The languages that certificates are in. */
export type CertificateLanguage = "en" | "de";

/** What certificates state about the laboratory; paper is the size they are printed on. */
export type Letterhead = {
  name: string;
  address: string[];
  customer: string[];
  country: string;
  paper: "A4" | "letter";
  language: CertificateLanguage;
  accreditation: Accreditation | null;
};

/** A typed value of a run, and what became of it. */
export type Typed = {
  id: string;
  step: string;
  of: string;
  value: string;
  unit: string;
  at: string;
  by: string;
  corrects: string;
  replacedBy: string;
  reason: string;
};

/**
 * typedOf lists every capture of a run in the order of writing, including corrected ones, each with
 * the reason for its correction.
 */
export function typedOf(run: RecordState): Typed[] {
  const all = readEach("run", run, "capture").map(([id, { step, of, value, unit, at, supersedes, reason, file }]) => ({
    id,
    step,
    of,
    value: of === "trace" ? file.name : value,
    unit,
    at,
    by: run.fields[`capture.${id}`]?.heads[0]?.author ?? "",
    corrects: supersedes,
    replacedBy: "",
    reason,
  }));
  const correction = new Map(all.filter((c) => c.corrects !== "").map((c) => [c.corrects, c]));
  return all.map((c) => {
    const by = correction.get(c.id);
    return by ? { ...c, replacedBy: by.id, reason: by.reason } : c;
  });
}

/**
 * moveDay gives the date some days after another one, to turn pages of days and to fill in a date
 * in a filter. The calculation due says when something is due.
 */
export function moveDay(date: string, by: number): string {
  return new Date(Date.parse(`${date}T12:00:00Z`) + by * 86_400_000).toISOString().slice(0, 10);
}

/** showValue writes a value of a record in one line for a list. */
export function showValue(v: Json, most = 160): string {
  const write = (x: Json, top: boolean): string => {
    if (x === null) return "–";
    if (typeof x === "boolean") return memberName(x ? "yes" : "no");
    if (Array.isArray(x)) return x.map((one) => write(one, false)).join(", ");
    if (typeof x === "object") {
      const inside = Object.entries(x)
        .map(([name, one]) => `${memberName(name)} ${write(one, false)}`)
        .join(", ");
      return top ? inside : `(${inside})`;
    }
    return String(x);
  };
  const whole = write(v, true);
  return whole.length > most ? `${whole.slice(0, most - 2)} …` : whole;
}

/**
 * fieldName names the changed field and its kind of record. It drops the random part of a name,
 * which means nothing to people.
 */
export function fieldName(kind: string, field: string): string {
  const [name = "", rest = ""] = field.split(/\.(.*)/s);
  const known = fieldNames[kind]?.[name];
  if (known !== undefined) return [known, name === "done" ? rest : ""].filter(Boolean).join(" ");
  return [kind, name.replaceAll("_", " "), name === "done" ? rest : ""].filter(Boolean).join(" ");
}

/** lines splits the text of a multi-line box; empty lines are dropped. */
export function lines(typed: string): string[] {
  return typed
    .split("\n")
    .map((l) => l.trim())
    .filter((l) => l !== "");
}

export type Place =
  | { kind: "day"; date: string | undefined }
  | { kind: "visit"; id: string }
  | { kind: "history"; id: string }
  | { kind: "register" }
  | { kind: "planning" }
  | { kind: "figures"; id: string | undefined }
  | { kind: "state" }
  | { kind: "competence" }
  | { kind: "lookbacks"; id: string | undefined }
  | { kind: "aside" }
  | { kind: "people" }
  | { kind: "keys" }
  | { kind: "events" }
  | { kind: "laboratory" }
  | { kind: "machines"; part: "tokens" | "hooks" | "calendars" | "mail" }
  | { kind: "calculate"; part: "observations" | "line" | "model" }
  | { kind: "standards"; id: string | undefined; part: string | undefined }
  | { kind: "methods"; id: string | undefined }
  | { kind: "rounds"; id: string | undefined }
  | { kind: "devices"; id: undefined }
  | { kind: "contested"; id: string | undefined }
  | { kind: "missing" };

/** placeOf gives the office's screen of a path. */
export function placeOf(path: string): Place {
  const [, first, second, ...more] = path.split("/").filter((p) => p !== "");
  if (more.length > 0 && !(first === "standard" && more.length === 1 && more[0] === "reverse"))
    return { kind: "missing" };
  switch (first) {
    case undefined:
      return { kind: "day", date: undefined };
    case "day":
      return second !== undefined && /^\d{4}-\d\d-\d\d$/.test(second) && !Number.isNaN(Date.parse(second))
        ? { kind: "day", date: second }
        : { kind: "missing" };
    case "visit":
    case "history":
      return second === undefined ? { kind: "missing" } : { kind: first, id: second };
    case "standard":
      return second === undefined ? { kind: "missing" } : { kind: "standards", id: second, part: more[0] };
    case "method":
      return second === undefined ? { kind: "missing" } : { kind: "methods", id: second };
    case "standards":
      return second === undefined ? { kind: "standards", id: undefined, part: undefined } : { kind: "missing" };
    case "methods":
      return second === undefined ? { kind: "methods", id: undefined } : { kind: "missing" };
    case "contested":
    case "figures":
    case "lookbacks":
    case "rounds":
      return { kind: first, id: second };
    case "devices":
      return second === undefined ? { kind: "devices", id: undefined } : { kind: "missing" };
    case "machines":
      return second === undefined
        ? { kind: "machines", part: "tokens" }
        : second === "hooks" || second === "calendars" || second === "mail"
          ? { kind: "machines", part: second }
          : { kind: "missing" };
    case "calculate":
      return second === undefined
        ? { kind: "calculate", part: "observations" }
        : second === "observations" || second === "line" || second === "model"
          ? { kind: "calculate", part: second }
          : { kind: "missing" };
    case "register":
    case "state":
    case "competence":
    case "planning":
    case "aside":
    case "people":
    case "keys":
    case "events":
    case "laboratory":
      return second === undefined ? { kind: first } : { kind: "missing" };
    default:
      return { kind: "missing" };
  }
}
