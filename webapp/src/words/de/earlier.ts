import type { earlierWords } from "../earlier";

/** The texts of results of the past that were brought in, in German. */
export const earlier: typeof earlierWords = {
  title: "Von früher eingelesen",
  hint: "Aus einer Tabelle der Vergangenheit. Nichts davon wurde hier geprüft, unterschrieben oder freigegeben; die Fehler zählen im Verlauf und in der Vorschau.",
  certificate: (number: string, by: string) => ["Schein", number, by && `von ${by}`].filter(Boolean).join(" "),
  open: "Den Schein öffnen",
  from: (sheet: string, line: string) => `${sheet}, Zeile ${line}`,
};
