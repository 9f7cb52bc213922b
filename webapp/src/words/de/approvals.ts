import type { approvalWords } from "../approvals";

/** The texts of what waits for a second person, and of the versions of a method, in German. */
export const approvals: typeof approvalWords = {
  version: (n: number) => `Version ${n}`,
  waiting: "Wartet auf eine zweite Person",
  waitingSending:
    "Ihr Entwurf ist auf diesem Gerät gespeichert. In Kraft gesetzt werden kann er, sobald er gesendet ist.",
  draftBy: (who: string, when: string) => `Entwurf von ${who}, ${when}`,
  reason: (why: string) => `Grund: ${why}`,
  noReason: "Kein Grund ist angegeben.",
  stale: (from: number, now: number) =>
    `Er entstand aus Version ${from}; in Kraft ist jetzt Version ${now}. Aufgeführt ist, was von dieser abweicht.`,
  used: (n: number) => (n === 1 ? "1 Gerät wird danach geprüft." : `${n} Geräte werden danach geprüft.`),
  cannot: (n: number) =>
    n === 1
      ? "1 davon könnte nach diesem Entwurf nicht geprüft werden:"
      : `${n} davon könnten nach diesem Entwurf nicht geprüft werden:`,
  more: (n: number) => `${n} weitere`,
  member: "Was",
  was: "In Kraft",
  is: "Entwurf",
  before: "Vorher",
  after: "Seitdem",
  noDifference: "Nichts weicht ab.",
  ownDraft: "Sie haben ihn geschrieben. Eine andere Person des Büros sieht ihn an und setzt ihn in Kraft.",
  aloneHint:
    "Im Büro gibt es sonst niemanden. Sie können ihn selbst in Kraft setzen; an der Version steht dann für immer, dass keine zweite Person ihn ansah.",
  noteLabel: "Notiz zur Freigabe, falls nötig",
  approve: (n: number) => `Als Version ${n} in Kraft setzen`,
  approveAlone: (n: number) => `Version ${n} ohne zweite Person in Kraft setzen`,
  approved: (n: number) => `Version ${n} ist in Kraft. Telefone erhalten sie beim nächsten Kontakt.`,
  sendBack: "Entwurf zurückgeben",
  sendBackWhy: "Was daran zu ändern ist",
  sendBackNeeded: "Was daran zu ändern ist: ein paar Worte sind nötig.",
  sentBack: (who: string, when: string, why: string) => `Zurückgegeben von ${who}, ${when}: ${why}`,
  withdraw: "Entwurf löschen",
  conflict: {
    changed:
      "Der Entwurf oder das Verfahren hat sich geändert, seit er gezeigt wurde. Er steht neu hier: bitte noch einmal ansehen.",
    own: "Wer ihn schrieb, setzt ihn nicht in Kraft. Das muss eine andere Person des Büros tun.",
    contested: "Zwei haben es geändert, ohne voneinander zu wissen. Klären Sie das zuerst.",
  },
  versions: "Versionen",
  differed: "Was geändert wurde",
  writtenBy: (who: string) => `geschrieben von ${who}`,
  putBy: (who: string) => `in Kraft gesetzt von ${who}`,
  putAlone: (who: string) => `in Kraft gesetzt von ${who}, ohne zweite Person`,
  putUnknown: "keine Freigabe ist festgehalten",
};
