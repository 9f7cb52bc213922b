import type { todayWords } from "../today";

/** What the round says of the day, in German. */
export const today: typeof todayWords = {
  bring: "Mitnehmen",
  standards: (n: number) => (n === 1 ? "1 Normal" : `${n} Normale`),
  time: (minutes: number, unknown: number) =>
    `etwa ${minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`}${unknown === 0 ? "" : ` + ${unknown} unbekannt`}`,
  connections: (list: string) => `Anschlüsse: ${list}`,
  media: (list: string) => `In den Leitungen: ${list}`,
  oxygen: "Sauerstoff: nur Normal, Schläuche und Druckmittel, die für Sauerstoff gereinigt sind.",
  oxygenShort: "für Sauerstoff gereinigt",
  unserved: (tags: string) => `Kein Normal passt: ${tags}`,
  unread: (tags: string) => `Nichts misst das Signal: ${tags}`,
  noAir: (tags: string) => `Kein Barometer für: ${tags}`,
  notVented: "nicht entlüftet",
  notVentedAt: (at: string) => `nicht entlüftet, ${at} eingestellt`,
  step: (n: number, of: number) => `Schritt ${n} von ${of}`,
  summary: "Der Tag",
  sum: (done: number, failed: number, untested: number, going: number, open: number) =>
    [
      `${done} fertig`,
      failed === 0 ? "" : `davon ${failed} nicht bestanden`,
      untested === 0 ? "" : `${untested} nicht geprüft`,
      going === 0 ? "" : `${going} in Arbeit`,
      open === 0 ? "" : `${open} offen`,
    ]
      .filter(Boolean)
      .join(" · "),
  allSent: "Alle unterschriebene Arbeit der heutigen Rundgänge ist gesendet.",
  unsent: (tags: string) => `Nur auf diesem Telefon: ${tags}`,
  failed: "Nicht bestanden",
  back: "Vom Büro zurückgegeben",
  untested: "Nicht geprüft",
  going: "In Arbeit",
  left: "Offen",
  done: "Fertig",
};
