import type { connectionWords } from "../connection";

/** The texts of the drawing of what is connected to what, in German. */
export const connection: typeof connectionWords = {
  drawing: (parts: string) => `Zeichnung, von der Druckquelle an: ${parts}`,
  parts: {
    source: "Druckquelle mit Feineinstellung",
    isolate: "Absperrventil",
    vent: "Entlüftungsventil",
    standard: "Normal",
    instrument: "Prüfling",
    others: "Die anderen Manometer am Verteiler",
    loop: "Messgerät in der Stromschleife",
    contact: "Messgerät am Kontakt, vom Stromkreis der Anlage getrennt",
    system: "System unter Prüfung, jede andere Öffnung geschlossen",
    disc: "Scheibe im Halter hinter einem Schutz, Auslass abgeführt",
    tester: "Prüfgerät für Luftdaten: Quelle und Normal",
    cross: "Ventil, das Pitot und Statik verbindet",
    static: "Statikleitung",
    pitot: "Pitotleitung",
  },
  notes: {
    gauge: "Die Leitung zum Prozess bleibt zu. Normal und Prüfling auf einer Höhe, oder den Unterschied angeben.",
    manifold: "Jedes Manometer ist von seiner Prozessleitung abgesperrt. Die Höhe jedes höheren oder tieferen angeben.",
    leak: "Das Absperrventil ist vor der Wartezeit geschlossen, damit die Quelle das Leck nicht speist.",
    switch: "Der Stromkreis der Anlage wird zuerst gesichert. Die Leitung zum Prozess bleibt zu.",
    burst: "Niemand steht in der Richtung des Auslasses. Das Volumen klein halten.",
    pitot: "Pitot nie unter Statik. Jede andere Öffnung der Leitungen ist geschlossen.",
    static:
      "Jede andere Öffnung der Statikleitung ist geschlossen. Hängt ein Fahrtmesser daran: Pitot mit Statik verbinden.",
  },
};
