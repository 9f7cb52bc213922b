const onwards = new Map([
  ["then", "this part is done"],
  ["else", "the other part is done"],
  ["again", "once more"],
]);

/** The words of a programme's run, shown wherever a run is shown. */
export const courseWords = {
  because: (reason: string, taken: string) => `${reason}: ${onwards.get(taken) ?? "it goes on"}`,
  way: (reasons: number, flags: number) =>
    `How it came to this step: ${[reasons === 1 ? "1 decision" : `${reasons} decisions`, flags === 0 ? "" : flags === 1 ? "1 remark" : `${flags} remarks`].filter(Boolean).join(", ")}`,
  chart: "The readings over the time of the run",
  stopped: (why: string) => `The programme stopped: ${why}`,
};
