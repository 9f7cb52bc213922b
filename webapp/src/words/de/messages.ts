import type { messageWords } from "../messages";

/** The texts of messages about an instrument, in German. */
export const messages: typeof messageWords = {
  title: "Nachrichten",
  none: "Zu diesem Gerät hat niemand geschrieben.",
  hint: "Das Büro und alle, die dieses Gerät auf ihrem Telefon haben, können sie lesen. Sie lassen sich nicht löschen.",
  label: "An das Büro schreiben",
  labelOffice: "An die Prüffachkraft schreiben",
  send: "Senden",
  empty: "Nachricht: ein paar Worte schreiben.",
  long: (n: number) => `Nachricht: höchstens ${n} Zeichen.`,
  unseen: (n: number) => (n === 1 ? "1 neue Nachricht" : `${n} neue Nachrichten`),
  office: "Büro",
  waits: "auf diesem Gerät, noch nicht gesendet",
  sent: "gesendet",
  seenBy: (names: string) => `gesehen von ${names}`,
  someone: "jemandem",
};
