/* What forms are made of: boxes for numbers, texts, times and choices. */
import type { Field, When } from "./field";

export const number = (
  name: string,
  label: string,
  more: { unit?: string; hint?: string; needed?: true } = {},
): Field => ({
  name,
  label,
  as: "number",
  ...more,
});
export const whole = (name: string, label: string, more: { unit?: string; hint?: string } = {}): Field => ({
  name,
  label,
  as: "whole",
  ...more,
});
export const text = (name: string, label: string, more: { hint?: string } = {}): Field => ({
  name,
  label,
  as: "text",
  ...more,
});
export const time = (name: string, label: string, more: { hint?: string; needed?: true } = {}): Field => ({
  name,
  label,
  as: "time",
  ...more,
});
type Options = readonly (readonly [string, string])[];
/** choice without a usual value has to be made. */
export const choice = (
  name: string,
  label: string,
  usual: string | undefined,
  options: Options,
  hint?: string,
): Field => ({
  name,
  label,
  as: "choice",
  options,
  ...(usual === undefined ? { needed: true as const } : { usual }),
  ...(hint ? { hint } : {}),
});

/**
 * only shows a field, and writes it, while another one of its form has one of some values, or any
 * where none is named.
 */
export const only = (field: string, is: When["is"], f: Field): Field => ({
  ...f,
  when: is ? { field, is } : { field },
});
