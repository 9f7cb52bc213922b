import { asObject, type Json } from "./records";

/**
 * alike says whether two values are the same JSON, whatever the order of the members of their
 * objects.
 */
export function alike(a: Json | undefined, b: Json | undefined): boolean {
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((x, i) => alike(x, b[i]));
  if (
    typeof a !== "object" ||
    typeof b !== "object" ||
    a === null ||
    b === null ||
    Array.isArray(a) ||
    Array.isArray(b)
  )
    return a === b;
  const names = Object.keys(a);
  return names.length === Object.keys(b).length && names.every((n) => n in b && alike(asObject(a)[n], asObject(b)[n]));
}
