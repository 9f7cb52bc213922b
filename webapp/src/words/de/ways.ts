import type { waysWords } from "../ways";

/** The texts of the ways in besides a name and a password, in German. */
export const ways: typeof waysWords = {
  passkey: "Mit einem Passkey anmelden",
  provider: "Mit dem Konto der Organisation anmelden",
  refused: {
    stopped: "Kein Passkey wurde benutzt. Noch einmal versuchen oder mit Name und Passwort anmelden.",
    passkey: "Dieser Passkey wurde nicht angenommen. Mit Name und Passwort anmelden.",
    passkey_unknown: "Dieser Passkey ist hier nicht bekannt. Vielleicht wurde er entfernt.",
    passkey_counter:
      "Dieser Passkey wurde abgelehnt, weil es eine Kopie davon geben kann. Mit einem Wiederherstellungscode anmelden, den Passkey entfernen und das Büro benachrichtigen.",
    passkey_spent: "Das hat zu lange gedauert. Noch einmal versuchen.",
    passkey_invited: "Das Büro hat einen neuen Code ausgegeben. Zuerst mit Name und diesem Code anmelden.",
    passkeys: "Dieses Büro hat keine Passkeys.",
    not_found: "Dieses Konto hat keinen Passkey. Einen Code benutzen.",
    revoked: "Der Zugang ist beendet. Beim Büro nachfragen.",
    too_many: "Zu viele Versuche. Etwas warten.",
  },
  outside: {
    off: "Dieses Büro hat keine Anmeldung mit dem Konto einer Organisation.",
    reach:
      "Die Anmeldung der Organisation ist jetzt nicht erreichbar. Mit Name und Passwort anmelden oder es später versuchen.",
    spent: "Das hat zu lange gedauert oder begann in einem anderen Browser. Noch einmal versuchen.",
    declined: "Die Anmeldung der Organisation hat abgelehnt.",
    token: "Die Antwort der Anmeldung der Organisation hält nicht stand. Das Büro benachrichtigen.",
    unverified:
      "Die Organisation hat die E-Mail-Adresse nicht bestätigt. Bei denen nachfragen, die ihre Anmeldung betreiben.",
    busy: "Zu viele Anmeldungen zugleich. Gleich noch einmal versuchen.",
    stranger: "Kein Konto hier erwartet diese Anmeldung. Das Büro bitten, den Namen bei der Organisation einzutragen.",
    revoked: "Der Zugang ist beendet. Beim Büro nachfragen.",
    second:
      "Dieses Konto hat hier einen zweiten Faktor, den die Anmeldung der Organisation nicht verlangt. Mit Name und Passwort anmelden.",
  },
};
