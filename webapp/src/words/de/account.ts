import type { accountWords } from "../account";

/** The texts of one's own account, in German. */
export const account: typeof accountWords = {
  password: "Passwort",
  old: "Jetziges Passwort",
  new: "Neues Passwort, mindestens 10 Zeichen",
  hint: "Mehrere Wörter, die nicht zusammengehören, sind ein gutes Passwort.",
  keep: "Passwort ändern",
  kept: "Geändert. Die anderen eigenen Geräte müssen sich neu anmelden.",
  wrong: "Jetziges Passwort: es stimmt nicht.",
  second: "Zweiter Faktor",
  wanted: "Diese Rolle braucht einen zweiten Faktor. Ohne ihn bleiben die Seiten des Büros verschlossen.",
  has: "Bei jeder Anmeldung wird ein Code des eigenen Geräts verlangt.",
  without:
    "Ein Programm auf einem anderen Gerät zeigt jede halbe Minute einen Code, der neben dem Passwort verlangt wird. Wer das Passwort erfährt, kommt damit allein nicht hinein.",
  begin: "Einrichten",
  scan: "Das mit dem Programm auf dem anderen Gerät scannen oder das Geheimnis dort eintippen.",
  secret: "Geheimnis",
  code: "Der Code, den es zeigt",
  confirm: "Bestätigen",
  codeWrong: "Dieser Code ist falsch. Die Uhr des Geräts prüfen.",
  recovery:
    "Diese Codes aufschreiben und getrennt vom Gerät aufbewahren. Jeder erlaubt eine Anmeldung ohne das Gerät. Sie werden nur dieses eine Mal gezeigt.",
  read: "Ich habe sie",
  end: "Entfernen",
  endCode: "Ein Code davon oder ein Wiederherstellungscode",
  keys: "Passkeys",
  keysHint:
    "Ein Passkey auf dem Telefon, dem Rechner oder einem Sicherheitsschlüssel meldet mit Finger, Gesicht oder einer Zahl an oder steht neben dem Passwort. Niemand kann ihn erfahren, und keine andere Seite kann ihn benutzen.",
  keysOff: "Dieses Büro hat keine Passkeys: sein Server kennt seine eigene Adresse nicht.",
  keyOld: "Dieser Browser kann keine Passkeys anlegen, die hier gelten. Ein neuerer kann es.",
  keyName: "Name des Passkeys",
  keyNameHint: "Zum Wiedererkennen: das Telefon oder der Sicherheitsschlüssel, auf dem er liegt.",
  keyAdd: "Passkey hinzufügen",
  keyNew: "noch nicht benutzt",
  keyRemove: "Entfernen",
  keyRemoveHint:
    "Er öffnet hier nichts mehr, und die anderen eigenen Anmeldungen enden. Auch auf seinem Gerät löschen.",
  keyRemoveNow: "Jetzt entfernen",
  keyHere: "Dieses Gerät hat schon einen Passkey dieses Kontos.",
  keyRefused: {
    stopped: "Kein Passkey wurde angelegt.",
    password: "Jetziges Passwort: es stimmt nicht.",
    passkey: "Der Passkey wurde nicht hinzugefügt. Noch einmal versuchen.",
  },
  logins: "Eigene Anmeldungen",
  this: "diese hier",
  seen: (age: string) => `benutzt ${age}`,
  endOne: "Beenden",
  endOthers: "Alle anderen beenden",
  unknown: "ein Gerät ohne Namen",
};
