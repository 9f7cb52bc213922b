import type { alongWords } from "../along";

/** What is said of instruments that a device of a large plant does not hold, in German. */
export const along: typeof alongWords = {
  fetching: "Wird aus dem Büro geholt …",
  notHere: "Der Datensatz ist nicht auf diesem Gerät.",
  missingHint: "Es kommt beim nächsten Kontakt mit dem Büro, wenn es zum eigenen Standort gehört.",
  noLine:
    "Es gibt keine Verbindung zum Büro. Was das Verzeichnis weiß, steht darunter; der Datensatz, seine Vergangenheit und eine Prüfung brauchen die Verbindung einmal. Vor einem Tag im Funkloch den Bereich mitnehmen.",
  refused: "Das Büro war nicht zu erreichen. Noch einmal versuchen.",
  unknown: "Das Büro hat dazu nichts, was Sie sehen dürfen.",
  again: "Noch einmal versuchen",
  title: "Einen Bereich mitnehmen",
  hint: "Vor einem Tag ohne Verbindung: Jedes Gerät des Bereichs kommt mit seinen letzten zwei Prüfungen hierher und bleibt, bis der Tag vorbei ist.",
  find: "Bereich suchen",
  more: (n: number) => `${n} weitere Bereiche: einen Teil des Namens eingeben.`,
  days: (last: string) => `Ein Tag von heute bis ${last}.`,
  area: "Bereich",
  noArea: "ohne Bereich",
  until: "Bleibt bis",
  option: (area: string, held: number, all: number) => `${area}: ${held} von ${all} hier`,
  take: (n: number) => (n === 1 ? "1 Gerät mitnehmen" : `${n} Geräte mitnehmen`),
  tooMany: (n: number, most: number) => `${n} Geräte sind mehr, als mitgenommen werden können: ${most}.`,
  progress: (done: number, all: number) => `${done} von ${all} sind hier`,
  done: (n: number, day: string) => `${n} Geräte bleiben hier bis ${day}.`,
  broken: (done: number, all: number) =>
    `Die Verbindung ist abgebrochen: ${done} von ${all} sind hier. Noch einmal mitnehmen, um weiterzumachen.`,
  lacks: (n: number) => (n === 1 ? "1 davon hat das Büro nicht gegeben." : `${n} davon hat das Büro nicht gegeben.`),
};
