import type { bulkWords } from "../bulk";

const n = (x: number) => x.toLocaleString("de");

/** The texts of a change of many instruments, in German. */
export const bulk: typeof bulkWords = {
  open: "Ändern",
  title: (x: number) => (x === 1 ? "1 Gerät ändern" : `${n(x)} Geräte ändern`),
  hint: "Nur was angehakt ist, wird geändert. Der nächste Schritt zeigt, was aus jedem wird; davor wird nichts geschrieben.",
  fields: {
    method: "Verfahren",
    interval_months: "Prüfabstand",
    area: "Anlagenteil",
    due: "Fällig",
    status: "Status",
    language: "Sprache der Kalibrierscheine",
  },
  months: "Monate",
  dueHint: "Leer nimmt das Datum weg.",
  areaHint: "Leer nimmt den Anlagenteil weg.",
  states: [
    ["in service", "in Betrieb"],
    ["out of service", "außer Betrieb: keine Prüfung beginnt daran"],
  ],
  languages: [
    ["", "wie die seines Standorts"],
    ["en", "Englisch"],
    ["de", "Deutsch"],
  ],
  noMethod: "eines wählen",
  preview: "Zeigen, was sich ändert",
  cancel: "Abbrechen",
  back: "Zurück",
  shown: (x: number) => (x === 1 ? "1 Gerät ändert sich" : `${n(x)} Geräte ändern sich`),
  same: (x: number) => (x === 0 ? "" : `${n(x)} haben es schon.`),
  refused: (x: number) =>
    x === 1
      ? "1 kann es nicht annehmen und bleibt, wie es ist"
      : `${x} können es nicht annehmen und bleiben, wie sie sind`,
  go: (x: number) => (x === 1 ? "Dieses Gerät ändern" : `Diese ${n(x)} ändern`),
  done: (x: number) => (x === 1 ? "1 Gerät geändert." : `${n(x)} Geräte geändert.`),
  undo: "Rückgängig",
  undone: (x: number) =>
    x === 1 ? "Rückgängig: 1 Gerät ist wieder, wie es war." : `Rückgängig: ${n(x)} Geräte sind wieder, wie sie waren.`,
  kept: (x: number, tags: string) => `${x} behalten, was seitdem geändert wurde: ${tags}.`,
  earlier: "Änderungen an mehreren",
  none: "Noch wurde nichts an mehreren Geräten geändert.",
  by: (what: string, x: number, by: string, at: string) => `${what} von ${n(x)}, ${by}, ${at}`,
  wasUndone: "rückgängig gemacht",
  changed: "Seit das gezeigt wurde, hat sich etwas geändert. Noch einmal ansehen.",
};
