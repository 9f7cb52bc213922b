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
  amending: "This visit is being corrected. A new certificate will take this one's place; do not rely on it meanwhile.",
  anew: "This visit was corrected and approved anew. A new certificate has not been issued yet.",
  fetch: (number: string) => `Certificate ${number}`,
  offline: "The document lies in the office, which cannot be reached now.",

  title: "Corrections",
  hint: "What was recorded stays on record; the office sees both values, with the reason.",
  open: (n: number) => (n === 1 ? "1 recorded value" : `${n} recorded values`),
  correct: "Correct",
  needReason: "First say why.",
  was: (value: string) => `was ${value}`,
  parts: "What was recorded besides",
  item: "Tag, serial, maker",
  identity: "Tag and condition",
  standard: "Standard",
  surroundings: "Surroundings",
  itemHint: "As they stand on the instrument. Range and limit are those of the day and stay.",
  fields: { tag: "Tag", serial: "Serial", description: "Description", manufacturer: "Maker", model: "Model" } as Record<
    string,
    string
  >,
  keep: "Keep",
  back: "Back",
});
