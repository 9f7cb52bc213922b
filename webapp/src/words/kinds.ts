import { type Named, say } from "./language";
import { methodsWords } from "./methods";

/**
 * The texts of the forms for methods of every kind of work and for what an instrument is, in
 * English.
 */
export const kindsWords = say("kinds", {
  number: (field: string) => `${field}: a number is needed.`,
  whole: (field: string) => `${field}: a whole number is needed.`,
  time: (field: string) => `${field}: write h:min:s, min:s or seconds.`,
  numbers: (field: string) => `${field}: numbers with blanks between are needed.`,
  needed: (field: string) => `${field}: this is needed.`,
  clock: "h:min:s",
  up: (what: string) => `Move up: ${what}`,
  remove: (what: string) => `Take away: ${what}`,
  add: (what: string) => `Add: ${what}`,
  paste: {
    title: "Paste rows of a spreadsheet",
    rows: "Rows",
    order: (columns: string) => `One row a line, its columns in this order: ${columns}.`,
    take: "Take these rows",
    nothing: "There is no row in it.",
    wide: (line: number, cells: number, most: number) => `Line ${line} has ${cells} columns; there are only ${most}.`,
  },

  kinds: methodsWords.kinds,
  title: (kind: string) => `A method: ${kind}`,
  usual: "What is filled in here is common practice, not a rule. Check each value.",
  remembered:
    "Where a limit is left empty, the rule's own is taken as this program remembers it, and every finding says so: hold it against the current text of the rule. A limit typed here counts as yours, with the source below.",
  tried: (tag: string) => `Tried on ${tag}`,
  triedOn: "Tried on an instrument such as",
  low: "Low end",
  high: "High end",
  unit: "Unit",
  mode: "Pressure",
  modes: [
    ["gauge", "gauge"],
    ["absolute", "absolute"],
  ] as Named<"gauge" | "absolute">,
  plan: "See what it comes to",
  unfit: (why: string) => `On this instrument it cannot be: ${why}`,

  things: {
    gauge: "Gauge or transmitter",
    leak: "Closed system",
    switch: "Pressure switch",
    burst: "Rupture discs of a lot",
    altimeter: "Altimeter",
    airspeed: "Airspeed indicator",
    "vertical-speed": "Vertical speed indicator",
    "reporting-altitude": "Source of reported altitude",
    "pitot-static-leak": "Pitot and static system",
  } as Record<string, string>,
  newItem: "Add an instrument",
  changeItem: "Change its data",
  site: "Site",
  noSite: "none",
  itemHint: "Visits that have begun keep what they began with.",
  tagTaken: (tag: string) =>
    `${tag} is in the register already; a scan cannot tell two instruments with one tag apart.`,
  aliasTaken: (alias: string, tag: string) =>
    `Other names: ${alias} is a name of ${tag} already, as its tag or among its other names.`,
  long: (field: string, n: number) => `${field}: no more than ${n} characters.`,
  months: (n: number) => `Tested every: from 1 to ${n} months.`,
  added: (tag: string) => `${tag} is added.`,
  itemKeep: "Save the data",
  needsLimit: "Limit: a gauge needs one to be judged by.",

  particulars: "What it is",
  change: "Change what it is",
  give: "Say what it is",
  keep: "Keep",
  leave: "Leave it",
  kept: "Kept.",
  same: "Nothing differs from what is on record.",
  contested: "There are several values for this; settle them first.",
});
