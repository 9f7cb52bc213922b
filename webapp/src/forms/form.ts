import { asObject, asText, type Json } from "../wire/records";
import type { Doc, Field } from "../words/field";
import { kindsWords as w } from "../words/kinds";
import { readDecimal } from "../words/words";

export type { Doc, Field } from "../words/field";

/**
 * What is typed into the fields of a form. `from` is the document that it was opened from; parts
 * that the form does not know are kept.
 */
export type Typed = {
  from: Doc;
  on?: boolean;
  values: { [name: string]: string | boolean | string[] | Typed | Typed[] };
};

/** A field that cannot be saved, by its path in the document, and the reason. */
export type Wrong = { path: string; error: string };

/**
 * standing gives the value of a field for conditions: the ticked boxes of a list, "yes" for a box
 * or switch that is on, "" for nothing.
 */
function standing(v: Typed["values"][string] | undefined): string[] {
  if (typeof v === "string") return [v.trim()];
  if (Array.isArray(v)) return v.length === 0 ? [""] : v.map((x) => (typeof x === "string" ? x : "yes"));
  return [v === true || (typeof v === "object" && v.on === true) ? "yes" : ""];
}

/** counting leaves out the fields that have no meaning with the values of the others. */
export function counting(fields: readonly Field[], typed: Typed): readonly Field[] {
  const counts = ({ when }: Field): boolean => {
    if (!when) return true;
    const other = fields.find((f) => f.name === when.field);
    return (
      other !== undefined &&
      counts(other) &&
      standing(typed.values[when.field]).some((v) => when.is?.includes(v) ?? v !== "")
    );
  };
  return fields.filter(counts);
}

const decimal = /^([+-]?)(\d*)\.?(\d*)(?:[eE]([+-]?\d+))?$/;

/**
 * shifted moves the decimal mark of a plain decimal by a number of places, without arithmetic, so
 * that no digit is lost. "" if the text is no decimal.
 */
export function shifted(text: string, places: number): string {
  const m = decimal.exec(text.trim());
  if (!m || `${m[2]}${m[3]}` === "") return "";
  const whole = m[2] ?? "";
  const digits = whole + (m[3] ?? "");
  const at = whole.length + places + Number(m[4] ?? 0);
  const padded = at <= 0 ? `${"0".repeat(1 - at)}${digits}` : digits.padEnd(at, "0");
  const mark = at <= 0 ? 1 : at;
  const left = padded.slice(0, mark).replace(/^0+(?=\d)/, "");
  const right = padded.slice(mark).replace(/0+$/, "");
  return `${m[1] === "-" ? "-" : ""}${left}${right === "" ? "" : `.${right}`}`;
}

/** clock writes seconds as h:min:s. */
export function clock(seconds: string): string {
  const n = Number(seconds);
  if (seconds.trim() === "" || !Number.isFinite(n) || n < 0) return seconds;
  const rest = Number((n % 60).toFixed(6));
  const two = (x: number) => String(x).padStart(2, "0");
  const s = Number.isInteger(rest) ? two(rest) : `${rest < 10 ? "0" : ""}${rest}`;
  return `${Math.floor(n / 3600)}:${two(Math.floor(n / 60) % 60)}:${s}`;
}

/**
 * secondsOf reads h:min:s, min:s or seconds; undefined for anything else, or if minutes or seconds
 * after a colon reach 60.
 */
export function secondsOf(typed: string): number | undefined {
  const parts = typed.trim().replace(",", ".").split(":");
  if (parts.length > 3 || parts.some((p, i) => !(i === parts.length - 1 ? /^\d+(\.\d+)?$/ : /^\d+$/).test(p.trim())))
    return undefined;
  const numbers = parts.map(Number);
  if (numbers.slice(1).some((n) => n >= 60)) return undefined;
  return Number(numbers.reduce((sum, n) => sum * 60 + n, 0).toFixed(6));
}

function shown(f: Field, v: Json | undefined): string {
  const t = asText(v);
  if (t === "") return "";
  switch (f.as) {
    case "scaled":
      return shifted(t, f.places) || t;
    case "time":
      return clock(t);
    default:
      return t;
  }
}

/** opened turns a document into form values. */
export function opened(fields: readonly Field[], doc: Doc): Typed {
  const values: Typed["values"] = {};
  for (const f of fields) {
    const v = doc[f.name];
    switch (f.as) {
      case "group":
        values[f.name] = { ...opened(f.fields, asObject(v)), on: v !== undefined };
        break;
      case "list":
        values[f.name] = (Array.isArray(v) ? v : []).map((x) => opened(f.fields, asObject(x)));
        break;
      case "flag":
        values[f.name] = v === true;
        break;
      case "checks":
        values[f.name] = Array.isArray(v) ? v.map(asText) : [];
        break;
      case "numbers":
      case "texts":
        values[f.name] = Array.isArray(v) ? v.map(asText).join(f.as === "texts" ? "\n" : " ") : "";
        break;
      case "choice":
        values[f.name] = asText(v) || (f.usual ?? "");
        break;
      default:
        values[f.name] = shown(f, v);
    }
  }
  return { from: doc, values };
}

class Bad extends Error {
  readonly path: string;
  constructor(path: string, message: string) {
    super(message);
    this.path = path;
  }
}

const typedText = (t: Typed, name: string): string => {
  const v = t.values[name];
  return typeof v === "string" ? v.trim() : "";
};

