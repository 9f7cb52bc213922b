import { say } from "./language";

/**
 * The texts about certificates of a visit and about correcting a visit that the office opened
 * again, in English.
 */
export const amendWords = say("amend", {
  papers: "Certificates",
  issued: (date: string) => `issued ${date}`,
  inForce: "valid",
  replacedBy: (number: string) => `Replaced by certificate ${number}: no longer valid.`,
  replaces: (number: string) => `Replaces certificate ${number}.`,
  why: (reason: string) => `Reason: ${reason}`,
  different: (what: string) => `What is different: ${what}`,
  amending:
    "This visit is being corrected. A new certificate will replace this one; do not rely on this one meanwhile.",
  anew: "This visit was corrected and approved again. The new certificate has not been issued yet.",
  fetch: (number: string) => `Certificate ${number}`,
  offline: "The document is at the office, which cannot be reached now.",

  title: "Corrections",
  hint: "What was recorded stays on record; the office sees both values, with the reason.",
  open: (n: number) => (n === 1 ? "1 recorded value" : `${n} recorded values`),
  correct: "Correct",
  needReason: "First enter a reason.",
  was: (value: string) => `was ${value}`,
  parts: "Other data",
  item: "Tag, serial, maker",
  identity: "Tag and condition",
  standard: "Standard",
  surroundings: "Ambient conditions",
  itemHint: "As on the nameplate. Range and limit stay as they were on the day.",
  fields: { tag: "Tag", serial: "Serial", description: "Description", manufacturer: "Maker", model: "Model" } as Record<
    string,
    string
  >,
  keep: "Keep",
  back: "Back",
});
