import type { kindsWords } from "../kinds";
import { methods } from "./methods";

/** The texts of the forms for methods and for what an instrument is, in German. */
export const kinds: typeof kindsWords = {
  number: (field: string) => `${field}: eine Zahl ist nötig.`,
  whole: (field: string) => `${field}: eine ganze Zahl ist nötig.`,
  time: (field: string) => `${field}: als h:min:s, min:s oder Sekunden schreiben.`,
  numbers: (field: string) => `${field}: Zahlen mit Leerzeichen dazwischen sind nötig.`,
  needed: (field: string) => `${field}: das ist nötig.`,
  clock: "h:min:s",
  up: (what: string) => `Nach oben: ${what}`,
  remove: (what: string) => `Entfernen: ${what}`,
  add: (what: string) => `Hinzufügen: ${what}`,
  paste: {
    title: "Zeilen aus einer Tabelle einfügen",
    rows: "Zeilen",
    order: (columns: string) => `Eine Zeile je Punkt, die Spalten in dieser Reihenfolge: ${columns}.`,
    take: "Diese Zeilen übernehmen",
    nothing: "Es steht keine Zeile darin.",
    wide: (line: number, cells: number, most: number) => `Zeile ${line} hat ${cells} Spalten; es gibt nur ${most}.`,
  },

  kinds: methods.kinds,
  title: (kind: string) => `Ein Verfahren: ${kind}`,
  usual: "Was hier schon steht, ist übliche Praxis und keine Vorschrift. Jeden Wert ansehen.",
  remembered:
    "Bleibt eine Grenze leer, gilt die der Vorschrift, wie dieses Programm sie in Erinnerung hat, und jeder Befund sagt es: mit der geltenden Fassung der Vorschrift vergleichen. Eine hier eingetippte Grenze gilt als eigene, mit der Quelle unten.",
  tried: (tag: string) => `Ausprobiert an ${tag}`,
  triedOn: "Ausprobiert an einem Gerät wie",
  low: "Unteres Ende",
  high: "Oberes Ende",
  unit: "Einheit",
  mode: "Druck",
  modes: [
    ["gauge", "Überdruck"],
    ["absolute", "absolut"],
  ],
  plan: "Sehen, was daraus wird",
  unfit: (why: string) => `An diesem Gerät geht es nicht: ${why}`,

  things: {
    gauge: "Manometer oder Messumformer",
    leak: "Geschlossenes System",
    switch: "Druckschalter",
    burst: "Berstscheiben eines Loses",
    altimeter: "Höhenmesser",
    airspeed: "Fahrtmesser",
    "vertical-speed": "Variometer",
    "reporting-altitude": "Quelle der gemeldeten Höhe",
    "pitot-static-leak": "Pitot- und Statiksystem",
  },
  newItem: "Gerät hinzufügen",
  changeItem: "Angaben ändern",
  site: "Standort",
  noSite: "keiner",
  itemHint: "Begonnene Prüfungen behalten, womit sie begannen.",
  tagTaken: (tag: string) =>
    `${tag} steht schon im Verzeichnis; zwei Geräte mit einer Messstelle sind beim Scannen nicht zu unterscheiden.`,
  aliasTaken: (alias: string, tag: string) =>
    `Andere Namen: ${alias} ist schon ein Name von ${tag}, als Messstelle oder unter den weiteren Namen.`,
  long: (field: string, n: number) => `${field}: höchstens ${n} Zeichen.`,
  months: (n: number) => `Geprüft alle: von 1 bis ${n} Monate.`,
  added: (tag: string) => `${tag} ist hinzugefügt.`,
  itemKeep: "Angaben speichern",
  needsLimit: "Fehlergrenze: ein Manometer braucht eine, nach der es beurteilt wird.",

  particulars: "Was es ist",
  change: "Ändern, was es ist",
  give: "Angeben, was es ist",
  keep: "Speichern",
  leave: "So lassen",
  kept: "Gespeichert.",
  same: "Nichts weicht vom Gespeicherten ab.",
  contested: "Dafür stehen mehrere Werte; sie zuerst klären.",
};
