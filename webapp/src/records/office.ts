import { readEach } from "../wire/read";
import type { Role } from "../wire/api";
import { fieldNames } from "../words/field-names";
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
  worst_fraction: number | null;
  attention: string[];
  changed: string[];
};
export type DayReply = { date: string; visits: Row[]; waiting: Row[]; more: number; quarantined: number };

export type PastSet = { field: string; value: Json; bytes: number; before: Json; first: boolean };
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
  /** There is a form of it for machines. */
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
   * Whether the signature and the approval are good by their keys; an office of an earlier version does
   * not say.
   */
  keys?: { signature: string; approval: string; office: string };
  covers: string[];
  people: { [id: string]: string };
  history: Past[];
  certificates: Paper[];
  /** What the rule of two people says to whoever looks; an office of an earlier version does not say. */
  pair?: { worked: string[]; own: boolean; authorised: boolean; issues: boolean };
  /** Approving it needs a word on what the failure means. */
  effect_asked?: boolean;
  /** That word, of the approval in force. */
  effect?: string;
  /** The gauges that stood on one manifold with it, itself among them, in their order. */
  together?: { visit: string; tag: string; status: string }[];
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
};
export type RegisterReply = { instruments: Gauge[]; after: string };
/** A piece of the register as a table, with the values that each filter could have besides. */
export type TableReply = {
  rows: Gauge[];
  found: number;
  all: number;
  near: boolean;
  ids?: string[];
  values: { [filter: string]: { value: string; count: number }[] };
};
/** A way to look at the register that somebody saved. */
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
  /** Who brought it, where that was another person. */
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
 * What one person wrote on one visit, or of one instrument; its entries are in the order in which
 * they came.
 */
export type AsideGroup = { key: string; author: string; visit: string; tag: string; entries: Aside[] };

/** asideGroups puts together what belongs together, in the order of the first entry of each. */
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

/** Back is what one person had written on one occasion, and came back after a restore. */
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

/** What a laboratory states of its accreditation. */
export type Accreditation = { text: string; number: string; scope: string };

/** The languages that certificates are in. */
export type CertificateLanguage = "en" | "de";

/** What certificates state of the laboratory; paper is the size they are printed on. */
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
 * typedOf lists every capture of a run in the order of writing, those that were corrected too, each
 * with the reason of its correction.
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
 * moveDay gives the date some days after another one, to turn pages of days and to fill in a date in
 * a filter. When something is due, the calculation due says.
 */
export function moveDay(date: string, by: number): string {
  return new Date(Date.parse(`${date}T12:00:00Z`) + by * 86_400_000).toISOString().slice(0, 10);
}

/** showValue writes a value of a record in one line for a list. */
export function showValue(v: Json, most = 160): string {
  const write = (x: Json, top: boolean): string => {
    if (x === null) return "–";
    if (Array.isArray(x)) return x.map((one) => write(one, false)).join(", ");
    if (typeof x === "object") {
      const inside = Object.entries(x)
        .map(([name, one]) => `${name} ${write(one, false)}`)
        .join(", ");
      return top ? inside : `(${inside})`;
    }
    return String(x);
  };
  const whole = write(v, true);
  return whole.length > most ? `${whole.slice(0, most - 2)} …` : whole;
}

/**
 * fieldName writes which field of what kind of record was changed; the random part of a name says
 * nothing to people.
 */
export function fieldName(kind: string, field: string): string {
  const [name = "", rest = ""] = field.split(/\.(.*)/s);
  const known = fieldNames[kind]?.[name];
  if (known !== undefined) return [known, name === "done" ? rest : ""].filter(Boolean).join(" ");
  return [kind, name.replaceAll("_", " "), name === "done" ? rest : ""].filter(Boolean).join(" ");
}

/** lines splits what was typed into a box of lines; empty ones fall away. */
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
  | { kind: "state" }
  | { kind: "competence" }
  | { kind: "lookbacks"; id: string | undefined }
  | { kind: "aside" }
  | { kind: "people" }
  | { kind: "keys" }
  | { kind: "events" }
  | { kind: "laboratory" }
  | { kind: "calculate"; part: "observations" | "line" | "model" }
  | { kind: "standards"; id: string | undefined; part: string | undefined }
  | { kind: "methods"; id: string | undefined }
  | { kind: "rounds"; id: string | undefined }
  | { kind: "devices"; id: undefined }
  | { kind: "contested"; id: string | undefined }
  | { kind: "missing" };

/** placeOf gives which of the office's screens a path means. */
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
    case "lookbacks":
    case "rounds":
      return { kind: first, id: second };
    case "devices":
      return second === undefined ? { kind: "devices", id: undefined } : { kind: "missing" };
    case "calculate":
      return second === undefined
        ? { kind: "calculate", part: "observations" }
        : second === "observations" || second === "line" || second === "model"
          ? { kind: "calculate", part: second }
          : { kind: "missing" };
    case "register":
    case "state":
    case "competence":
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
