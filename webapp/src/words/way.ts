import { say } from "./language";

/** The words of the way that a programme's run took. */
export const wayWords = say("way", {
  way: (reasons: number, flags: number) =>
    `How it came to this step: ${[reasons === 1 ? "1 decision" : `${reasons} decisions`, flags === 0 ? "" : flags === 1 ? "1 remark" : `${flags} remarks`].filter(Boolean).join(", ")}`,
  chart: "The readings over the time of the run",
  stopped: (why: string) => `The programme stopped: ${why}`,
});
