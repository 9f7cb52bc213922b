import { say } from "./language";

/** The texts of a step's figures, in English. */
export const figureWords = say("figures", {
  moves: {
    raise: (to: string, from: string) => (from === "" ? `Raise to ${to}` : `Raise from ${from} to ${to}`),
    lower: (to: string, from: string) => (from === "" ? `Lower to ${to}` : `Lower from ${from} to ${to}`),
    stay: (to: string) => `Stay at ${to}`,
    set: (to: string) => `Set ${to}`,
  } as Record<string, (to: string, from: string) => string>,
  modes: { gauge: "gauge", absolute: "absolute" } as Record<string, string>,
  hints: { up: "Do not overshoot.", down: "Do not undershoot." } as Record<string, string>,
  atStandard: (value: string) => `The standard shows ${value} gauge`,
  most: (value: string, overload: boolean) => `Do not exceed ${value}${overload ? " (overload limit)" : ""}`,
  may: (span: string) => `May show ${span}`,
  should: (value: string) => `Should show ${value}`,
  allowed: (span: string) => `Allowed ${span}`,
  changeWithin: {
    contact: (span: string) => `Must change within ${span}`,
    drop: (span: string) => `Burst expected within ${span}`,
  } as Record<string, (span: string) => string>,
  deadBand: (span: string) => `Dead band ${span}`,
  notBelow: (value: string) => `Must not end below ${value}`,
  notAbove: (value: string) => `Must not end above ${value}`,
  change: (value: string, limit: string) =>
    `Expected change from the reading before: ${value}${limit === "" ? "" : ` \u00b1 ${limit}`}`,
  changeLimit: (value: string) => `May differ from the reading before by ${value}`,
  leakLimit: (limit: string, perMinute: string) =>
    `Leak allowed: ${[limit, perMinute].filter(Boolean).join(", here ")}`,
  testPressure: (value: string) => `Test pressure ${value}`,
  unjudged: "Not judged at this point",
  nth: {
    cycle: (n: number, all: number) => `Cycle ${n} of ${all}`,
    disc: (n: number, all: number) => `Disc ${n} of ${all}`,
    run: (n: number, all: number) => `Run ${n} of ${all}`,
  } as Record<string, (n: number, all: number) => string>,
  nthShort: { cycle: "cycle", disc: "disc", run: "run" } as Record<string, string>,
  until: (what: string) => (what === "" ? "" : `Until ${what}.`),
  ofsShort: { before_tap: "before tapping", applied: "the standard" } as Record<string, string>,
});
