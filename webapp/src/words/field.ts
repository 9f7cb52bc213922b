/* The types of a form's fields: a form is texts and what is typed beside them. */
import type { Json } from "../wire/records";

export type Doc = { [name: string]: Json };

/**
 * A field of the same form and the values of it with which another field counts; without values,
 * whatever is there.
 */
export type When = { field: string; is?: readonly string[] };

/**
 * One field of a form: how it is typed, and what it becomes in the document. With when it is shown,
 * needed and written only where that holds.
 */
export type Field = { name: string; label: string; hint?: string; unit?: string; needed?: true; when?: When } & (
  | { as: "text"; lines?: number }
  /** Several texts, each on a line. */
  | { as: "texts" }
  | { as: "date" }
  /** A decimal, kept as it was typed. */
  | { as: "number" }
  | { as: "whole" }
  /**
   * A decimal in the document's unit times ten to the power of places: litres of cubic metres, per
   * cent of a share.
   */
  | { as: "scaled"; places: number }
  /** A time in seconds, typed as h:min:s, as min:s or as seconds. */
  | { as: "time" }
  | { as: "numbers" }
  /** usual is what holds where the document says nothing. */
  | { as: "choice"; options: readonly (readonly [string, string])[]; usual?: string }
  /** Several of a few words. */
  | { as: "checks"; options: readonly (readonly [string, string])[] }
  | { as: "flag" }
  /**
   * With a switch the group is there where that is on, even if nothing is typed in it; else where
   * something is typed.
   */
  | { as: "group"; fields: readonly Field[]; switch?: string }
  | { as: "list"; fields: readonly Field[]; item: (n: number) => string; most?: number }
);
