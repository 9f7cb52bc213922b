import type { exchangeWords } from "../exchange";

/** The texts of another instrument in the place of one, in German. */
export const exchange: typeof exchangeWords = {
  title: "Hier sitzt jetzt ein anderes Gerät",
  hint: "Messstelle, Bereich, Ort, Verfahren und Hinweise gehen auf das andere über. Die Prüfungen bleiben bei diesem, denn sie sind von ihm; es geht unter seiner Seriennummer außer Betrieb. Eines, das früher hier war, wird an seiner Seriennummer gefunden, mit seinen eigenen Prüfungen.",
  serial: "Seriennummer des anderen",
  manufacturer: "Hersteller, wenn es ein anderer ist",
  model: "Typ, wenn es ein anderer ist",
  same: "Messbereich, Grenze und Ablesbarkeit werden übernommen: auf der nächsten Seite ansehen.",
  go: "Austauschen",
  cancel: "Abbrechen",
};
