import { say } from "./language";

/** What the round says of the day: what to bring, how far work is, and its summary, in English. */
export const todayWords = say("today", {
  bring: "Bring",
  standards: (n: number) => (n === 1 ? "1 standard" : `${n} standards`),
  time: (minutes: number, unknown: number) =>
    `about ${minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`}${unknown === 0 ? "" : ` + ${unknown} unknown`}`,
  connections: (list: string) => `Fittings: ${list}`,
  media: (list: string) => `In the lines: ${list}`,
  oxygen: "Oxygen: standard, hoses and medium clean for oxygen only.",
  oxygenShort: "clean for oxygen",
  unserved: (tags: string) => `No standard fits: ${tags}`,
  unread: (tags: string) => `Nothing reads the signal: ${tags}`,
  noAir: (tags: string) => `No barometer for: ${tags}`,
  notVented: "not vented",
  notVentedAt: (at: string) => `not vented, ${at} set`,
  step: (n: number, of: number) => `step ${n} of ${of}`,
  summary: "The day",
  sum: (done: number, failed: number, untested: number, going: number, open: number) =>
    [
      `${done} done`,
      failed === 0 ? "" : `${failed} of them failed`,
      untested === 0 ? "" : `${untested} not tested`,
      going === 0 ? "" : `${going} in progress`,
      open === 0 ? "" : `${open} to do`,
    ]
      .filter(Boolean)
      .join(" · "),
  allSent: "All signed work of today's rounds has been sent.",
  unsent: (tags: string) => `Only on this phone: ${tags}`,
  failed: "Failed",
  back: "Returned by the office",
  untested: "Not tested",
  going: "In progress",
  left: "To do",
  done: "Done",
});
