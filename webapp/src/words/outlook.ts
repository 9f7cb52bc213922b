import { say } from "./language";

/** The texts about what an instrument's past says of its future, in English. */
export const outlookWords = say("outlook", {
  title: "What to expect",
  little: "Too little history: a forecast needs three as-found results between adjustments.",
  expected: (date: string, point: string, error: string) =>
    `On ${date}, at ${point}: an error of ${error} is to be expected`,
  band: (low: string, high: string) => `between ${low} and ${high} with 95 % probability`,
  outside: (p: string) => `probability of lying outside the limit ${p}`,
  slope: (s: string) => `it moves by ${s} a year`,
  due: (date: string, point: string) =>
    `From ${date} on, more than 5 % probability of being outside, first at ${point}.`,
  past: (date: string, point: string) =>
    `Since ${date} the probability of being outside is above 5 %, first at ${point}.`,
  chart: (point: string) => `Errors found at ${point} over the years, the limits, and what is expected`,
  now: "expected",
  interval: "Interval",
  actions: {
    "reduce outside": "The last error found was outside the limit: shorten the interval.",
    "reduce forecast": "The forecast passes 5 % before the due date: shorten the interval.",
    "keep close": "The last error found was close to the limit: keep the interval.",
    "keep forecast": "The forecast holds to the due date, but not much longer: keep the interval.",
    "extend steady":
      "The last error was small and the forecast holds well beyond the due date: the interval may be longer.",
    extend: "From the last result alone: it was within 80 % of the limit, so the interval may be longer.",
    keep: "From the last result alone: it was close to the limit, so keep the interval.",
    reduce: "From the last result alone: it was outside the limit, so shorten the interval.",
  } as Record<string, string>,
  present: (months: string) => `Now ${months} months.`,
  kin: "Compare with similar instruments",
  counted: (passed: number, of: number) =>
    `${passed} of ${of} as-found results with this limit and interval were inside.`,
  months: (m: string, target: string) =>
    `Counted over all of them, ${target} are inside when due at about ${m} months. The advice above is from this instrument alone.`,
  fewKin: (n: number) => `Only ${n} results: at least 20 are needed for an interval.`,
  warning: "Note",
});
