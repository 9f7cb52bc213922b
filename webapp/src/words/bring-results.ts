import { say } from "./language";
/** The texts of bringing in results of the past, in English. */
export const bringResultsWords = say("bringResults", {
  title: "Import past results",
  hint: "A sheet saved as CSV with a row for each test point: tag or serial number, date, point, error as found, and where they are known error as left, limit, verdict, number of the certificate, laboratory, name of its file. Rows of one instrument and day are one test. They are marked as brought in and never look like work done here.",
  file: "Choose a sheet",
  other: "Choose another sheet",
  papers: "Choose the certificates it names",
  papersHint: "All at once, at most 20 MB; the rest with the same sheet later.",
  missing: (list: string[]) => `Still to be chosen: ${list.join(", ")}`,
  unused: (list: string[]) => `Columns not used: ${list.join(", ")}`,
  dates: "Dates such as 02/03/2020",
  dateOrders: { dmy: "have the day first", mdy: "have the month first" },
  counts: (fresh: number, same: number, bad: number) => `${fresh} new, ${same} here already, ${bad} left out`,
  line: "Line",
  tag: "Tag",
  date: "Day",
  becomes: "Result",
  fresh: (points: number) =>
    points === 0 ? "new, verdict only" : points === 1 ? "new, 1 point" : `new, ${points} points`,
  same: "is here already",
  left: "as left",
  inLine: (line: number, says: string) => `line ${line}: ${says}`,
  go: (n: number) => `Bring in ${n.toLocaleString()}`,
  nothing: "There is nothing to import",
  done: (n: number) => `${n.toLocaleString()} results of the past were brought in.`,
  back: "Back to the register",
});
