import type { settingsWords } from "../settings";

/** The texts of the screen about this device, in German. */
export const settings: typeof settingsWords = {
  title: "Dieses Gerät",
  storage: "Speicher",
  persisted: "Der Browser behält ihn auch, wenn der Platz knapp wird",
  notPersisted: "Der Browser kann ihn leeren, wenn der Platz knapp wird",
  persist: "Den Browser bitten, ihn zu behalten",
  installed: "Auf diesem Gerät installiert",
  notInstalled: "Läuft in einem Browser-Tab",
  installHint:
    "Vor der ersten Arbeit aus dem Menü des Browsers installieren (auf manchen Telefonen: Teilen, dann zum Startbildschirm): die Arbeit eines Tabs kann nach einigen Tagen ohne Nutzung gelöscht werden.",
  used: (mb: string) => `${mb.replace(".", ",")} MB belegt`,
  unsent: "Ungesendete Arbeit",
  save: "Ungesendete Arbeit in einer Datei sichern",
  saved: "Die Datei liegt bei den Downloads.",
  nothing: "Hier wartet nichts.",
  look: "Darstellung",
  ground: "Tag oder Nacht",
  theme: { auto: "Wie das Gerät", day: "Tag", night: "Nacht" },
  language: "Sprache",
  fetching: "Die Sprache wird geholt …",
  away: "Die Sprache konnte nicht geholt werden: eine Verbindung zum Büro ist nötig. Nichts wurde geändert.",
  mark: "Dezimalzeichen",
  marks: { ".": "Punkt: 2.5", ",": "Komma: 2,5" },
  user: "Person",
  account: "Passwort, zweiter Faktor, Anmeldungen",
  loginAgain:
    "Das Büro nimmt die Anmeldung dieses Geräts nicht mehr an. Was hier wartet, bleibt gespeichert und geht nach einer neuen Anmeldung hinaus.",
  logout: "Abmelden",
  logoutWaits: (n: number) =>
    `${n === 1 ? "1 eigener Eintrag hat das Büro noch nicht erreicht. Er bleibt" : `${n} eigene Einträge haben das Büro noch nicht erreicht. Sie bleiben`} auf diesem Gerät und ${n === 1 ? "geht" : "gehen"} erst nach einer neuen eigenen Anmeldung hier hinaus, nicht unter der Anmeldung einer anderen Person.`,
  logoutRefused:
    "Was das Büro nicht angenommen hat, liegt dort und wird dort entschieden. Nach dem Abmelden zeigt dieses Gerät es nicht mehr.",
  logoutNow: "Trotzdem abmelden",
  stay: "Angemeldet bleiben",
  version: "Version",
  userAs: (name: string, as: string) => (as === "" ? name : `${name}, ${as}`),
  userLogin: (name: string) => `Anmeldename: ${name}`,
  userHint: "Name und Funktion stehen unter allem, was Sie unterschreiben. Ein Administrator ändert sie.",
  refused: "Vom Büro zurückgestellt",
  forked: (when: string) =>
    `Am ${when} zeigte sich eine Kopie vom Speicher dieses Geräts: dieses Gerät führt seitdem einen eigenen Namen. Nichts ging verloren; was ungesendet war, geht hinaus, wie es geschrieben wurde.`,
};
