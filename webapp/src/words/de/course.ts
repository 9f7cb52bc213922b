import type { courseWords } from "../course";

/** What follows from a decision of a programme, in German. */
export const course: typeof courseWords = {
  taken: "dieser Teil wird ausgeführt",
  otherwise: "der andere Teil wird ausgeführt",
  again: "noch einmal",
  on: "es geht weiter",
};
