import { say } from "./language";
/** The texts of erasing personal values in English; they come with it. */
export const eraseWords = say("erase", {
  title: "Erase personal values",
  hint: "For a person who may ask for it. What is chosen is gone for good: here, at hubs and on phones. Backups made before still have it.",
  none: "Nothing here shows or names a person any more.",
  choose: "What to erase",
  what: {
    signature: (text: string) => (text === "" ? "Signature: strokes" : `Signature: name (${text}) and strokes`),
    photo: (text: string) => (text === "" ? "Photo" : `Photo with its caption: ${text}`),
    remark: (text: string) => `Remark: ${text}`,
    name: (text: string) => `Full name: ${text}`,
    initials: (text: string) => `Initials: ${text}`,
    function: (text: string) => `Function: ${text}`,
  } as Record<string, (text: string) => string>,
  by: (who: string, at: string, changes: number) =>
    `${who}, ${at}${changes > 1 ? `; in ${changes} entries of the journal` : ""}`,
  why: "Why it is erased",
  whyHint: "It is kept in the event log and in the record. Do not name anybody.",
  go: "Erase the chosen values",
  sure: (n: number) =>
    n === 1
      ? "1 value is erased for good. Nobody brings it back."
      : `${n} values are erased for good. Nobody brings them back.`,
  now: "Erase it now",
  leave: "Cancel",
  done: (n: number) => (n === 1 ? "1 value was erased." : `${n} values were erased.`),
  left: (n: number) =>
    n === 0
      ? "Nothing else here shows or names a person."
      : `Still there: ${n === 1 ? "1 value" : `${n} values`}, listed below.`,
  keeps: [
    "The record keeps who erased it, when, why and the hash of what it was; so signatures, approvals and certificates hold as before.",
    "Each change keeps its author's account. Issued certificates keep the names printed on them.",
  ],
});
