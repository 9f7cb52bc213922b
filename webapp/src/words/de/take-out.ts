import type { takeOutWords } from "../take-out";

/** The texts of taking records out, in German. */
export const takeOut: typeof takeOutWords = {
  title: "Alles ausgeben",
  hint: "Eine Zip-Datei mit Geräten, Prüfungen mit jedem Messwert wie eingegeben und wie berichtigt, Ergebnissen, Normalen, Kalibrierscheinen, Fotos und Aufzeichnungen von Loggern. Die Tabellen sind als CSV und als JSON dabei. Sie ist ohne dieses Programm lesbar, wird mit „gaugewright verify“ geprüft und mit „gaugewright import“ in eine neue Anlage eingelesen.",
  secret:
    "Sie nennt Personen und zeigt ihre Unterschriften: so aufbewahren wie die Aufzeichnungen selbst. Passwörter und Schlüssel sind nicht darin.",
  which: "Was",
  all: "die ganze Anlage",
  some: (n: number) =>
    `die ${n.toLocaleString("de")}, die das Verzeichnis jetzt zeigt, mit allem, worauf ihre Aufzeichnungen beruhen`,
  go: "Zip-Datei speichern",
  stop: "Anhalten",
  back: "Zurück zum Verzeichnis",
  going: (mb: number) =>
    `Bisher ${mb.toLocaleString("de", { maximumFractionDigits: 1 })} MB. Diese Seite offen lassen.`,
  done: (mb: number) => `Gespeichert: ${mb.toLocaleString("de", { maximumFractionDigits: 1 })} MB.`,
  name: "gaugewright-export.zip",
};
