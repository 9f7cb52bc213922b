import { say } from "./language";

/** What is said of instruments that a device of a large plant does not hold, in English. */
export const alongWords = say("along", {
  fetching: "Fetching it from the office…",
  notHere: "This device does not hold its record.",
  missingHint: "It arrives at the next connection to the office if it belongs to your site.",
  noLine:
    "There is no line to the office. What the register says is below; the record, its past and a test need the line once. Before a day in a dead spot, take the area along.",
  refused: "The office could not be asked. Try again.",
  unknown: "The office has nothing of this that you are given.",
  again: "Try again",
  title: "Take an area along",
  hint: "Before a day without a line: every instrument of the area comes to this device with its last two visits, and stays until the day has passed.",
  find: "Find an area",
  more: (n: number) => `${n} more areas: type a part of the name.`,
  days: (last: string) => `A day from today to ${last}.`,
  area: "Area",
  noArea: "without an area",
  until: "Stays until",
  option: (area: string, held: number, all: number) => `${area}: ${held} of ${all} here`,
  take: (n: number) => (n === 1 ? "Take 1 instrument along" : `Take ${n} instruments along`),
  tooMany: (n: number, most: number) => `${n} instruments are more than a device takes along, which is ${most}.`,
  progress: (done: number, all: number) => `${done} of ${all} are here`,
  done: (n: number, day: string) => `${n} instruments stay here until ${day}.`,
  broken: (done: number, all: number) =>
    `The line broke off: ${done} of ${all} are here. Take it along again to go on.`,
  lacks: (n: number) => (n === 1 ? "The office did not give 1 of them." : `The office did not give ${n} of them.`),
});