function simple(f: Field, text: string, path: string): Json {
  switch (f.as) {
    case "number":
    case "scaled": {
      const read = readDecimal(text);
      if (read === undefined) throw new Bad(path, w.number(f.label));
      return f.as === "scaled" ? shifted(read, -f.places) : read;
    }
    case "whole":
      if (!/^\d{1,7}$/.test(text)) throw new Bad(path, w.whole(f.label));
      return Number(text);
    case "time": {
      const seconds = secondsOf(text);
      if (seconds === undefined) throw new Bad(path, w.time(f.label));
      return seconds;
    }
    case "numbers":
      return text.split(/[\s;]+/).map((p) => {
        const read = readDecimal(p);
        if (read === undefined) throw new Bad(path, w.numbers(f.label));
        return read;
      });
    case "texts":
      return [...new Set(text.split("\n").map((t) => t.trim()))].filter((t) => t !== "");
    default:
      return text;
  }
}

/**
 * write puts what was typed back into its document. A field that shows what it showed at first
 * stays as it was, byte for byte; a field that has no meaning is removed.
 */
function write(fields: readonly Field[], typed: Typed, at: string): Doc {
  const known = new Set(fields.map((f) => f.name));
  const out: Doc = Object.fromEntries(Object.entries(typed.from).filter(([name]) => !known.has(name)));
  const first = opened(fields, typed.from).values;
  for (const f of counting(fields, typed)) {
    const path = at + f.name;
    const v = typed.values[f.name];
    switch (f.as) {
      case "group": {
        const inner = v as Typed;
        if (f.switch !== undefined && inner.on !== true) break;
        const doc = write(f.fields, inner, `${path}.`);
        if (f.switch !== undefined || Object.keys(doc).length > 0) {
          needed(f.fields, inner, `${path}.`);
          out[f.name] = doc;
        } else if (f.needed) throw new Bad(path, w.needed(f.label));
        break;
      }
      case "list": {
        const rows = (v as Typed[]).map((row, i) => {
          const doc = write(f.fields, row, `${path}[${i}].`);
          needed(f.fields, row, `${path}[${i}].`);
          return doc;
        });
        if (rows.length > 0) out[f.name] = rows;
        else if (f.needed) throw new Bad(path, w.needed(f.label));
        break;
      }
      case "flag":
        if (v === true) out[f.name] = true;
        else if (typed.from[f.name] === false) out[f.name] = false;
        break;
      case "checks":
        if ((v as string[]).length > 0) out[f.name] = v as string[];
        break;
      default: {
        const text = typedText(typed, f.name);
        const silent =
          f.as === "choice" && text === (f.usual ?? "") && (typed.from[f.name] === undefined || text === "");
        if (text === "" || silent) {
          if (typed.from[f.name] === "") out[f.name] = "";
        } else if (text === String(first[f.name]).trim() && typed.from[f.name] !== undefined)
          out[f.name] = typed.from[f.name] as Json;
        else out[f.name] = simple(f, text, path);
      }
    }
  }
  return out;
}

function needed(fields: readonly Field[], typed: Typed, at: string): void {
  for (const f of counting(fields, typed)) {
    if (!f.needed || f.as === "list" || f.as === "group") continue;
    if (typedText(typed, f.name) === "") throw new Bad(at + f.name, w.needed(f.label));
  }
}

/**
 * ticked gives the words of a list of boxes after one was ticked or unticked, in the form's order.
 * Words that the form does not know stay.
 */
export function ticked(
  options: readonly (readonly [string, string])[],
  list: string[],
  word: string,
  on: boolean,
): string[] {
  const kept = list.filter((x) => x !== word);
  if (!on) return kept;
  const known = options.map(([x]) => x);
  return [...known.filter((x) => x === word || kept.includes(x)), ...kept.filter((x) => !known.includes(x))];
}

/** documentOf gives the typed document, or the first field that cannot be read. */
export function documentOf(fields: readonly Field[], typed: Typed): { doc: Doc } | Wrong {
  try {
    needed(fields, typed, "");
    return { doc: write(fields, typed, "") };
  } catch (e) {
    if (e instanceof Bad) return { path: e.path, error: e.message };
    throw e;
  }
}

/**
 * placed finds the form's field for a path of the calculation and names it in words; the path
 * itself if the form has no such field.
 */
export function placed(fields: readonly Field[], path: string): { path: string; label: string } {
  const [, name = "", index, , rest = ""] = /^([a-z_0-9]+)(?:\[(\d+)\])?(\.(.*))?$/.exec(path) ?? [];
  const f = fields.find((x) => x.name === name);
  if (!f) return { path, label: path.replaceAll("_", " ") };
  if (f.as === "list" && index !== undefined) {
    const row = f.item(Number(index) + 1);
    if (rest === "") return { path: f.name, label: row };
    const inner = placed(f.fields, rest);
    return { path: `${f.name}[${index}].${inner.path}`, label: `${row}, ${inner.label}` };
  }
  if (f.as === "group" && rest !== "") {
    const inner = placed(f.fields, rest);
    return { path: `${f.name}.${inner.path}`, label: `${f.label}, ${inner.label}` };
  }
  return { path: f.name, label: f.label };
}

/** names lists every field that a form knows, by its path with [] for the place in a list. */
export function names(fields: readonly Field[], at = ""): string[] {
  return fields.flatMap((f) => {
    if (f.as === "group") return [at + f.name, ...names(f.fields, `${at}${f.name}.`)];
    if (f.as === "list") return [at + f.name, ...names(f.fields, `${at}${f.name}[].`)];
    return [at + f.name];
  });
}
