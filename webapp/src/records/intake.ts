import type { Json } from "../wire/records";

/** How a list's file is read; what is left out is guessed. */
export type Reading = {
  map?: { [heading: string]: string };
  set?: { [field: string]: string };
  values?: { [field: string]: { [cell: string]: string } };
  decimal?: string;
  dates?: string;
  delimiter?: string;
  header?: number;
  new_sites?: boolean;
  twice?: string;
  serials?: string;
  moved?: string;
};

export type Cause = {
  field: string;
  heading: string;
  code: string;
  lost: boolean;
  rows: number;
  lines: number[];
  says: string;
  values: { text: string; count: number }[];
  repair: string;
};

export type TrialRow = {
  line: number;
  tag: string;
  state: string;
  problems: string[];
  lost: string[];
  changes: { field: string; before: Json; after: Json }[];
};

/** What importing a list would do. */
export type Trial = {
  reading: Reading;
  kept: boolean;
  encoding: string;
  header: number;
  titles: string[];
  headings: { text: string; field: string; sample: string[] }[];
  fields: string[];
  count: { [state: string]: number };
  causes: Cause[];
  rows: TrialRow[];
  new_sites: string[];
  shown: string;
};

/** base64 writes the bytes of a file as JSON carries them. */
export async function base64(file: Blob): Promise<string> {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const piece = 0x8000; // as many arguments as every browser takes
  let text = "";
  for (let i = 0; i < bytes.length; i += piece) text += String.fromCharCode(...bytes.subarray(i, i + piece));
  return btoa(text);
}

/**
 * mapped assigns a heading to a field, or to none. It removes another heading's assignment to the
 * field.
 */
export function mapped(t: Trial, heading: string, field: string): Reading {
  const map = { ...t.reading.map };
  if (field !== "") for (const h of t.headings) if (h.field === field && h.text !== heading) map[h.text] = "";
  map[heading] = field;
  return { ...t.reading, map };
}
