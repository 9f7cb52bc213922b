import { asText, type Json, list, type RecordState, sentBack, text, value } from "../wire/records";

/** Entry is what a list needs of an instrument: small, in the order of the tags, so that thousands are read and searched without their records. */
export type Entry = {
  /** The tag with its numbers filled up, so that 9 stands before 10. */
  order: string;
  id: string;
  tag: string;
  description: string;
  serial: string;
  area: string;
  place: string;
  range: Json;
  /** All that a search looks through, in small letters. */
  words: string;
};

const searched = ["tag", "serial", "description", "manufacturer", "model", "medium", "area", "place", "label"];

/** entryOf gives the entry of an instrument. */
export function entryOf(state: RecordState): Entry {
  const [tag, description, serial, area, place] = ["tag", "description", "serial", "area", "place"].map((f) => text(state, f)) as [
    string,
    string,
    string,
    string,
    string,
  ];
  const words = [...searched.map((f) => text(state, f)), ...list(state, "aliases").map(asText)].join(" ").toLowerCase();
  return { order: orderOf(tag), id: state.id, tag, description, serial, area, place, range: value(state, "range") ?? null, words };
}

/** orderOf gives the text by which a tag is sorted. */
export function orderOf(tag: string): string {
  return tag
    .normalize("NFKD")
    .toLowerCase()
    .replace(/\d+/g, (d) => d.padStart(12, "0"));
}

/** matches says whether every word of a search is in an entry. */
export function matches(entry: Pick<Entry, "words">, search: string): boolean {
  return search
    .trim()
    .toLowerCase()
    .split(/\s+/)
    .every((word) => entry.words.includes(word));
}

/** Under these keys a record is found without reading others of its kind. */
export const keyTo = {
  visits: (instrument: string) => `v/${instrument}`,
  /** The visits that belong to a round. */
  round: (id: string) => `r/${id}`,
  /** A person's visits that are neither signed nor approved, or came back from the office. */
  begun: (person: string) => `o/${person}`,
  label: (label: string) => `t/${label.toLowerCase()}`,
  /** The instruments that are tested by a method. */
  method: (id: string) => `m/${id}`,
  /** The rounds of a day. */
  day: (date: string) => `d/${date.slice(0, 10)}`,
};

/** keysOf gives the keys under which a record is kept. */
export function keysOf(state: RecordState): string[] {
  const under = (key: (of: string) => string, field: string) => (text(state, field) === "" ? [] : [key(text(state, field))]);
  switch (state.kind) {
    case "visit": {
      const begun = value(state, "signature") === undefined ? value(state, "approval") === undefined : sentBack(state).length > 0;
      return [...under(keyTo.visits, "instrument"), ...under(keyTo.round, "round"), ...(begun ? under(keyTo.begun, "person") : [])];
    }
    case "instrument":
      return [...under(keyTo.label, "label"), ...under(keyTo.method, "method")];
    case "round":
      return value(state, "taken_back") ? [] : under(keyTo.day, "date");
    default:
      return [];
  }
}
