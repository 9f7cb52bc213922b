import type { otherMethodWords } from "../other-method";

/** The texts of a visit that begins by another method than the one set, in German. */
export const otherMethod: typeof otherMethodWords = {
  title: "Nach anderem Verfahren",
  about:
    "Nur diese Prüfung folgt dem gewählten Verfahren. Das für das Gerät eingestellte bleibt. Der Grund wird mit der Prüfung unterschrieben und steht in ihrem Kalibrierschein.",
  looking: "Es wird geprüft, welche Verfahren zu diesem Gerät passen …",
  none: "Kein anderes genehmigtes Verfahren passt zu diesem Gerät.",
  choose: "Verfahren",
  version: (n: number) => `Version ${n}`,
  programme: "Programm",
  unsuitable: (n: number) => (n === 1 ? "1 ungeeignetes, mit Grund" : `${n} ungeeignete, mit Grund`),
  reason: "Grund für dieses Verfahren",
  reasonHint: "Etwa: der Kunde wünscht 3 Punkte.",
  needMethod: "Verfahren: eines wählen.",
  needReason: "Grund für dieses Verfahren: ein paar Worte schreiben.",
  start: "Prüfung nach diesem Verfahren beginnen",
};
