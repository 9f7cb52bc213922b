import type { cautionWords } from "../cautions";

/** The texts of the cautions before any pressure, in German. */
export const cautions: typeof cautionWords = {
  title: "Vor jedem Druck",
  law: "Örtliche Vorschriften, die Freigaben des Betreibers und das Wartungshandbuch gehen vor. Nur arbeiten, wofür Befugnis und Ausbildung vorliegen.",
  read: "Jede Zeile nach der Prüfung abhaken.",
  go: "Alles geprüft: weiter",
  permit: "Arbeitserlaubnis: Nummer",
  permitHint: "Wo der Betrieb eine verlangt. Sie wird mit der Prüfung unterschrieben und auf ihr Papier gedruckt.",
  permitNone: "keine",
  permitOfSet: "Wie bei den anderen Manometern dieses Verteilers",
  permitChange: "Nummer der Arbeitserlaubnis für dieses Manometer ändern",
  codes: {
    lock_out:
      "Die Leitung ist abgesperrt, gegen Öffnen gesichert und gekennzeichnet, und eine verantwortliche Person weiß, dass hier gearbeitet wird.",
    stand_aside: "Niemand steht vor dem Prüfling, hinter ihm oder vor einer Verschraubung, während der Druck steigt.",
    vent: "Bevor eine Verschraubung gelöst wird: entlüften und null an einer zweiten Anzeige nachweisen.",
    stored_energy:
      "Gas unter Druck und Schläuche unter Druck speichern Energie. Das Volumen klein halten, den Druck langsam erhöhen, Schläuche gegen Peitschen sichern.",
    oxygen:
      "Sauerstoff: nur saubere, ölfreie Werkzeuge, Schläuche und Druckmittel, die für Sauerstoff bestimmt sind. Im Zweifel nicht anschließen.",
    toxic:
      "Der Messstoff kann schaden. Ausspülen, die Luft messen, die vorgeschriebene Schutzausrüstung tragen und an einen sicheren Ort entlüften.",
    flight:
      "Luftfahrzeugsystem: das Wartungshandbuch, seine Grenzen der Änderungsgeschwindigkeit und seine Freigabe zum Betrieb befolgen. Dieses Blatt ersetzt nichts davon.",
    vacuum: "Unter Umgebungsdruck: prüfen, dass Prüfling und Behälter das aushalten.",
    asphyxiation:
      "Dieses Gas verdrängt in einem geschlossenen Raum die Atemluft und kann ohne Vorwarnung ersticken: lüften, den Sauerstoff messen und die Entlüftung ins Freie führen.",
    hot: "Heiße Teile oder heißer Messstoff: abkühlen lassen oder Schutz tragen.",
  },
};
