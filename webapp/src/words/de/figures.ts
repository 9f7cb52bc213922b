import type { figureWords } from "../figures";

/** The texts of a step's figures, in German. */
export const figures: typeof figureWords = {
  moves: {
    raise: (to: string, from: string) => (from === "" ? `Auf ${to} erhöhen` : `Von ${from} auf ${to} erhöhen`),
    lower: (to: string, from: string) => (from === "" ? `Auf ${to} senken` : `Von ${from} auf ${to} senken`),
    stay: (to: string) => `Bei ${to} bleiben`,
    set: (to: string) => `${to} einstellen`,
  },
  modes: { gauge: "Überdruck", absolute: "absolut" },
  hints: { up: "Nicht überschreiten.", down: "Nicht unterschreiten." },
  atStandard: (value: string) => `Das Normal zeigt ${value} Überdruck`,
  most: (value: string, overload: boolean) => `Nicht über ${value}${overload ? " (Überlastgrenze)" : ""}`,
  may: (span: string) => `Darf zeigen ${span}`,
  should: (value: string) => `Sollwert ${value}`,
  allowed: (span: string) => `Erlaubt ${span}`,
  changeWithin: {
    contact: (span: string) => `Muss schalten innerhalb ${span}`,
    drop: (span: string) => `Bersten erwartet innerhalb ${span}`,
  },
  deadBand: (span: string) => `Schalthysterese ${span}`,
  notBelow: (value: string) => `Darf nicht unter ${value} enden`,
  notAbove: (value: string) => `Darf nicht über ${value} enden`,
  change: (value: string, limit: string) =>
    `Erwartete Änderung zum Messwert davor: ${value}${limit === "" ? "" : ` \u00b1 ${limit}`}`,
  changeLimit: (value: string) => `Darf vom Messwert davor um ${value} abweichen`,
  leakLimit: (limit: string, perMinute: string) =>
    `Zulässige Leckrate: ${[limit, perMinute].filter(Boolean).join(", hier ")}`,
  testPressure: (value: string) => `Prüfdruck ${value}`,
  unjudged: "An diesem Prüfpunkt ohne Urteil",
  nth: {
    cycle: (n: number, all: number) => `Zyklus ${n} von ${all}`,
    disc: (n: number, all: number) => `Scheibe ${n} von ${all}`,
    run: (n: number, all: number) => `Durchgang ${n} von ${all}`,
  },
  nthShort: { cycle: "Zyklus", disc: "Scheibe", run: "Durchgang" },
  until: (what: string) => (what === "" ? "" : `Bis ${what}.`),
  ofsShort: { before_tap: "vor dem Klopfen", applied: "das Normal" },
};
