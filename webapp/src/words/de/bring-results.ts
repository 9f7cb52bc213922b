import type { bringResultsWords } from "../bring-results";

const number = (x: number) => x.toLocaleString("de");

/** The texts of bringing in results of the past, in German. */
export const bringResults: typeof bringResultsWords = {
  title: "Ergebnisse von früher einlesen",
  hint: "Eine Tabelle, als CSV gespeichert, mit einer Zeile für jeden Prüfpunkt: Messstelle oder Seriennummer, Datum, Punkt, Abweichung vor der Justierung (Eingangszustand), und wo bekannt Abweichung danach (Ausgangszustand), Grenze, Urteil, Nummer des Kalibrierscheins, Labor, Name seiner Datei. Zeilen eines Geräts und Tages sind eine Prüfung. Sie sind als eingelesen gekennzeichnet und sehen nie aus wie hier geprüft.",
  file: "Tabelle wählen",
  other: "Andere Tabelle wählen",
  papers: "Die genannten Kalibrierscheine wählen",
  papersHint: "Alle auf einmal, höchstens 20 MB; den Rest später mit derselben Tabelle.",
  missing: (list: string[]) => `Noch zu wählen: ${list.join(", ")}`,
  unused: (list: string[]) => `Spalten, aus denen nichts gelesen wird: ${list.join(", ")}`,
  dates: "Daten wie 02/03/2020",
  dateOrders: { dmy: "haben den Tag vorn", mdy: "haben den Monat vorn" },
  counts: (fresh: number, same: number, bad: number) => `${fresh} neu, ${same} schon da, ${bad} weggelassen`,
  line: "Zeile",
  tag: "Messstelle",
  date: "Tag",
  becomes: "Was daraus wird",
  fresh: (points: number) =>
    points === 0 ? "neu, nur das Urteil" : points === 1 ? "neu, 1 Punkt" : `neu, ${points} Punkte`,
  same: "ist schon da",
  inLine: (line: number, says: string) => `Zeile ${line}: ${says}`,
  left: "Ausgangszustand",
  go: (n: number) => `${number(n)} einlesen`,
  nothing: "Es gibt nichts einzulesen",
  done: (n: number) => `${number(n)} Ergebnisse von früher wurden eingelesen.`,
  back: "Zurück zum Verzeichnis",
};
