import { say } from "./language";

/**
 * What the technician's day says of the coming days and of rounds that were changed, in English.
 */
export const aheadWords = say("ahead", {
  tookBack: (title: string, why: string) =>
    `The office took the round “${title}” back: ${why} What is begun of it is kept and can be finished.`,
  leftOut: "The office left these out of the round; what is begun of them is kept.",
  stops: (n: number) => (n === 1 ? "1 instrument" : `${n} instruments`),
  comingTitle: "The coming days",
});
