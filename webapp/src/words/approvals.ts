import { say } from "./language";

/** The texts of what waits for a second person, and of the versions of a method, in English. */
export const approvalWords = say("approvals", {
  version: (n: number) => `version ${n}`,
  waiting: "Waits for a second person",
  waitingSending: "Your draft is saved on this device. It can be put into force once it is sent.",
  draftBy: (who: string, when: string) => `Draft by ${who}, ${when}`,
  reason: (why: string) => `Reason: ${why}`,
  noReason: "No reason is given.",
  stale: (from: number, now: number) =>
    `It was made from version ${from}; version ${now} is in force now. What differs from that is listed here.`,
  used: (n: number) => (n === 1 ? "1 instrument is tested by it." : `${n} instruments are tested by it.`),
  cannot: (n: number) =>
    n === 1 ? "1 of them could not be tested by this draft:" : `${n} of them could not be tested by this draft:`,
  more: (n: number) => `${n} more`,
  member: "What",
  was: "In force",
  is: "Draft",
  before: "Before",
  after: "Since then",
  noDifference: "Nothing differs.",
  ownDraft: "You wrote it. Another person of the office looks at it and puts it into force.",
  aloneHint:
    "There is nobody else in the office. You can put it into force yourself; the version says for good that no second person looked.",
  noteLabel: "Note to the approval, if any",
  approve: (n: number) => `Put into force as version ${n}`,
  approveAlone: (n: number) => `Put version ${n} into force without a second person`,
  approved: (n: number) => `Version ${n} is in force. Phones have it with their next contact.`,
  sendBack: "Send the draft back",
  sendBackWhy: "What is to be changed in it",
  sendBackNeeded: "What is to be changed in it: write a few words.",
  sentBack: (who: string, when: string, why: string) => `Sent back by ${who}, ${when}: ${why}`,
  withdraw: "Delete the draft",
  conflict: {
    changed: "The draft or the method has changed since it was shown. It is shown anew: look again.",
    own: "Whoever wrote it does not put it into force. Another person of the office has to.",
    contested: "Two people changed it without seeing each other. Settle that first.",
  } as Record<string, string>,
  versions: "Versions",
  differed: "What was changed",
  writtenBy: (who: string) => `written by ${who}`,
  putBy: (who: string) => `put into force by ${who}`,
  putAlone: (who: string) => `put into force by ${who}, without a second person`,
  putUnknown: "no approval is on record",
});
