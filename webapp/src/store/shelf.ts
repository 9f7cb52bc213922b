import { packed, plain } from "./search";
import {
  asObject,
  asText,
  type Json,
  list,
  mayBeBack,
  outOfService,
  type RecordState,
  signOf,
  text,
  value,
} from "../wire/records";

/**
 * Entry is what a list needs of an instrument. It is small and in the order of the tags, so that
 * thousands can be read and searched without their records.
 */
export type Entry = {
  /** The tag with its numbers padded, so that 9 comes before 10. */
  order: string;
  id: string;
  tag: string;
  description: string;
  serial: string;
  area: string;
  place: string;
  range: Json;
  /** "" for one in service. */
  status?: string;
  /** The day on which it is due. */
  due?: string;
  kind?: string;
  /** In lower case, as on the label; "" for none. */
  label?: string;
  site?: string;
  /** Nothing more of the instrument is on this device. */
  part?: 1;
  /** Everything that a search looks through, in lower case. */
  words: string;
  /** Tag, serial, other names and range, with only their letters and digits. */
  packed?: string;
};

const searched = ["tag", "serial", "description", "manufacturer", "model", "medium", "area", "place", "label", "kind"];

/** entryOf gives the entry of an instrument. */
export function entryOf(state: RecordState): Entry {
  const [tag, description, serial, area, place] = ["tag", "description", "serial", "area", "place"].map((f) =>
    text(state, f),
  ) as [string, string, string, string, string];
  const range = asObject(value(state, "range"));
  const [low, high, unit] = ["low", "high", "unit"].map((f) => asText(range[f]));
  const label = text(state, "label");
  const names = list(state, "aliases").map(asText);
  const kind = text(state, "kind");
  const words = plain(
    [...searched.map((f) => text(state, f)), kind.replaceAll("-", " "), signOf(state), ...names, low, high, unit].join(
      " ",
    ),
  );
  const status = outOfService(state) ? text(state, "status") : "";
  return {
    order: orderOf(tag),
    id: state.id,
    tag,
    description,
    serial,
    area,
    place,
    range: value(state, "range") ?? null,
    status,
    due: text(state, "due").slice(0, 10),
    kind: signOf(state),
    ...(label === "" ? {} : { label: label.toLowerCase() }),
    site: state.site,
    words,
    packed: [tag, serial, ...names, `${low}${high}${unit}`].map(packed).join(" "),
  };
}

/** orderOf gives the sort key of a tag. */
export function orderOf(tag: string): string {
  return tag
    .normalize("NFKD")
    .toLowerCase()
    .replace(/\d+/g, (d) => d.padStart(12, "0"));
}

/** The keys that find a record without reading others of its kind. */
export const keyTo = {
  visits: (instrument: string) => `v/${instrument}`,
  /** The imported past results of an instrument. */
  results: (instrument: string) => `p/${instrument}`,
  /** The visits that belong to a round. */
  round: (id: string) => `r/${id}`,
  /**
   * A person's visits that are neither signed nor approved, or may have come back from the office.
   */
  begun: (person: string) => `o/${person}`,
  label: (label: string) => `t/${label.toLowerCase()}`,
  /** The instruments that are tested by a method. */
  method: (id: string) => `m/${id}`,
  /** The instruments that have messages. */
  messages: "n/",
  /** The rounds of a day. */
  day: (date: string) => `d/${date.slice(0, 10)}`,
};

/** keysOf gives the keys of a record. */
export function keysOf(state: RecordState): string[] {
  const under = (key: (of: string) => string, field: string) =>
    text(state, field) === "" ? [] : [key(text(state, field))];
  switch (state.kind) {
    case "visit": {
      const begun = value(state, "signature") === undefined ? value(state, "approval") === undefined : mayBeBack(state);
      return [
        ...under(keyTo.visits, "instrument"),
        ...under(keyTo.round, "round"),
        ...(begun ? under(keyTo.begun, "person") : []),
      ];
    }
    case "instrument":
      return [
        ...under(keyTo.label, "label"),
        ...under(keyTo.method, "method"),
        ...(Object.keys(state.fields).some((f) => f.startsWith("message.")) ? [keyTo.messages] : []),
      ];
    case "result":
      return under(keyTo.results, "instrument");
    case "round":
      return value(state, "taken_back") ? [] : under(keyTo.day, "date");
    default:
      return [];
  }
}
