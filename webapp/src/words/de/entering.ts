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
  again: "Passwort wiederholen",
  differ: "Die beiden sind nicht gleich.",
  hint: "Mehrere Wörter ohne Zusammenhang ergeben ein gutes Passwort.",
  go: "Anmelden",
  wrong: "Dieser Code ist falsch oder abgelaufen. Die Uhr des Geräts prüfen, das ihn zeigt.",
  many: "Zu viele Versuche. Etwas warten.",
};
