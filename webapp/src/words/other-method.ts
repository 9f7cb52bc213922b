import { say } from "./language";

/** The texts of a visit that begins by another method than the one set, in English. */
export const otherMethodWords = say("otherMethod", {
  title: "By another method",
  about:
    "This visit alone is done by the method you choose. The method set for the instrument stays. The reason is signed with the visit and printed on its certificate.",
  looking: "Checking which methods suit this instrument …",
  none: "No other approved method suits this instrument.",
  choose: "Method",
  version: (n: number) => `version ${n}`,
  programme: "programme",
  unsuitable: (n: number) => (n === 1 ? "1 that does not suit, and why" : `${n} that do not suit, and why`),
  reason: "Reason for this method",
  reasonHint: "Such as: the customer asked for 3 points.",
  needMethod: "Method: choose one.",
  needReason: "Reason for this method: write a few words.",
  start: "Start the visit by this method",
});
