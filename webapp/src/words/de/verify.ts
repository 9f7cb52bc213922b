import type { verifyEnglish } from "../verify";

/** The texts of the page where anybody checks a certificate, in German. */
export const verify: typeof verifyEnglish = {
  title: "Einen Kalibrierschein prüfen",
  lead: "Den Code auf dem Papier scannen oder den Kalibrierschein als PDF, XML oder Aufzeichnung wählen. Nichts, was geprüft wird, verlässt dieses Gerät.",
  scan: "Code scannen",
  stop: "Kamera ausschalten",
  refused:
    "Die Kamera ist hier nicht verfügbar. Ein Foto des Codes aufnehmen oder die Seite mit der Kamera des Telefons öffnen.",
  photo: "Foto des Codes",
  file: "Datei wählen",
  drop: "oder hier ablegen",
  nothing: "In diesem Bild wurde kein Code gefunden.",
  working: "Wird geprüft …",
  number: "Nummer",
  item: "Gegenstand",
  begins: "beginnt mit",
  date: "Ausstellungsdatum",
  found: "Eingangszustand",
  left: "Ausgangszustand",
  print: "Fingerabdruck",
  none: "kein solcher Durchgang",
  replaces: "Ersetzt",
  signed: "Unterschrieben mit Schlüssel",
  holds: {
    code: "Der Code ist echt. Mit dem Papier vergleichen: Nummer, Gegenstand, Datum und Urteile müssen gleich sein.",
    pdf: "Das PDF ist so, wie das Labor es unterschrieben hat. Nichts darin wurde verändert.",
    xml: "Das XML und das Papier darin sind so, wie das Labor sie unterschrieben hat. Nichts darin wurde verändert.",
    record: "Die Aufzeichnung ist so, wie das Labor sie unterschrieben hat. Nichts darin wurde verändert.",
  },
  replaced: (number: string) => `Nicht mehr gültig: Kalibrierschein ${number} ersetzt diesen.`,
  another: "ein anderer Kalibrierschein",
  ended: (day: string, why: string) =>
    `Der Schlüssel, der ihn unterschrieben hat, ist seit ${day} außer Gebrauch: ${why}.`,
  after: (day: string) =>
    `Nicht darauf verlassen: der Schlüssel, der ihn unterschrieben hat, war bei der Ausstellung außer Gebrauch (${day}).`,
  bad: "Das hält nicht stand.",
  why: {
    form: "Es ist kein Kalibrierschein dieser Art, oder es wurde verändert.",
    seal: "Das PDF hat kein Siegel des Labors, oder das Siegel wurde abgeschnitten oder verändert.",
    bytes: "Es wurde nach der Unterschrift verändert.",
    key: "Keiner der Schlüssel dieses Labors hat es unterschrieben.",
    evidence: "Das ist die ganze Aufzeichnung der Arbeit. Mit dem Programm prüfen: gaugewright verify.",
    alone: "Im XML ist kein Papier. Das XML prüfen, das das Labor ausgibt, oder das PDF, in dem es liegt.",
  },
  unable:
    "Dieser Browser kann Unterschriften dieser Art (Ed25519) nicht prüfen, oder die Seite wurde nicht über https geöffnet. Einen neueren Browser benutzen oder das Programm: gaugewright verify.",
  unreached:
    "Die Schlüssel des Labors konnten nicht geholt werden. Noch einmal versuchen, wenn eine Verbindung besteht.",
  odd: "Die Schlüsselliste des Labors hält nicht stand: sie wurde unterwegs verändert oder ist die eines anderen. Über den Kalibrierschein sagt das nichts. Noch einmal versuchen oder das Labor fragen.",
  keptFrom: (day: string) =>
    `Geprüft mit den Schlüsseln und der Liste ersetzter Kalibrierscheine vom ${day}; jetzt besteht keine Verbindung.`,
  shows:
    "Das zeigt, dass seit der Unterschrift des Labors nichts verändert wurde. Es ist keine Akkreditierung und keine qualifizierte elektronische Signatur.",
};
