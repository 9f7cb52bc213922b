import { say } from "./language";

/** The texts of a change of many instruments, in English. */
export const bulkWords = say("bulk", {
  open: "Change",
  title: (n: number) => (n === 1 ? "Change 1 instrument" : `Change ${n.toLocaleString()} instruments`),
  hint: "Only what is ticked is changed. The next step shows what becomes of each; nothing is written before.",
  fields: {
    method: "Method",
    interval_months: "Interval",
    area: "Area",
    due: "Due",
    status: "State",
    language: "Language of certificates",
  } as Record<string, string>,
  months: "months",
  dueHint: "Empty takes the date away.",
  areaHint: "Empty takes the area away.",
  states: [
    ["in service", "in service"],
    ["out of service", "out of service: no visit begins on it"],
  ] as [string, string][],
  languages: [
    ["", "as its site's"],
    ["en", "English"],
    ["de", "German"],
  ] as [string, string][],
  noMethod: "choose one",
  preview: "Show what changes",
  cancel: "Cancel",
  back: "Back",
  shown: (n: number) => (n === 1 ? "1 instrument changes" : `${n.toLocaleString()} instruments change`),
  same: (n: number) => (n === 0 ? "" : `${n.toLocaleString()} have it already.`),
  refused: (n: number) => (n === 1 ? "1 cannot be changed" : `${n} cannot be changed`),
  go: (n: number) => (n === 1 ? "Change this instrument" : `Change these ${n.toLocaleString()}`),
  done: (n: number) => (n === 1 ? "1 instrument changed." : `${n.toLocaleString()} instruments changed.`),
  undo: "Undo",
  undone: (n: number) =>
    n === 1 ? "Undone: 1 instrument is as it was." : `Undone: ${n.toLocaleString()} instruments are as they were.`,
  kept: (n: number, tags: string) => `${n} keep what was changed since: ${tags}.`,
  earlier: "Changes to several",
  none: "Nothing was changed for several instruments yet.",
  by: (what: string, n: number, by: string, at: string) => `${what} of ${n.toLocaleString()}, ${by}, ${at}`,
  wasUndone: "undone",
  changed: "Something changed since this was shown. Check it again.",
});
