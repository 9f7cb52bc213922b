import type { manifoldWords } from "../manifold";

/** The texts of several gauges on one manifold, in German. */
export const manifold: typeof manifoldWords = {
  title: "Manometer an einem Verteiler",
  about:
    "Jeder Druck wird einmal eingestellt, und jedes Manometer wird dabei abgelesen, eines nach dem anderen. Jedes hat seine eigene Prüfung, sein Ergebnis und seine Unterschrift.",
  chosen: "An diesem Verteiler",
  remove: (tag: string) => `${tag} entfernen`,
  find: "Hinzufügen: Messstelle, Seriennummer, Bereich oder Wörter",
  scan: "Schild scannen",
  add: (tag: string) => `${tag} hinzufügen`,
  unknown: "Diese Messstelle ist nicht auf diesem Gerät.",
  looking: "Es wird geprüft, ob sie zueinander passen …",
  most: (high: string) => `Kein Druck über ${high}: der kleinste Messbereich entscheidet.`,
  start: (n: number) => `Mit diesen ${n} beginnen`,
  wrong: {
    few: "Ein zweites Manometer hinzufügen.",
    many: "Höchstens sechs: mehr sind nicht abgelesen, bevor der Druck wandert.",
    twice: "Es ist zweimal dabei.",
    begun: "Eine Prüfung davon ist begonnen: diese zuerst beenden.",
    since: "Seine Sicherheitsfunktion hat zuletzt versagt: es wird allein geprüft.",
    kind: "Es ist kein Manometer, das bei eingestelltem Druck abgelesen wird.",
    pointer_set: "Sein Verfahren stellt den Zeiger auf jeden Punkt: es wird allein geprüft.",
    remount: "Sein Verfahren nimmt es zwischen den Reihen ab: es wird allein geprüft.",
    mode: "Es misst eine andere Druckart (Überdruck, absolut, Differenz).",
    oxygen: "Eines ist im Sauerstoffdienst und das andere nicht: sie teilen weder Leitung noch Schlauch noch Medium.",
    points: "Seine Drücke, Wartezeiten oder ihre Reihenfolge weichen ab.",
    over: "Die Drücke der anderen liegen über seinem Messbereich.",
    method: "Es hat kein Verfahren auf diesem Gerät.",
  },
  with: (tag: string) => `Verglichen mit ${tag}.`,
  place: (n: number, all: number) => `Manometer ${n} von ${all} an diesem Verteiler`,
  read: (n: number, all: number) => `${n} von ${all}`,
  all: (n: number) => (n === 1 ? "1 Manometer" : `Alle ${n} Manometer`),
  begin: (n: number) => `Beginnen wie vorgefunden: alle ${n}`,
  beginHint:
    "Alle Manometer stehen gemeinsam unter Druck. Nichts wird justiert, bevor ihre Läufe wie vorgefunden abgeschlossen sind. Noch einmal nachsehen, dass jedes von seiner Leitung getrennt ist.",
  taking: "Normal und Umgebung des ersten Manometers werden übernommen …",
  leave: "Dieses Manometer ist nicht ablesbar",
  leaveTitle: (tag: string) => `${tag} verlässt die Gruppe`,
  leaveText:
    "Sein Lauf endet hier; die anderen gehen weiter. Es bleibt mit ihnen unter Druck: wenn es undicht oder beschädigt ist oder bersten kann, alle anhalten und entlüften.",
  leaveWhy: "Warum es nicht ablesbar ist",
  needLeave: "Warum es nicht ablesbar ist: ein paar Worte schreiben.",
  stopAll: "Alle Manometer anhalten",
  stopTitle: "Zuerst entlüften",
  next: (tag: string) => `Nächstes Manometer an diesem Verteiler: ${tag}`,
};
