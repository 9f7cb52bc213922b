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
  advice: (action: string, reason: string, method: string, months: string, by: string) => {
    const why =
      {
        outside: "the last error found was outside the limit",
        bound:
          method === "forecast"
            ? "by the forecast, more than 5 % are outside before an interval ends"
            : "of instruments like it, more than 5 % are outside before an interval ends",
        now: "after an adjustment the interval is long enough; as it is now, it is not",
        close: "the last error found was above 80 % of the limit",
        room: "it is long enough, and half as much again would not be",
        alone: "the forecast allows a longer one; the office compares similar instruments",
        little: "there are too few results to say more",
        shortest: "it is already the shortest",
      }[reason] ?? reason;
    if (action === "reduce") return `Shorten it to ${months} months: ${why}.`;
    if (action === "sooner") return `Keep it, and this once test or adjust sooner, by ${by}: ${why}.`;
    if (action === "extend") return `It may be lengthened to ${months} months: ${why}.`;
    return `Keep it: ${why}.`;
  },
  present: (months: string) => `Now ${months} months.`,
  kin: "Compare with similar instruments",
  counted: (passed: number, of: number) =>
    `${passed} of ${of} as-found results with this limit and interval were inside.`,
  fewKin: "At least 20 are needed before an interval can rest on them.",
  warning: "Note",
});
