import type { enteringWords } from "../entering";

/** The texts of a log-in's second step, in German. */
export const entering: typeof enteringWords = {
  second:
    "Dieses Konto hat einen zweiten Faktor. Den Code eingeben, den das Gerät jetzt zeigt, oder einen Wiederherstellungscode.",
  key: "Dieses Konto verlangt einen Passkey. Ohne ihn einen Wiederherstellungscode eingeben.",
  passkey: "Passkey benutzen",
  code: "Code",
  recovery: "Wiederherstellungscode",
  invited: "Willkommen. Ein Passwort wählen, das sonst niemand kennt.",
  new: "Eigenes Passwort, mindestens 10 Zeichen",
  again: "Dasselbe noch einmal",
  differ: "Die beiden sind nicht gleich.",
  hint: "Mehrere Wörter, die nicht zusammengehören, sind ein gutes Passwort.",
  go: "Anmelden",
  wrong: "Dieser Code gilt jetzt nicht. Auf die Uhr des Geräts sehen, das ihn zeigt.",
  many: "Zu viele Versuche. Etwas warten.",
};
