import type { amendWords } from "../amend";

/** The texts about certificates of a visit and about its correction, in German. */
export const amend: typeof amendWords = {
  papers: "Kalibrierscheine",
  issued: (date: string) => `ausgestellt ${date}`,
  inForce: "gültig",
  replacedBy: (number: string) => `Ersetzt durch Kalibrierschein ${number}: nicht mehr gültig.`,
  replaces: (number: string) => `Ersetzt Kalibrierschein ${number}.`,
  why: (reason: string) => `Grund: ${reason}`,
  different: (what: string) => `Änderungen: ${what}`,
  amending:
    "Diese Prüfung wird berichtigt. Ein neuer Kalibrierschein tritt an die Stelle dieses; sich bis dahin nicht auf ihn verlassen.",
  anew: "Diese Prüfung wurde berichtigt und neu freigegeben. Ein neuer Kalibrierschein ist noch nicht ausgestellt.",
  fetch: (number: string) => `Kalibrierschein ${number}`,
  offline: "Das Dokument liegt im Büro, das jetzt nicht erreichbar ist.",

  title: "Berichtigungen",
  hint: "Was erfasst wurde, bleibt in der Aufzeichnung; das Büro sieht beide Werte mit dem Grund.",
  open: (n: number) => (n === 1 ? "1 erfasster Wert" : `${n} erfasste Werte`),
  correct: "Berichtigen",
  needReason: "Zuerst den Grund angeben.",
  was: (value: string) => `vorher ${value}`,
  parts: "Was sonst erfasst wurde",
  item: "Messstelle, Seriennummer, Hersteller",
  identity: "Schild und Zustand",
  standard: "Normal",
  surroundings: "Umgebungsbedingungen",
  itemHint: "Wie sie auf dem Gerät stehen. Bereich und Fehlergrenze sind die des Tages und bleiben.",
  fields: {
    tag: "Messstelle",
    serial: "Seriennummer",
    description: "Beschreibung",
    manufacturer: "Hersteller",
    model: "Typ",
  },
  keep: "Speichern",
  back: "Zurück",
};
