import type { particularsWords } from "../particulars";

/** The texts about what instruments of other kinds than gauges are, in German. */
export const particulars: typeof particularsWords = {
  volume: "Volumen",
  addedVolume: "Zugeschaltetes Volumen, um es zu messen",
  litres: (n: string) => `${n} L`,
  contact: (name: string) => `Kontakt ${name}`,
  acts: { rising: "schaltet steigend bei", falling: "schaltet fallend bei" },
  deadBand: (low: string, high: string) => `Schalthysterese ${low} bis ${high}`,
  safe: (side: string) => `sicherer Zustand ${({ open: "offen", closed: "geschlossen" })[side] ?? side}`,
  safety: "Sicherheitsfunktion",
  pressures: {
    marked: "Angegebener Berstdruck",
    requested: "Angeforderter Berstdruck",
    full_scale: "Messbereichsendwert des Sensors",
  },
  manufacturing: "Fertigungsbereich",
  texts: { lot: "Los", lot_size: "Scheiben im Los", material: "Werkstoff" },
  coincident: "Zugehörige Temperatur",
  weakest: "Schwächstes Teil",
};
