import type { stopWords } from "../stops";

/** The texts of what stops the work, in German. */
export const stops: typeof stopWords = {
  title: "Keinen Druck aufgeben",
  damagedTitle: "Nicht unter Druck setzen",
  connectedTitle: "Halt: ist es angeschlossen?",
  said: "Mit Nein beantwortet",
  notMet: "Nicht erfüllt",
  safe: "Sicher machen",
  cautions:
    "Nicht beginnen. Steht etwas unter Druck: die Quelle absperren, entlüften und an einer zweiten Anzeige Drucklosigkeit feststellen. Die verantwortliche Person der Leitung benachrichtigen.",
  damaged:
    "Drucklos lassen. Steht es unter Druck: Abstand von Glas und Verschraubungen halten, absperren, entlüften und an einer zweiten Anzeige Drucklosigkeit feststellen. Mit einem Sperrschild kennzeichnen. Das Büro und die verantwortliche Person der Leitung benachrichtigen.",
  wrong:
    "Das ist nicht das Gerät dieser Prüfung: sein Bereich und seine Fehlergrenzen sind andere. Was angeschlossen wurde, entlüftet wieder lösen.",
  exchanged:
    "Hier ist ein anderes Gerät eingebaut, als das Büro kennt: sein Bereich und seine Fehlergrenzen sind nicht bekannt. Drucklos lassen. Dem Büro Messstelle, Seriennummer, Hersteller und Bereich melden. Es wird geprüft, sobald es erfasst ist.",
  oxygen:
    "Nichts anschließen, was Öl oder Fett enthalten kann. Ist es angeschlossen: keinen Druck aufgeben, abnehmen und die verantwortliche Person benachrichtigen. Was berührt wurde, wird zuerst gereinigt. Normal, Schlauch und Druckmittel benutzen, die für Sauerstoff gekennzeichnet sind. Örtliche Vorschriften gehen vor.",
  air: "Nicht in den Raum entlüften. Den Raum verlassen, wenn der Luft Sauerstoff fehlen kann, und andere fernhalten; keiner zusammengebrochenen Person nachgehen. Von außen lüften, die Entlüftung ins Freie führen und den Sauerstoff messen, bevor jemand wieder hineingeht. Örtliche Vorschriften gehen vor.",
  service: {
    title: { oxygen: "Sauerstoff", air: "Luft im Raum" },
    ask: {
      oxygen: "Sind Normal, Schlauch, Verschraubungen und Druckmittel für Sauerstoff gereinigt, frei von Öl und Fett?",
      air: "Dieses Gas verdrängt die Atemluft und kann ohne Vorwarnung ersticken. Ist der Raum belüftet, und ist entweder sein Sauerstoff gemessen oder die Entlüftung ins Freie geführt? Im Freien mit Ja antworten.",
    },
    holds: "Trifft das hier zu?",
    choose: "mit Ja oder Nein antworten.",
    law: "Örtliche Vorschriften und die Freigaben des Betreibers gehen vor.",
  },
  seen: "Was gesehen wurde",
  again: "In Ordnung bringen und neu antworten",
  compare: "Messstelle und Seriennummer noch einmal vergleichen",
  end: "Hier enden: nicht prüfbar",
  putRight: "Was in Ordnung gebracht wurde",
  needPutRight: "Was in Ordnung gebracht wurde: ein paar Worte schreiben.",
  why: "Warum es nicht prüfbar ist",
  needWhy: "Warum es nicht prüfbar ist: ein paar Worte schreiben.",
  tagged: "Mit Sperrschild gekennzeichnet",
  vented: "Entlüftet oder schon drucklos",
  notAll: "Etwas davon trifft nicht zu",
  back: "Zurück",
  connected:
    "Den Druck lassen, wie er ist, oder entlüften. Leitung, Ventile, Verschraubungen und Verdrahtung ansehen, und ob dieser Prüfling abgelesen wird.",
  overTitle: "Halt: Überlast",
  over: "Die Quelle absperren und entlüften. Null an einer zweiten Anzeige ablesen. Prüfling, Normal, Schlauch und Anschlüsse ansehen, bevor etwas davon wieder benutzt wird. Was überlastet sein kann, kennzeichnen und nicht benutzen.",
  overLooked: "Entlüftet und geprüft: Wert speichern",
  look: "Noch einmal ablesen",
  right: "Es ist angeschlossen, und der Wert stimmt",
  reason: "Warum der Wert stimmt",
  identity: {
    title: "Ist das der Prüfling?",
    same: "Stimmen Messstelle und Seriennummer mit dem Gerät überein?",
    ok: "Sie stimmen überein",
    differs: "Etwas ist anders",
    note: "Was anders ist",
    condition: "Zustand",
    sound: "Gut",
    dirty: "Verschmutzt, aber prüfbar",
    damaged: "Beschädigt: nicht unter Druck setzen",
    way: "Was ist anders?",
    wrong: "Ich stehe an einem anderen Gerät",
    exchanged: "Hier ist jetzt ein anderes Gerät eingebaut",
    register: "Es ist dieses Gerät, und seine Skale zeigt den Bereich oben: das Verzeichnis ist falsch",
    chooseWay: "Was ist anders: eines wählen.",
    conditionNote: "Was gesehen wurde",
    chooseIdentity: "Messstelle und Seriennummer: eines wählen.",
    chooseCondition: "Zustand: einen wählen.",
    needNote: "Was anders ist: ein paar Worte schreiben.",
    needCondition: "Was gesehen wurde: ein paar Worte schreiben.",
  },
};
