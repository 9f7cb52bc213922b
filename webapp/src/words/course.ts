import { say } from "./language";
import { sentence } from "./words";

/** What follows from a decision of a programme, in English. */
export const courseWords = say("course", {
  taken: "the steps of this part follow",
  otherwise: "the steps of the other part follow",
  again: "once more",
  on: "it goes on",
});

const onwards = new Map([
  ["then", courseWords.taken],
  ["else", courseWords.otherwise],
  ["again", courseWords.again],
]);

/** because says a decision of a programme with what follows from it. */
export const because = (reason: string, taken: string) =>
  `${sentence(reason)}: ${onwards.get(taken) ?? courseWords.on}`;
