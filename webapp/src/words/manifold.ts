import { say } from "./language";

/** The texts of several gauges on one manifold, in English. */
export const manifoldWords = say("manifold", {
  title: "Gauges on one manifold",
  about:
    "Each pressure is set once, and every gauge is read at it, one after the other. Each has its own visit, result and signature.",
  chosen: "On this manifold",
  remove: (tag: string) => `Remove ${tag}`,
  find: "Add: tag, serial, area or words",
  scan: "Scan a tag",
  add: (tag: string) => `Add ${tag}`,
  unknown: "This tag is not on this device.",
  looking: "Looking whether they suit each other …",
  most: (high: string) => `No pressure above ${high}: the lowest range decides.`,
  start: (n: number) => `Start with these ${n}`,
  wrong: {
    few: "Add a second gauge.",
    many: "At most six: more cannot be read before the pressure has moved.",
    twice: "It is here twice.",
    begun: "You have begun a visit of it: end that first.",
    since: "Its safety function failed last time: it is tested on its own.",
    kind: "It is no gauge that is read at set pressures.",
    pointer_set: "Its method sets the pointer to each point: it is tested on its own.",
    remount: "Its method takes it off between series: it is tested on its own.",
    mode: "It measures another kind of pressure (gauge, absolute, differential).",
    oxygen: "One is in oxygen service and the other is not: they share no line, hose or medium.",
    points: "Its pressures, waits or order differ.",
    over: "The pressures of the others are above its range.",
    method: "It has no method on this device.",
  } as Record<string, string>,
  with: (tag: string) => `Compared with ${tag}.`,
  place: (n: number, all: number) => `Gauge ${n} of ${all} on this manifold`,
  read: (n: number, all: number) => `${n} of ${all}`,
  all: (n: number) => (n === 1 ? "1 gauge" : `All ${n} gauges`),
  begin: (n: number) => `Start as found: all ${n}`,
  beginHint:
    "All gauges stand under pressure together. Nothing is adjusted before their as-found runs are closed. See once more that each is isolated from its line.",
  taking: "Taking over the standard and the surroundings of the first gauge …",
  leave: "This gauge cannot be read",
  leaveTitle: (tag: string) => `${tag} leaves the set`,
  leaveText:
    "Its run ends here; the others go on. It stays under pressure with them: if it leaks, is damaged or may burst, stop all and vent.",
  leaveWhy: "Why it cannot be read",
  needLeave: "Why it cannot be read: write a few words.",
  stopAll: "Stop all gauges",
  stopTitle: "Vent first",
  next: (tag: string) => `Next gauge of this manifold: ${tag}`,
});
