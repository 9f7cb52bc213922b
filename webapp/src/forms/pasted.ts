import { kindsWords as w } from "../words/kinds";
import type { Field, Typed } from "./form";

/**
 * takesRows says whether all fields are single boxes that are always there, so that a row of cells
 * can fill them.
 */
export function takesRows(fields: readonly Field[]): boolean {
  const boxes: readonly Field["as"][] = ["text", "number", "whole", "scaled", "time", "date"];
  return fields.length > 1 && fields.every((f) => boxes.includes(f.as) && f.when === undefined);
}

const digits = /^[-+\u2212]?[\d.,]*\d/;
const counted = (f: Field | undefined) => f?.as === "number" || f?.as === "whole" || f?.as === "scaled";

/**
 * pasted reads rows copied from a spreadsheet: one line per row, its cells separated by tabs,
 * semicolons or spaces, in the order of the fields. A first line without a number counts as
 * headings. A row with more cells than fields is refused with its line number.
 */
export function pasted(fields: readonly Field[], text: string): { rows: Typed[] } | { error: string } {
  const lines = text.split(/\r\n|\r|\n/).map((line, i) => ({ line, n: i + 1 }));
  const full = lines.filter(({ line }) => line.trim() !== "");
  const apart = full.some(({ line }) => line.includes("\t"))
    ? /\t/
    : full.some(({ line }) => line.includes(";"))
      ? /;/
      : /\s+/;
  const cut = full.map(({ line, n }) => ({
    n,
    cells: (apart.source === "\\s+" ? line.trim() : line).split(apart).map((c) => c.trim()),
  }));
  const [head] = cut;
  if (head && fields.some(counted) && !head.cells.some((c) => digits.test(c))) cut.shift();
  if (cut.length === 0) return { error: w.paste.nothing };
  const rows: Typed[] = [];
  for (const { n, cells } of cut) {
    while (cells.length > fields.length && cells.at(-1) === "") cells.pop();
    if (cells.length > fields.length) return { error: w.paste.wide(n, cells.length, fields.length) };
    const values: Typed["values"] = {};
    for (const [i, f] of fields.entries()) values[f.name] = (cells[i] ?? "").replace(/^\u2212/, "-");
    rows.push({ from: {}, values });
  }
  return { rows };
}

/** filled says whether anything is typed in a row. */
export const filled = (row: Typed) => Object.values(row.values).some((v) => typeof v === "string" && v.trim() !== "");
