import type { exchangeWords } from "../exchange";

/** The texts of another instrument in the place of one, in German. */
export const exchange: typeof exchangeWords = {
  title: "Hier hängt jetzt ein anderes Gerät",
  hint: "Nummer, Bereich, Ort, Verfahren und Warnungen gehen auf das andere über. Die Prüfungen bleiben bei diesem, denn sie sind von ihm; es geht unter seiner Seriennummer außer Betrieb. Eines, das früher hier war, wird an seiner Seriennummer erkannt, mit seinen eigenen Prüfungen.",
  serial: "Seriennummer des anderen",
  manufacturer: "Hersteller, wenn ein anderer",
  model: "Typ, wenn ein anderer",
  same: "Messbereich, Grenze und Ablesbarkeit werden übernommen: auf der nächsten Seite ansehen.",
  go: "Tauschen",
  cancel: "Abbrechen",
};
