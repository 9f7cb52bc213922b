import type { eraseWords } from "../erase";

/** The texts of erasing personal values in German. */
export const erase: typeof eraseWords = {
  title: "Persönliches löschen",
  hint: "Für eine Person, die das verlangen darf. Was gewählt ist, ist endgültig fort: hier, in Zwischenstationen und auf Telefonen. Frühere Sicherungen haben es noch.",
  none: "Nichts zeigt oder nennt hier noch eine Person.",
  choose: "Was gelöscht wird",
  what: {
    signature: (text: string) => (text === "" ? "Unterschrift: Striche" : `Unterschrift: Name (${text}) und Striche`),
    photo: (text: string) => (text === "" ? "Foto" : `Foto mit seiner Beschriftung: ${text}`),
    remark: (text: string) => `Bemerkung: ${text}`,
    name: (text: string) => `Voller Name: ${text}`,
    initials: (text: string) => `Kürzel: ${text}`,
    function: (text: string) => `Funktion: ${text}`,
  },
  by: (who: string, at: string, changes: number) =>
    `${who}, ${at}${changes > 1 ? `; steht in ${changes} Einträgen des Journals` : ""}`,
  why: "Warum es gelöscht wird",
  whyHint: "Das steht im Ereignisprotokoll und in der Aufzeichnung. Darin niemanden nennen.",
  go: "Gewähltes löschen",
  sure: (n: number) =>
    n === 1
      ? "1 Wert wird endgültig gelöscht. Niemand bringt ihn zurück."
      : `${n} Werte werden endgültig gelöscht. Niemand bringt sie zurück.`,
  now: "Jetzt löschen",
  leave: "So lassen",
  done: (n: number) => (n === 1 ? "1 Wert wurde gelöscht." : `${n} Werte wurden gelöscht.`),
  left: (n: number) =>
    n === 0
      ? "Sonst zeigt oder nennt hier nichts eine Person."
      : `Noch da: ${n === 1 ? "1 Wert" : `${n} Werte`}, unten aufgeführt.`,
  keeps: [
    "Die Aufzeichnung behält, wer es wann und warum gelöscht hat, und die Prüfsumme des Gelöschten; Unterschriften, Freigaben und Kalibrierscheine gelten daher wie zuvor.",
    "Jede Änderung behält das Konto, von dem sie kam. Ausgestellte Kalibrierscheine behalten die gedruckten Namen.",
  ],
};
