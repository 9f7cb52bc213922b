import { asNumber, asText } from "../../wire/records";
import { traceWords as w } from "../../words/trace";
import { readDecimal } from "../../words/words";
import type { ColumnSeen, Doc, Guess, Seen } from "../../records/trace";

/** Form is what a person has chosen about a record so far. */
export type Form = {
  separator: string;
  decimal: string;
  comment: string;
  first: string;
  roles: Guess[];
  units: string[];
  mode: string;
  timeUnit: string;
  order: string;
  interval: string;
  bridge: boolean;
  states: { [word: string]: string };
  above: string;
};

export const pressureUnits = [
  "Pa",
  "hPa",
  "kPa",
  "MPa",
  "mbar",
  "bar",
  "psi",
  "mmHg",
  "inHg",
  "Torr",
  "mmH2O",
  "inH2O",
  "kgf/cm2",
  "atm",
];
export const temperatureUnits = ["degC", "degF", "K"];
export const timeUnits = ["us", "ms", "s", "min", "h"];

/** unitsFor gives the units that can be chosen for a column. */
export function unitsFor(role: Guess): string[] {
  if (role === "pressure" || role === "barometer") return pressureUnits;
  return role === "temperature" ? temperatureUnits : [];
}

const spelled: { [unit: string]: string } = { "\u00b0C": "degC", "\u00b0F": "degF", C: "degC", F: "degF" };

/** formOf begins with what a record seems to be. It leaves open what cannot be seen. */
export function formOf(seen: Seen): Form {
  const states: { [word: string]: string } = {};
  for (const c of seen.columns) if (c.guess === "contact") for (const word of c.words) states[word] = "";
  const interval = asNumber(seen.time["interval_s"]);
  const switched = seen.columns.find((c) => c.guess === "contact" && c.kind === "numbers" && c.high > c.low);
  return {
    separator: seen.separator,
    decimal: seen.decimal,
    comment: seen.comment,
    first: String(seen.first),
    roles: seen.columns.map((c) => c.guess),
    units: seen.columns.map((c) => spelled[c.unit] ?? c.unit),
    mode: "",
    timeUnit: asText(seen.time["unit"]) || "s",
    order: asText(seen.time["order"]),
    interval: interval === undefined ? "" : String(interval),
    bridge: false,
    states,
    above: switched ? String((switched.low + switched.high) / 2) : "",
  };
}

/** What a reading must contain. */
export type Want = { unit: string; mode: string; contact: boolean; to: "mean" | "extremes"; range: Doc };

const at = (form: Form, role: Guess) => form.roles.indexOf(role);

/** timeForm gives the form of the times in the column chosen for them. */
export function timeForm(
  form: Form,
  columns: ColumnSeen[],
  seen: Seen,
): "number" | "epoch" | "index" | "clock" | "date" {
  const column = columns[at(form, "time")];
  if (!column) return "index";
  if (column.kind === "dates" || (column.kind === "clocks" && at(form, "date") >= 0)) return "date";
  if (column.kind === "clocks") return "clock";
  return asText(seen.time["form"]) === "epoch" ? "epoch" : "number";
}

/** orderNeeded says whether the order of day, month and year must be known. */
export const orderNeeded = (form: Form, seen: Seen) => timeForm(form, seen.columns, seen) === "date";

/**
 * readingOf turns a form into the calculation's input, or gives the words for what is still open.
 */
export function readingOf(form: Form, seen: Seen, want: Want): { reading: Doc } | { open: string } {
  for (const role of ["time", "date", "index", "pressure", "temperature", "barometer", "contact"] as const)
    if (form.roles.filter((r) => r === role).length > 1) return { open: w.needs.twice(w.roles[role] ?? role) };
  if (!/^[1-9]\d*$/.test(form.first)) return { open: w.needs.first };
  const time = timeOf(form, seen);
  if (typeof time === "string") return { open: time };
  const pressure = at(form, "pressure");
  if (pressure < 0) return { open: w.needs.pressure };
  if (want.contact && at(form, "contact") < 0) return { open: w.needs.contact };
  const reading: Doc = {
    separator: form.separator,
    decimal: form.decimal,
    comment: form.comment,
    first_line: Number(form.first),
    time,
  };
  for (const role of ["pressure", "temperature", "barometer"] as const) {
    const i = at(form, role);
    if (i < 0) continue;
    const unit = form.units[i] ?? "";
    if (!unitsFor(role).includes(unit)) return { open: w.needs.unit(w.column(i + 1, seen.columns[i]?.name ?? "")) };
    reading[role === "pressure" ? "p" : role] = {
      column: i + 1,
      unit,
      ...(role === "pressure" ? { mode: form.mode } : {}),
    };
  }
  if (form.mode === "") return { open: w.needs.mode };
  if (want.mode !== "" && form.mode !== want.mode) return { open: w.needs.otherMode(form.mode, want.mode) };
  if (at(form, "contact") >= 0) {
    const contact = contactOf(form, seen);
    if (typeof contact === "string") return { open: contact };
    reading["contact"] = contact;
  }
  const interval = asNumber(seen.time["interval_s"]);
  return {
    reading: {
      ...reading,
      unit: want.unit,
      ...(interval === undefined ? {} : { gap_s: gapAfter * interval }),
      ...(asText(want.range["unit"]) === "" ? {} : { range: want.range }),
    },
  };
}

/** A time step of more than so many usual ones is a gap. */
const gapAfter = 5;

function timeOf(form: Form, seen: Seen): Doc | string {
  const kind = timeForm(form, seen.columns, seen);
  const bridge = form.bridge ? { bridge: true } : {};
  if (kind === "index") {
    const interval = readDecimal(form.interval);
    if (interval === undefined || !(Number(interval) > 0))
      return at(form, "index") < 0 ? w.needs.time : w.needs.interval;
    const column = at(form, "index");
    return { form: "index", interval_s: interval, ...(column < 0 ? {} : { column: column + 1 }), ...bridge };
  }
  const column = at(form, "time") + 1;
  if (kind === "clock") return { form: kind, column, ...bridge };
  if (kind === "date") {
    if (form.order === "") return w.needs.order;
    const date = at(form, "date");
    const apart = date >= 0 && seen.columns[column - 1]?.kind === "clocks";
    return { form: kind, column, order: form.order, ...(apart ? { date_column: date + 1 } : {}), ...bridge };
  }
  return { form: kind, column, unit: form.timeUnit, ...bridge };
}

function contactOf(form: Form, seen: Seen): Doc | string {
  const i = at(form, "contact");
  const words = seen.columns[i]?.words ?? [];
  if (seen.columns[i]?.kind === "numbers") {
    const above = readDecimal(form.above);
    return above === undefined ? w.needs.above : { column: i + 1, above };
  }
  const open = words.find((word) => !form.states[word]);
  if (open !== undefined) return w.needs.state(open);
  const of = (state: string) => words.filter((word) => form.states[word] === state);
  if (of("actuated").length === 0 || of("rest").length === 0) return w.needs.states;
  return { column: i + 1, actuated: of("actuated"), rest: of("rest") };
}
