import { say } from "./language";

/** The texts for giving a method to instruments, in English. */
export const giveWords = say("give", {
  facts: "Change its facts",
  title: "Method",
  none: "none yet: no visit can begin",
  away: "a method that is not on this device",
  contested: "two methods stand against each other: look at who chose which",
  exchange: "Another one is mounted here",
  give: "Give a method",
  another: "Give another method",
  to: (n: number) => (n === 1 ? "Give a method to 1 instrument" : `Give a method to ${n} instruments`),
  hint: "Each instrument is checked first: the plan is laid out for its range. Visits that have begun keep the method they began with.",
  choose: "Method to be given",
  kind: (kind: string) => kind.replaceAll("-", " "),
  version: (n: number) => `version ${n}`,
  noMethods: "No method of this kind of work is on record.",
  needed: "Method to be given: choose one.",
  go: "Give it",
  checking: (done: number, all: number) => `${done} of ${all} checked …`,
  writing: (done: number, all: number) => `${done} of ${all} written …`,
  refused: (n: number) => (n === 1 ? "1 instrument cannot take it:" : `${n} instruments cannot take it:`),
  missing: "it is not on this device",
  otherKind: (kind: string, wants: string) =>
    `it is of the kind ${kind.replaceAll("-", " ")}, the method is for ${wants.replaceAll("-", " ")}`,
  others: (n: number) => (n === 1 ? "Give it to the other one" : `Give it to the other ${n}`),
  done: (given: number, had: number, name: string) =>
    `${name}: given to ${given === 1 ? "1 instrument" : `${given} instruments`}${had === 0 ? "" : had === 1 ? ", 1 had it already" : `, ${had} had it already`}. Phones have it with their next contact.`,
  cancel: "Leave it",
});
