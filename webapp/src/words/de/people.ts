import type { peopleWords } from "../people";

/** The texts of the office's screen about people, in German. */
export const people: typeof peopleWords = {
  title: "Personen",
  name: "Name",
  role: "Rolle",
  roles: { technician: "Prüffachkraft", reviewer: "Prüfleitung", administrator: "Verwaltung", hub: "Zwischenstelle" },
  add: "Einladen",
  code: (name: string) =>
    `Diesen Code ${name} persönlich geben. Innerhalb von sieben Tagen meldet ${name} sich damit anstelle eines Passworts an und wählt eines. Er wird nur dieses eine Mal gezeigt:`,
  new: "Person einladen",
  newHint: "Jeder Name wird einmal vergeben. Das gewählte Passwort kennt nur die Person selbst.",
  exists: "Name: er ist schon vergeben.",
  alter: "Ändern",
  keepRole: "Rolle speichern",
  invite: "Neuen Code geben",
  inviteHint: "Für ein verlorenes Passwort oder einen verlorenen Code. Das alte Passwort und alle Anmeldungen enden.",
  altered: (name: string) => `Gespeichert. Jedes Gerät von ${name} muss sich neu anmelden.`,
  logins: (n: number) =>
    n === 0 ? "Nirgends angemeldet." : n === 1 ? "Auf 1 Gerät angemeldet." : `Auf ${n} Geräten angemeldet.`,
  endLogins: "Diese Anmeldungen beenden",
  second: "hat einen zweiten Faktor",
  invited: "eingeladen",
  endSecond: "Zweiten Faktor entfernen",
  endSecondHint:
    "Für ein verlorenes Gerät: seine Codes, alle Passkeys und Wiederherstellungscodes enden. Sicher sein, wer darum bittet.",
  secondEnded: (name: string) => `${name} meldet sich jetzt allein mit dem Passwort an.`,
  linked: "kommt über die Anmeldung der Organisation",
  provider: "Name bei der Anmeldung der Organisation",
  providerHint:
    "Unter diesem Namen meldet sich die Person über die Organisation an, zum ersten Mal innerhalb von sieben Tagen.",
  providerAs: (name: string, linked: boolean) =>
    linked
      ? `Meldet sich über die Organisation an, als ${name}.`
      : `Wird über die Anmeldung der Organisation erwartet, als ${name}.`,
  providerKeep: "Auf diesem Weg hereinlassen",
  providerEnd: "Diesen Weg nehmen",
  last: "Das ist die einzige Person der Verwaltung. Zuerst eine andere benennen.",
  revoke: "Zugang beenden",
  sure: (name: string) =>
    `Den Zugang von ${name} beenden? Geräte werden sofort abgemeldet; was sie noch senden, wird zurückgestellt.`,
  revokeNow: "Jetzt beenden",
  keep: "So lassen",
  revoked: "beendet",
  full: "Voller Name",
  fullHint: "Steht auf Kalibrierscheinen und unter Unterschriften.",
  function: "Funktion",
  functionHint: "Was die Person im Labor ist, etwa technische Leitung. Leer: die Rolle.",
  erase: "Name und Funktion löschen",
  keepPerson: "Name und Funktion speichern",
  personKept: "Gespeichert, für Kalibrierscheine ab jetzt.",
  loginName: (name: string) => `Anmeldename ${name}`,
  you: "diese Anmeldung",
};
