import { say } from "./language";

/** The texts of messages about an instrument, between phones and the office, in English. */
export const messageWords = say("messages", {
  title: "Messages",
  none: "Nobody has written about this instrument.",
  hint: "The office and everybody who has this instrument on their phone can read it. It cannot be deleted.",
  label: "Write to the office",
  labelOffice: "Write to the technicians",
  send: "Send",
  empty: "Message: write a few words.",
  long: (n: number) => `Message: at most ${n} characters.`,
  unseen: (n: number) => (n === 1 ? "1 new message" : `${n} new messages`),
  office: "office",
  waits: "on this device, not sent yet",
  sent: "sent",
  seenBy: (names: string) => `seen by ${names}`,
  someone: "somebody",
});
