import type { manifoldWords } from "../manifold";

/** The texts of several gauges on one manifold, in German. */
export const manifold: typeof manifoldWords = {
  title: "Manometer an einem Verteiler",
  about:
    "Jeder Druck wird einmal eingestellt, und jedes Manometer wird dabei abgelesen, eines nach dem anderen. Jedes hat seine eigene Prüfung, sein eigenes Ergebnis und seine eigene Unterschrift.",
  chosen: "An diesem Verteiler",
  remove: (tag: string) => `${tag} entfernen`,
  find: "Hinzufügen: Messstelle, Seriennummer, Bereich oder Wörter",
  scan: "Schild scannen",
  add: (tag: string) => `${tag} hinzufügen`,
  unknown: "Diese Messstelle ist nicht auf diesem Gerät.",
  looking: "Es wird geprüft, ob sie zueinander passen …",
  most: (high: string) => `Kein Druck über ${high}: der niedrigste Messbereich entscheidet.`,
  start: (n: number) => `Mit diesen ${n} beginnen`,
  wrong: {
    few: "Ein zweites Manometer hinzufügen.",
    many: "Höchstens sechs: mehr lassen sich nicht ablesen, bevor der Druck gewandert ist.",
    twice: "Es ist zweimal da.",
    begun: "Eine Prüfung davon ist begonnen: diese zuerst beenden.",
    since: "Seine Sicherheitsfunktion hat zuletzt versagt: es wird allein geprüft.",
    kind: "Es ist kein Manometer, das bei eingestellten Drücken abgelesen wird.",
    pointer_set: "Sein Verfahren stellt den Zeiger auf jeden Punkt: es wird allein geprüft.",
    remount: "Sein Verfahren nimmt es zwischen den Reihen ab: es wird allein geprüft.",
    mode: "Es misst eine andere Art von Druck (Überdruck, absolut, Differenz).",
    oxygen:
      "Eines ist für Sauerstoff im Einsatz, das andere nicht: sie teilen weder Leitung noch Schlauch noch Druckmittel.",
    points: "Seine Drücke, Wartezeiten oder deren Folge sind andere.",
    over: "Die Drücke der anderen liegen über seinem Messbereich.",
    method: "Es hat auf diesem Gerät kein Verfahren.",
  },
  with: (tag: string) => `Verglichen mit ${tag}.`,
  place: (n: number, all: number) => `Manometer ${n} von ${all} an diesem Verteiler`,
  read: (n: number, all: number) => `${n} von ${all}`,
  all: (n: number) => (n === 1 ? "1 Manometer" : `Alle ${n} Manometer`),
  begin: (n: number) => `Beginnen: Eingangszustand, alle ${n}`,
  beginHint:
    "Alle Manometer stehen zusammen unter Druck. Nichts wird justiert, bevor ihre Durchgänge im Eingangszustand abgeschlossen sind. Noch einmal nachsehen, dass jedes von seiner Leitung abgesperrt ist.",
  taking: "Normal und Umgebung werden vom ersten Manometer übernommen …",
  columnTitle: "Höhen am Verteiler",
  column: (metres: string, tag: string, above: boolean) =>
    `Das Normal ist ${metres} m ${above ? "über" : "unter"} ${tag}.`,
  columnLevel: (tag: string) => `Das Normal ist auf einer Höhe mit ${tag}.`,
  columnHint:
    "Ein Manometer, das höher oder tiefer sitzt als die anderen, braucht für die Höhenkorrektur seine eigene Höhe.",
  columnAll: "Alle auf gleicher Höhe",
  columnOwn: "Höhe jedes Manometers eingeben",
  ownTitle: (tag: string) => `Höhe von ${tag}`,
  ownHeight: (tag: string) => `Normal über ${tag}`,
  ownHint: "Ab der Mitte der Skale. Normal höher: plus. Normal tiefer: minus. Gleiche Höhe: 0.",
  leave: "Dieses Manometer ist nicht ablesbar",
  leaveTitle: (tag: string) => `${tag} scheidet aus`,
  leaveText:
    "Sein Durchgang endet hier; die anderen gehen weiter. Es steht mit ihnen weiter unter Druck: ist es undicht oder beschädigt oder kann es bersten, alle beenden und entlüften.",
  leaveWhy: "Warum es nicht ablesbar ist",
  needLeave: "Warum es nicht ablesbar ist: ein paar Worte schreiben.",
  stopAll: "Alle Manometer beenden",
  stopTitle: "Zuerst entlüften",
  next: (tag: string) => `Nächstes Manometer dieses Verteilers: ${tag}`,
};
