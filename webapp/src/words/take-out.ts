import { say } from "./language";
/** The texts of taking records out, in English. */
export const takeOutWords = say("takeOut", {
  title: "Export everything",
  hint: "A zip with instruments, visits with every reading as typed and as corrected, findings, standards, certificates, photos and loggers' records. Tables are there as CSV and as JSON. It can be read without this program, checked with “gaugewright verify” and brought into a new plant with “gaugewright import”.",
  secret:
    "It names people and shows their signatures: keep it as you keep your records. Passwords and keys are not in it.",
  which: "What",
  all: "the whole plant",
  some: (n: number) => `the ${n.toLocaleString()} that the register shows now, with what their records rest on`,
  go: "Save the zip",
  stop: "Stop",
  back: "Back to the register",
  going: (mb: number) => `${mb.toFixed(1)} MB so far. Keep this page open.`,
  done: (mb: number) => `Saved: ${mb.toFixed(1)} MB.`,
  name: "gaugewright-export.zip",
});
