import type { giveWords } from "../give";
import { methods } from "./methods";

const kind = (k: string) => methods.kinds[k] ?? (k === "programme" ? "Programm" : k);

/** The texts for giving a method to instruments, in German. */
export const give: typeof giveWords = {
  facts: "Angaben ändern",
  title: "Verfahren",
  none: "noch keines: keine Prüfung kann beginnen",
  away: "ein Verfahren, das nicht auf diesem Gerät ist",
  contested: "zwei Personen wählten verschiedene Verfahren: ansehen, wer welches wählte",
  exchange: "Hier sitzt jetzt ein anderes",
  give: "Verfahren zuweisen",
  another: "Anderes Verfahren zuweisen",
  to: (n: number) => (n === 1 ? "1 Gerät ein Verfahren zuweisen" : `${n} Geräten ein Verfahren zuweisen`),
  hint: "Jedes Gerät wird zuerst geprüft: der Ablauf wird für seinen Bereich aufgestellt. Begonnene Prüfungen behalten das Verfahren, mit dem sie begannen.",
  choose: "Zuzuweisendes Verfahren",
  kind,
  version: (n: number) => `Version ${n}`,
  noMethods: "Kein Verfahren dieser Art ist gespeichert.",
  needed: "Zuzuweisendes Verfahren: eines wählen.",
  go: "Zuweisen",
  checking: (done: number, all: number) => `${done} von ${all} geprüft …`,
  writing: (done: number, all: number) => `${done} von ${all} geschrieben …`,
  refused: (n: number) => (n === 1 ? "1 Gerät kann es nicht annehmen:" : `${n} Geräte können es nicht annehmen:`),
  missing: "es ist nicht auf diesem Gerät",
  otherKind: (is: string, wants: string) => `es ist von der Art ${kind(is)}, das Verfahren ist für ${kind(wants)}`,
  others: (n: number) => (n === 1 ? "Dem anderen zuweisen" : `Den anderen ${n} zuweisen`),
  done: (given: number, had: number, name: string) =>
    `${name}: ${given === 1 ? "1 Gerät" : `${given} Geräten`} zugewiesen${had === 0 ? "" : had === 1 ? ", 1 hatte es schon" : `, ${had} hatten es schon`}. Telefone erhalten es beim nächsten Kontakt.`,
  cancel: "So lassen",
};
