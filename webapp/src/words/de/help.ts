import type { helpWords } from "../help";

/** The texts of the help, in German. */
export const help: typeof helpWords = {
  title: "Hilfe",
  all: "Die ganze Hilfe",
  caution:
    "Sie ersetzt keine Anweisung, Erlaubnis oder Ausbildung. Örtliche Regeln und das Wartungshandbuch gehen vor.",
  pages: {
    day: {
      title: "Ein erster Tag",
      about:
        "Ein Gang durch die erfundene Anlage, in zehn Minuten. Nichts darin ist echt: alles darf eingegeben werden.",
      points: [
        "Als Techniker anmelden. Namen und Passwörter stehen dort, wo das Programm gestartet wurde.",
        "„Rundgang“ zeigt die Stationen von heute. Die erste öffnen, ein Manometer.",
        "Den Verlauf ansehen: die Abweichungen der letzten Jahre neben der Grenze.",
        "„Prüfung beginnen“ drücken. Die Hinweise lesen und abhaken.",
        "Messstelle und Seriennummer vergleichen und sagen, in welchem Zustand das Gerät ist.",
        "Eine Seite sagt, was benutzt wird. Die Lufttemperatur eingeben, ändern, was anders ist, „Beginnen“ drücken.",
        "Jeder Schirm verlangt eines. Den genannten Druck einstellen, eingeben, was das Manometer zeigt, „Speichern“ drücken.",
        "Die Tabelle ansehen, bevor der Durchgang abgeschlossen wird. Das Ergebnis sagt bestanden, nicht bestanden oder nicht entschieden, und warum.",
        "Mit dem Finger unterschreiben. Die nächste Station ist einen Tipp entfernt.",
        "Das Netz ausschalten und noch eines prüfen. Es wird gesendet, sobald es wieder eine Verbindung gibt.",
        "Auf einem anderen Gerät als Prüfer des Büros anmelden: dort wartet die Prüfung auf Freigabe oder Rückgabe.",
      ],
    },
    round: {
      title: "Der Rundgang",
      about: "Was heute zu tun ist, in der Reihenfolge, die das Büro geplant hat.",
      points: [
        "Was unter Druck steht oder begonnen ist, steht oben: dort zuerst weitermachen.",
        "Ein Zeichen im Rahmen nennt eine Gefahr: Sauerstoff, giftig, heiß, Druckgas, Flugsicherheit.",
        "„Mitnehmen“ führt Normale, Anschlüsse und Medien für den ganzen Tag auf.",
        "Eine Station sagt, wie weit ihre Arbeit ist: auf diesem Telefon, gesendet, gesehen, freigegeben, oder zurückgegeben und warum.",
        "Der Tag hat eine Zusammenfassung für die Schicht danach.",
      ],
    },
    find: {
      title: "Ein Gerät finden",
      about: "Nach Messstelle, Seriennummer, Wörtern oder Ort, auch ohne Verbindung.",
      points: [
        "Bindestriche und Großschreibung sind gleichgültig, und ein falscher Buchstabe wird verziehen.",
        "Auch ein Messbereich findet Geräte, etwa 16 bar; ebenso eine Art und „überfällig“.",
        "„Schild scannen“ liest den Code auf einem Schild mit der Kamera. Wo ein Schild fehlt, druckt das Büro ein neues.",
      ],
    },
    instrument: {
      title: "Ein Gerät",
      about: "Was es ist, was es seit Jahren getan hat, und der Beginn einer Prüfung.",
      points: [
        "Das Bild zeigt die größte Abweichung jeder Prüfung neben der Grenze. Ein Druck auf eine Prüfung öffnet sie.",
        "„Prüfung beginnen“ beginnt die Arbeit. Was außer Betrieb ist, sagt es, und keine Prüfung beginnt.",
        "Mehrere Manometer an einem Verteiler werden nacheinander abgelesen, bei jedem Druck, der einmal eingestellt wird.",
        "„Nach anderem Verfahren“ beginnt eine Prüfung nach einem anderen als dem eingestellten Verfahren, mit Grund.",
        "Unter „Nachrichten“ dem Büro dazu schreiben.",
      ],
    },
    visit: {
      title: "Eine Prüfung",
      about:
        "Von den Hinweisen bis zur Unterschrift. Alles wird sofort gespeichert; man kann jederzeit gehen und später weitermachen.",
      points: [
        "Ein Nein zu einer Frage der Sicherheit hält die Arbeit an: sicher machen, wie der Schirm es sagt, dann wählen, wie es weitergeht.",
        "„So wird angeschlossen“ zeichnet vor dem ersten Druck, was womit verbunden wird.",
        "Jeder Schritt nennt seine Zahl: wohin, in welcher Einheit, Überdruck oder absolut, wie schnell, was nicht überschritten werden darf.",
        "Das Band zeigt den Wert in seinen Grenzen, bevor er gespeichert wird. Ein Wert, der falsch aussieht, wird bezweifelt: nachsehen, dann speichern oder berichtigen.",
        "„=“ übernimmt den eingestellten Druck; die Tasten mit + und − gehen um die letzte ablesbare Stelle.",
        "„Messwerte“ führt auf, was gespeichert wurde. Ein Druck auf einen Wert berichtigt ihn; der erste bleibt mit dem Grund in der Aufzeichnung.",
        "„Mehr“ hat, was selten gebraucht wird: den letzten Wert zurücknehmen, den Durchgang wiederholen, ihn vorzeitig beenden, der Ton.",
        "Nach einem Versagen sagen, was geschieht: justieren, ersetzen, außer Betrieb nehmen, oder durch jemandes Entscheidung in Betrieb lassen.",
        "Die Unterschrift umfasst alles, was zu sehen ist. Wer später daran ändert, macht sie ungültig.",
      ],
    },
    device: {
      title: "Dieses Gerät",
      about: "Was noch nicht gesendet ist, wie der Schirm aussieht, und wer angemeldet ist.",
      points: [
        "Was aufgezeichnet wird, ist sofort auf diesem Gerät und geht ans Büro, sobald es eine Verbindung gibt.",
        "Das Programm auf den Startbildschirm legen und ihm erlauben, seinen Speicher zu behalten: Browser leeren, was selten benutzt wird.",
        "Als Datei gespeichert bleibt ungesendete Arbeit auch außerhalb des Browsers, falls das Gerät ausfällt.",
        "Auf einem gemeinsamen Gerät abmelden. Ungesendetes wartet auf die Anmeldung der Person, die es schrieb; alles andere wird entfernt und kommt wieder.",
        "Tag, Nacht, Sprache und Dezimalzeichen werden hier gewählt.",
      ],
    },
    office: {
      title: "Das Büro",
      about: "Sieht die Arbeit des Tages durch, führt das Verzeichnis und plant die Rundgänge.",
      points: [
        "„Tag“ führt auf, was wartet: Versagen zuerst. Eine Prüfung öffnen, ihre Warnungen lesen, dann freigeben oder mit ein paar Worten zurückgeben.",
        "Eine Freigabe stellt den Kalibrierschein aus. Eine spätere Berichtigung macht einen anderen, der ihn ersetzt.",
        "Das Verzeichnis filtert, ordnet und ändert viele Geräte auf einmal; jede Änderung wird vorher gezeigt.",
        "„Eine Liste einlesen“ nimmt eine Tabelle, wie sie ist. „Alles ausgeben“ gibt alle Aufzeichnungen als Dateien.",
        "Ein Normal war außerhalb: es öffnen, wählen, seit wann, und sehen, welche Ergebnisse sich ändern.",
        "„Widersprüche“ zeigt, was zwei Personen änderten, ohne voneinander zu wissen. Einen Wert wählen; beide bleiben in der Aufzeichnung.",
      ],
    },
  },
};
