import type { courseWords } from "../course";

/** What follows from a decision of a programme, in German. */
export const course: typeof courseWords = {
  taken: "die Schritte dieses Teils folgen",
  otherwise: "die Schritte des anderen Teils folgen",
  again: "noch einmal",
  on: "es geht weiter",
};
