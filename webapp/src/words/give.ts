import { say } from "./language";

/** The texts for giving a method to instruments, in English. */
export const giveWords = say("give", {
  facts: "Change its data",
  title: "Method",
  none: "none yet: no visit can begin",
  away: "a method that is not on this device",
  contested: "two people chose different methods: see who chose which",
  exchange: "Replaced by another instrument",
  give: "Assign a method",
  another: "Assign another method",
  to: (n: number) => (n === 1 ? "Assign a method to 1 instrument" : `Assign a method to ${n} instruments`),
  hint: "Each instrument is checked first: the plan is laid out for its range. Visits that have begun keep the method they began with.",
  choose: "Method",
  kind: (kind: string) => kind.replaceAll("-", " "),
  version: (n: number) => `version ${n}`,
  noMethods: "No method of this kind of work is on record.",
  needed: "Method: choose one.",
  go: "Assign it",
  checking: (done: number, all: number) => `${done} of ${all} checked …`,
  writing: (done: number, all: number) => `${done} of ${all} written …`,
  refused: (n: number) => (n === 1 ? "1 instrument cannot take it:" : `${n} instruments cannot take it:`),
  missing: "it is not on this device",
  otherKind: (kind: string, wants: string) =>
    `it is of the kind ${kind.replaceAll("-", " ")}, the method is for ${wants.replaceAll("-", " ")}`,
  others: (n: number) => (n === 1 ? "Assign it to the other one" : `Assign it to the other ${n}`),
  done: (given: number, had: number, name: string) =>
    `${name}: given to ${given === 1 ? "1 instrument" : `${given} instruments`}${had === 0 ? "" : had === 1 ? ", 1 had it already" : `, ${had} had it already`}. Phones get it when they next connect.`,
  cancel: "Cancel",
});
