import { heads, type Json, many, type RecordState, asNumber, asObject, asText } from "./records";
import { shapes } from "./records.gen";

// How untyped JSON is read. A field of a record is read by its shape in the server's table
// (records.gen.ts), the reply of a calculation by its generated type. Access by a name in brackets
// remains for values without a shape of their own: what is typed into a form or written into a
// record, the open list of a programme's steps, the columns and states of a logger's file, and maps
// from a code to its words.

/**
 * Shape says what a value holds: a list has the shape of its members in brackets, and an optional
 * member has a question mark before its shape.
 */
export type Shape =
  | "text"
  | "number"
  | "flag"
  | "json"
  | readonly [Shape]
  | readonly ["?", Shape]
  | { readonly [name: string]: Shape };

/** Read is the type of a value that is read by a shape. */
export type Read<S> = S extends "text"
  ? string
  : S extends "number"
    ? number | undefined
    : S extends "flag"
      ? boolean | undefined
      : S extends "json"
        ? Json | undefined
        : S extends readonly ["?", infer O]
          ? Read<O> | undefined
          : S extends readonly [infer I]
            ? (I extends "json" ? Json : Read<I>)[]
            : { [K in keyof S]: Read<S[K]> };

/**
 * read narrows a value to a shape. A value that is absent or of another form becomes an empty text,
 * no number, no flag, an empty list, or an object of such.
 */
export function read<const S extends Shape>(shape: S, v: Json | undefined): Read<S> {
  return narrow(shape, v) as Read<S>; // narrow gives for each shape the type that Read names
}

const isList = (shape: Shape): shape is readonly [Shape] | readonly ["?", Shape] => Array.isArray(shape);

function narrow(shape: Shape, v: Json | undefined): unknown {
  if (shape === "text") return asText(v);
  if (shape === "number") return asNumber(v);
  if (shape === "flag") return typeof v === "boolean" ? v : undefined;
  if (shape === "json") return v;
  if (isList(shape)) {
    const [of, inner] = shape;
    if (of === "?") return v === undefined || v === null || inner === undefined ? undefined : narrow(inner, v);
    return Array.isArray(v) ? v.map((one) => narrow(of, one)) : [];
  }
  const o = asObject(v);
  return Object.fromEntries(Object.entries(shape).map(([name, s]) => [name, narrow(s, o[name])]));
}

type Shapes = typeof shapes;

/** readField reads a field of a record of a kind. */
export function readField<K extends keyof Shapes, F extends string & keyof Shapes[K]>(
  kind: K,
  record: RecordState | undefined,
  field: F,
): Read<Shapes[K][F]> {
  return narrow(shapes[kind][field] as Shape, heads(record, field)[0]?.value) as Read<Shapes[K][F]>;
}

/** readEach reads the fields NAME.ID of a record as [ID, value], by stamp of the first writing. */
export function readEach<K extends keyof Shapes, F extends string & keyof Shapes[K]>(
  kind: K,
  record: RecordState | undefined,
  field: F,
): [string, Read<Shapes[K][F]>][] {
  return many(record, field).map(([id, v]) => [id, narrow(shapes[kind][field] as Shape, v) as Read<Shapes[K][F]>]);
}

/** readValue reads a part of a field's value. */
export const readValue = <F extends keyof Shapes["value"]>(name: F, v: Json | undefined): Read<Shapes["value"][F]> =>
  read(shapes.value[name], v) as Read<Shapes["value"][F]>;
