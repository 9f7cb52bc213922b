import type { bringResultsWords } from "../bring-results";

/** The texts of bringing in results of the past, in German. */
export const bringResults: typeof bringResultsWords = {
  title: "Ergebnisse von früher einlesen",
  hint: "Eine Tabelle als CSV mit einer Zeile je Prüfpunkt: Nummer oder Seriennummer, Datum, Punkt, Abweichung vorgefunden und, soweit bekannt, Abweichung hinterlassen, Grenze, Urteil, Nummer des Scheins, Labor, Name seiner Datei. Zeilen eines Geräts und Tages sind eine Prüfung. Sie sind als eingelesen gekennzeichnet und sehen nie wie hier getane Arbeit aus.",
  file: "Tabelle wählen",
  other: "Andere Tabelle wählen",
  papers: "Die genannten Scheine wählen",
  papersHint: "Alle auf einmal, höchstens 20 MB; die übrigen später mit derselben Tabelle.",
  missing: (list: string[]) => `Noch zu wählen: ${list.join(", ")}`,
  unused: (list: string[]) => `Spalten, aus denen nichts genommen wird: ${list.join(", ")}`,
  dates: "Daten wie 02/03/2020",
  dateOrders: { dmy: "haben den Tag vorn", mdy: "haben den Monat vorn" },
  counts: (fresh: number, same: number, bad: number) => `${fresh} neu, ${same} schon hier, ${bad} ausgelassen`,
  line: "Zeile",
  tag: "Nummer",
  date: "Tag",
  becomes: "Was daraus wird",
  fresh: (points: number) =>
    points === 0 ? "neu, nur das Urteil" : points === 1 ? "neu, 1 Punkt" : `neu, ${points} Punkte`,
  same: "ist schon hier",
  left: "hinterlassen",
  go: (n: number) => `${n.toLocaleString("de")} einlesen`,
  nothing: "Es gibt nichts einzulesen",
  done: (n: number) => `${n.toLocaleString("de")} Ergebnisse von früher wurden eingelesen.`,
  back: "Zurück zum Verzeichnis",
};
