/*
 * What the server says where it refuses, in German; {} is a value, in its order. A test
 * holds this to the errors of the server's packages.
 */
export const refusals: { [english: string]: string } = {
  "say in the reason why the approved visit has to be opened again; the certificate will state it":
    "im Grund sagen, warum die freigegebene Prüfung wieder geöffnet werden muss; der Kalibrierschein nennt ihn",
  "the reading that it corrects is not in this run": "die Ablesung, die es berichtigt, ist nicht in diesem Durchgang",
  "a correction states its reason": "eine Berichtigung nennt ihren Grund",
  "the office reads its records for the first time since they came here":
    "das Büro liest seine Datensätze zum ersten Mal, seit sie hierherkamen",
  "{}; {} per cent of it are done, ask again in a minute":
    "{}; {} Prozent sind gelesen, in einer Minute noch einmal versuchen",
  "the visit's runs have changed since they were shown; check them again":
    "die Durchgänge der Prüfung haben sich geändert, seit sie gezeigt wurden; noch einmal ansehen",
  "the visit has changed since it was signed": "die Prüfung ist nicht so unterschrieben, wie sie steht",
  "the visit is approved already": "die Prüfung ist schon freigegeben",
  "say in the remark what the technician should do": "in der Bemerkung sagen, was zu tun ist",
  "there are conflicts: choose between the values first": "zwischen Werten muss noch gewählt werden",
  "a key's signature is not valid": "die Unterschrift mit einem Schlüssel hält nicht stand",
  "you made, corrected or signed this visit; another person has to approve it":
    "wer eine Prüfung gemacht, berichtigt oder unterschrieben hat, gibt sie nicht frei; eine andere Person muss sie ansehen",
  "a run is not closed": "ein Durchgang ist nicht abgeschlossen",
  "{}; send the visit back, so that it is signed again":
    "{}; die Prüfung zurückgeben, damit sie neu unterschrieben wird",
  // A list of instruments that is brought in; a cell is named by the heading of its column first.
  "may be thousands or decimals": "können Tausender oder Dezimalstellen sein",
  "may be day or month first": "kann mit dem Tag oder dem Monat beginnen",
  "{} may be thousands or decimals": "{} können Tausender oder Dezimalstellen sein",
  "{} may be day or month first": "{} kann mit dem Tag oder dem Monat beginnen",
  "{} is not a number with a decimal {}": "{} ist keine Zahl mit dem Dezimalzeichen {}",
  "{} is not a number": "{} ist keine Zahl",
  "{} is not a range such as 0…10 bar": "{} ist kein Messbereich wie 0…10 bar",
  "{} has two units": "{} hat zwei Einheiten",
  "{} is not a unit of pressure that is known here": "{} ist keine hier bekannte Druckeinheit",
  "the file cannot be read": "die Datei kann nicht gelesen werden",
  "the columns are not valid": "die Spalten gehen so nicht",
  "no column has the tag's heading; there are {}: say --map HEADING=tag":
    "keine ist als Messstelle überschrieben; es gibt {}: --map ÜBERSCHRIFT=tag angeben",
  "some rows are not good": "einige Reihen sind nicht gut",
  "{} is no field; there are {}": "{} ist kein Feld; es gibt {}",
  "no column is headed {}; there are {}": "keine Spalte ist mit {} überschrieben; es gibt {}",
  "column {}": "Spalte {}",
  "it is empty": "sie ist leer",
  "no row begins in line {}": "in Zeile {} beginnt keine Reihe",
  "it has a header and no rows": "sie hat eine Kopfzeile und keine Reihen",
  "larger than {} MiB": "größer als {} MiB",
  "it is not text; save the sheet as CSV": "es ist kein Text; das Blatt als CSV speichern",
  "more than {} rows": "mehr als {} Reihen",
  "{} and {} are both taken for {}; say which with --map": "{} und {} gelten beide als {}; mit --map sagen, welche",
  "the interval {} is not a number of months from 1 to {}": "die Frist {} ist keine Zahl von Monaten von 1 bis {}",
  "{} is not a date such as 2026-03-04": "{} ist kein Datum wie 2026-03-04",
  "{} is not a likely date": "{} ist kein wahrscheinliches Datum",
  "has no whole range: from {} to {}, unit {}": "hat keinen ganzen Messbereich: von {} bis {}, Einheit {}",
  "has a class, {}, and a grade, {}": "hat eine Klasse, {}, und eine Klasse nach ASME B40.100, {}",
  "has no limit: a class, a grade or a percentage of span":
    "hat keine Grenze: eine Klasse (auch nach ASME B40.100) oder einen Anteil der Spanne in Prozent",
  "has {} cells, the header has {}": "hat {} Zellen, die Kopfzeile hat {}",
  "has no resolution": "hat keine Auflösung",
  "has no tag": "hat keine Messstelle",
  "the site {} is not known": "der Standort {} ist nicht bekannt",
  "the method {} is not known": "das Verfahren {} ist nicht bekannt",
  "an instrument with the tag {} is here already": "ein Gerät mit der Messstelle {} ist schon hier",
  "{} instruments here have the tag {}": "{} Geräte hier haben die Messstelle {}",
  "the tag {} is also in line {}": "die Messstelle {} steht auch in Zeile {}",
  "the serial number {} is also in line {}": "die Seriennummer {} steht auch in Zeile {}",
  "{} is here with the serial number {}, the file has {}": "{} ist hier mit der Seriennummer {}, die Datei hat {}",
  "the serial number {} is here under the tag {}": "die Seriennummer {} ist hier unter der Messstelle {}",
  "it is not here": "es ist nicht hier",
  "its record cannot be read": "seine Aufzeichnung kann nicht gelesen werden",
  "it is no instrument": "es ist kein Gerät",
  "two people changed it without seeing each other; choose a value first":
    "zwei Personen haben es geändert, ohne voneinander zu wissen; das zuerst klären",
  "the method is not published": "das Verfahren ist nicht herausgegeben",
  "it is of the kind {}, the method is for {}": "es ist von der Art {}, das Verfahren ist für {}",
  "line {}, {}: {}": "Zeile {}, {}: {}",
  "no column {}": "keine Spalte {}",
  "the value for an empty {}": "der Wert für ein leeres Feld {}",
  "certificates are in English (en) or German (de); {} is neither":
    "Kalibrierscheine gibt es auf Englisch (en) oder Deutsch (de), {} ist keines von beiden",
  "the range has the unit {} and the unit's own column {}":
    "der Messbereich hat die Einheit {} und die Spalte der Einheit {}",
  "the mode {} is not gauge, absolute or differential":
    "die Druckart {} ist weder Überdruck noch Absolutdruck noch Differenzdruck",
  "the range's upper end {} is not above {}": "das obere Ende des Messbereichs, {}, liegt nicht über {}",
  "the unit says {}, the mode's column {}": "die Einheit sagt {}, die Spalte der Druckart {}",
  "the class {} is not one of {}; a limit of another kind goes into a column {}":
    "die Klasse {} ist keine von {}; eine Grenze anderer Art gehört in eine Spalte {}",
  "the grade {} is not one of {}": "die Klasse {} nach ASME B40.100 ist keine von {}",
  "the limit is zero": "die Grenze ist null",
  "the tag has more than {} characters": "die Messstelle hat mehr als {} Zeichen",
  "has more than {} characters": "hat mehr als {} Zeichen",
  "the resolution {} is not above zero": "die Auflösung {} liegt nicht über null",
  "the status {} is neither in service nor out of service": "der Status {} ist weder in Betrieb noch außer Betrieb",
  "the caution {} is not one of {}": "der Warnhinweis {} ist keiner von {}",
  "{} sites have the code {}: {}": "{} Standorte haben das Kürzel {}: {}",
  "a date and a tag or a serial number are needed; there are {}":
    "ein Datum und eine Messstelle oder eine Seriennummer sind nötig; es gibt {}",
  "the unit {} is not that of the rows before, {}": "die Einheit {} ist nicht die der Reihen davor, {}",
  "{} is neither pass nor fail": "{} ist weder bestanden noch nicht bestanden",
  "there is an error or a limit here but no point": "hier steht eine Abweichung oder eine Grenze, und kein Prüfpunkt",
  "there is a point here but no error": "hier steht ein Prüfpunkt, und keine Abweichung",
  "no instrument here has the tag {} or the serial number {}":
    "kein Gerät hier hat die Messstelle {} oder die Seriennummer {}",
  "{} instruments here have the tag {} or the serial number {}":
    "{} Geräte hier haben die Messstelle {} oder die Seriennummer {}",
  "the tag {} is here with the serial number {}, the sheet has {}":
    "die Messstelle {} ist hier mit der Seriennummer {}, die Tabelle hat {}",
  "says neither an error nor a verdict": "nennt weder eine Abweichung noch ein Urteil",
  "the unit {} is not one of the instrument's, {}": "die Einheit {} passt nicht zu der des Geräts, {}",
  "{} is no kind of instrument that is known here; there are {}": "{} ist keine hier bekannte Geräteart; es gibt {}",
  "the output {} is not a signal such as 4-20 mA or 0-10 V square root":
    "der Ausgang {} ist kein Signal wie 4-20 mA oder 0-10 V square root",
  "the output {} has no two numbers": "der Ausgang {} hat keine zwei Zahlen",
  "the output's upper end {} is not above {}": "das obere Ende des Ausgangs, {}, liegt nicht über {}",
  "the output's law {} is neither linear nor square root":
    "die Kennlinie des Ausgangs, {}, ist weder linear noch radizierend",
  "the volume {} has no unit; such as 12.5 L": "das Volumen {} hat keine Einheit; etwa 12.5 L",
  "the volume's unit {} is not one of L m3 cm3 mL gal ft3":
    "die Einheit des Volumens, {}, ist keine von L m3 cm3 mL gal ft3",
  "the volume {} is not above zero": "das Volumen {} liegt nicht über null",
  "there is something here and no set point ({})": "hier steht etwas, und kein Schaltpunkt ({})",
  "{} is neither rising nor falling": "{} ist weder steigend noch fallend",
  "{} is not two numbers in the range's unit, such as 0.1-0.5":
    "{} sind keine zwei Zahlen in der Einheit des Messbereichs wie 0.1-0.5",
  "{} is neither open nor closed": "{} ist weder offen noch geschlossen",
  "this belongs to the kind {}, the row is of the kind {}": "das gehört zur Art {}, die Reihe ist von der Art {}",
  "there is a part here and no pressure for it ({})": "hier steht ein Teil, und kein Druck dafür ({})",
  "the lot size {} is not a number of discs": "die Losgröße {} ist keine Anzahl von Scheiben",
  "{} is not a unit of an instrument of the kind {}; there are {}":
    "{} ist keine Einheit eines Geräts der Art {}; es gibt {}",
  "{} methods have the name {}, of which {} can be used for the kind {}: {}":
    "{} Verfahren heißen {}, davon passen {} zur Art {}: {}",
  "the method {} says nothing yet": "das Verfahren {} sagt noch nichts",
  "the method {} is for the kind {}, this row is of the kind {}":
    "das Verfahren {} ist für die Art {}, diese Reihe ist von der Art {}",
  "the method {} cannot be used for it: {}: {}": "das Verfahren {} geht dafür nicht: {}: {}",
  "two columns are {}": "zwei Spalten sind {}",
  "the unit of {} cannot be turned into {}": "die Einheit von {} lässt sich nicht in {} umrechnen",
  "there is no column {}; the header needs applied, error and expanded":
    "es gibt keine Spalte {}; die Kopfzeile braucht applied, error und expanded",
  "{} is no number": "{} ist keine Zahl",
  "this was undone already": "das wurde schon rückgängig gemacht",
  "due: {}": "fällig: {}",
  "since: {}": "seit: {}",
  round: "Rundgang",
  "the round {} {}": "der Rundgang {} {}",
  "the instrument {} {}": "das Gerät {} {}",
  "the value has changed since it was shown; check it again":
    "was dort steht, hat sich geändert, seit es gezeigt wurde; noch einmal ansehen",
  "that is not one of the conflicting values": "das ist keiner der Werte, die gegeneinander stehen",
  "your role may not do this": "diese Rolle darf das nicht",
  "date has the form 2026-03-04": "ein Datum hat die Form 2026-03-04",
  "is in service and gets no defect tag": "ist in Betrieb und bekommt keinen Sperranhänger",
  "{} is in service and gets no defect tag": "{} ist in Betrieb und bekommt keinen Sperranhänger",
  "of a visit the signature's name and strokes, a photo and a remark can be erased; of a person the full name, the initials and the function":
    "an einer Prüfung können Name und Zug der Unterschrift, ein Foto und eine Bemerkung gelöscht werden; an einer Person der volle Name, die Initialen und die Funktion",
  "the instrument was found outside its limits: say what that means for its use since it last passed":
    "das Gerät lag außerhalb seiner Grenzen: sagen, was das für seinen Gebrauch seit dem letzten Bestehen bedeutet",
  "the person {} is not here": "die Person {} ist nicht hier",
  "the authorisation {} is not here": "die Berechtigung {} ist nicht hier",
  "the instrument {} is not here": "das Gerät {} ist nicht hier",
  "the order {} is not here": "der Auftrag {} ist nicht hier",
  "the values are erased, but not listed: they come back with an older backup":
    "die Werte sind gelöscht, aber nicht aufgelistet: sie kommen mit einer älteren Sicherung wieder",
  "there is another order of this number": "es gibt einen anderen Auftrag dieser Nummer",
  "the work of this order is approved already": "die Arbeit dieses Auftrags ist schon freigegeben",
  "a look-back is written by the office's own routes only": "ein Rückblick wird nur vom Büro selbst geschrieben",
  "values are erased at the office: a hub cannot say so for it":
    "Werte werden im Büro gelöscht: eine Zwischenstelle kann das nicht für das Büro tun",
  "{}: field {}": "{}: Feld {}",
  "nothing is taken from this file": "aus dieser Datei wird nichts übernommen",
  "the file cannot be taken in": "die Datei kann nicht übernommen werden",
  "the visit has its certificate already": "die Prüfung hat ihren Kalibrierschein schon",
  "the letterhead states no accreditation that a certificate could have":
    "der Briefkopf nennt keine Akkreditierung, die ein Kalibrierschein haben könnte",
  "the visit is not approved": "die Prüfung ist nicht freigegeben",
  "its stamp counts too far beyond all that is known here":
    "sein Stempel zählt zu weit über alles hier Bekannte hinaus",
  "is no date and time of the calendar": "ist kein Datum mit Uhrzeit des Kalenders",
  "wall: is no date and time of the calendar": "Uhrzeit: ist kein Datum mit Uhrzeit des Kalenders",
  "the visit is another person's; whoever helps is named in it first":
    "die Prüfung gehört einer anderen Person; wer mithilft, wird zuerst darin genannt",
  "the visit is approved and takes nothing further; the office opens it again before anything of it is changed":
    "die Prüfung ist freigegeben und nimmt nichts mehr auf; das Büro öffnet sie wieder, bevor etwas daran geändert wird",
  "sees: names a change that its writer cannot have seen":
    "sieht: nennt eine Änderung, die der Schreibende nicht gesehen haben kann",
  "sees: another change says to have seen this one, and cannot have":
    "sieht: eine andere Änderung gibt an, diese gesehen zu haben, und kann es nicht",
  "a decision from a hub needs the signature of the reviewer's own key, confirmed by the office":
    "eine Entscheidung von einer Zwischenstelle braucht die Unterschrift mit dem eigenen, vom Büro bestätigten Schlüssel",
  "values are erased at the office alone": "Werte werden nur im Büro gelöscht",
  "its signature by a key is not of what it says": "seine Unterschrift mit einem Schlüssel gilt nicht dem, was es sagt",
  "a key's record says once whose it is, signed by the key itself, and only its owner ends it":
    "die Aufzeichnung eines Schlüssels sagt einmal, wessen er ist, mit ihm selbst unterschrieben, und nur wem er gehört, beendet ihn",
  "the run is closed; a further reading belongs to a new run":
    "der Durchgang ist abgeschlossen; eine weitere Ablesung gehört in einen neuen",
  "the record is of a site that is not yours": "die Aufzeichnung gehört zu einem fremden Standort",
  "the capture {} is written already; a correction is a new one that supersedes it":
    "die Erfassung {} ist schon geschrieben; eine Berichtigung ist eine neue, die sie ersetzt",
  "the field {} of a run is written once": "das Feld {} eines Durchgangs wird einmal geschrieben",
  "say why the key is taken out of use": "sagen, warum der Schlüssel außer Gebrauch genommen wird",
  "name the instruments, none twice": "die Geräte nennen, keines doppelt",
  "a certificate states the laboratory's name and address and the customer":
    "ein Kalibrierschein nennt Name und Anschrift des Labors und den Kunden",
  "a part of the accreditation has more than {} letters": "ein Teil der Akkreditierung hat mehr als {} Buchstaben",
  "an accreditation has a text and a number": "eine Akkreditierung hat einen Text und eine Nummer",
  "{} is no country; give its two letters of ISO 3166-1, such as NL":
    "{} ist kein Land; seine zwei Buchstaben nach ISO 3166-1 angeben, etwa NL",
  "paper {} is none of {} and {}": "Papier {} ist weder {} noch {}",
  "language: {}": "Sprache: {}",
  "from 1 to {} lines each, of 1 to {} letters": "je 1 bis {} Zeilen von 1 bis {} Buchstaben",
  "1 to {}": "1 bis {}",
  "the certificate has no form for machines: when it was issued the letterhead had no country":
    "der Kalibrierschein hat keine Form für Maschinen: bei der Ausstellung hatte der Briefkopf kein Land",
  "a message is written once; say the other thing in a new one":
    "eine Nachricht wird einmal geschrieben; das andere in einer neuen sagen",
  "text: a message has 1 to 1000 characters": "Text: eine Nachricht hat 1 bis 1000 Zeichen",
  "everybody says for themselves alone what they have seen": "was gesehen wurde, sagt jede Person nur für sich selbst",
  "this visit has its as-found run, and its method lets a safety function be found once only; the run is put aside for the office":
    "diese Prüfung hat ihren Durchgang im Eingangszustand, und ihr Verfahren lässt ihn bei einer Sicherheitsfunktion nur einmal zu; der weitere Durchgang ist für das Büro beiseitegelegt",
  "a hub says nobody's full name; the office does": "volle Namen nennt das Büro, nicht eine Zwischenstelle",
  "the server calculates another result from what is recorded; send the visit back, so that it is calculated and signed again":
    "der Server berechnet aus dem Erfassten ein anderes Ergebnis; die Prüfung zurückgeben, damit sie neu berechnet und unterschrieben wird",
  "the record of a logger has not arrived, so that the result cannot be calculated again":
    "die Aufzeichnung eines Loggers ist nicht angekommen, sodass das Ergebnis nicht neu berechnet werden kann",
  "run {} could not be calculated again: {}": "Durchgang {} konnte nicht neu berechnet werden: {}",
  "a round begins with it": "eine Runde beginnt damit",
  "a text of at most {} bytes": "ein Text von höchstens {} Bytes",
  "it has a reason, or is null where the round is planned again":
    "es hat einen Grund oder ist leer, wo die Runde neu geplant wird",
  "nobody here has this id": "niemand hier hat diese Kennung",
  "the access of this person was ended": "der Zugang dieser Person wurde beendet",
  "a list of {instrument, method}": "eine Liste von {instrument, method}",
  "from 1 to {} stops": "1 bis {} Stationen",
  "stop {}: its instrument is a stop already": "Station {}: ihr Gerät ist schon eine Station",
  "stop {}: no instrument has the id {}": "Station {}: kein Gerät hat die Kennung {}",
  "stop {}: no method has the id {}": "Station {}: kein Verfahren hat die Kennung {}",
  "the certificate has no signed record: it is of an earlier version of the program":
    "der Kalibrierschein hat keine signierte Aufzeichnung: er ist von einer früheren Fassung des Programms",
  "certificates are checked at the office: a hub has no key of it":
    "Kalibrierscheine werden im Büro geprüft: eine Zwischenstelle hat dessen Schlüssel nicht",
  "which standard serves it: {}: {}": "welches Normal dafür taugt: {}: {}",
  "the office's own change was refused": "die eigene Änderung des Büros wurde abgelehnt",
  "name or password is wrong": "Name oder Passwort ist falsch",
  "too many attempts; wait a little": "zu viele Versuche; etwas warten",
  "the log-in has ended": "die Anmeldung ist beendet",
  "the account was revoked": "das Konto wurde gesperrt",
  "too many log-ins at once; try again in a moment": "zu viele Anmeldungen auf einmal; gleich noch einmal versuchen",
  "the account was revoked; restore it first": "das Konto wurde gesperrt; zuerst wiederherstellen",
  "there is an account of this name already": "es gibt schon ein Konto dieses Namens",
  "this is the only administrator; name another one first":
    "das ist die einzige Person mit Verwaltung; zuerst eine andere benennen",
  "the second factor is needed": "der zweite Faktor ist nötig",
  "an invitation needs a password of one's own": "eine Einladung braucht ein eigenes Passwort",
  "cannot make this account": "dieses Konto kann nicht angelegt werden",
  "the name needs 1 to 64 characters that can be seen, of one script":
    "der Name braucht 1 bis 64 sichtbare Zeichen einer Schrift",
  "the role is technician, reviewer, administrator or hub":
    "die Rolle ist technician, reviewer, administrator oder hub",
  "{} is not an id": "{} ist keine Kennung",
  "there is no account {}": "es gibt kein Konto {}",
  "there is no site {}": "es gibt keinen Standort {}",
  "there is no such log-in": "eine solche Anmeldung gibt es nicht",
  "no account here expects this person; ask the office": "kein Konto hier erwartet diese Person; das Büro fragen",
  "this account has a second factor here; log in with the password or the passkey":
    "dieses Konto hat hier einen zweiten Faktor; mit Passwort oder Passkey anmelden",
  "this account has no log-in by the provider": "dieses Konto hat keine Anmeldung über den Anbieter",
  "name: the name at the provider has 1 to {} characters": "Name: der Name beim Anbieter hat 1 bis {} Zeichen",
  "another account expects {}": "ein anderes Konto erwartet {}",
  "a hub logs in with its password": "eine Zwischenstelle meldet sich mit ihrem Passwort an",
  "this server is not set up for passkeys": "dieser Server ist nicht für Passkeys eingerichtet",
  "the passkey was not accepted": "der Passkey wurde nicht angenommen",
  "this passkey is not known here; it may have been removed":
    "dieser Passkey ist hier nicht bekannt; vielleicht wurde er entfernt",
  "the counter of this passkey went back; there may be a copy of it":
    "der Zähler dieses Passkeys ging zurück; vielleicht gibt es eine Kopie davon",
  "this attempt has run out or was used already; try again":
    "dieser Versuch ist abgelaufen oder wurde schon verwendet; noch einmal versuchen",
  "the office has given this account a new code; log in with the code first":
    "das Büro hat diesem Konto einen neuen Code gegeben; zuerst mit dem Code anmelden",
  "there is no such passkey": "einen solchen Passkey gibt es nicht",
  "{} passkeys are the most; remove one first": "mehr als {} Passkeys geht nicht; zuerst einen entfernen",
  "name: a passkey's name has 1 to {} characters": "Name: der Name eines Passkeys hat 1 bis {} Zeichen",
  "this passkey is known already, or the account changed meanwhile":
    "dieser Passkey ist schon bekannt, oder das Konto wurde inzwischen geändert",
  "the password needs 10 to 256 characters": "das Passwort braucht 10 bis 256 Zeichen",
  "this password is easily guessed; several words that do not belong together are a good one":
    "dieses Passwort ist leicht zu erraten; mehrere Wörter, die nicht zusammengehören, sind gut",
  "the change names another author": "die Änderung nennt eine andere Person als Verfasser",
  "a hub writes nothing of its own": "eine Zwischenstelle schreibt nichts Eigenes",
  "a {} may not write the field {} of a record of kind {}":
    "die Rolle {} darf das Feld {} einer Aufzeichnung der Art {} nicht schreiben",
  "a {} may write a draft of their own only, not the field {} of a method":
    "die Rolle {} darf nur einen eigenen Entwurf schreiben, nicht das Feld {} eines Verfahrens",
  "the field {} is written by the office's own routes only": "das Feld {} wird nur vom Büro selbst geschrieben",
  "a certificate is written by the office's own routes only":
    "ein Kalibrierschein wird nur vom Büro selbst geschrieben",
  "results of the past are brought in at the office only": "frühere Ergebnisse werden nur im Büro übernommen",
  "its author has no account here": "wer es geschrieben hat, hat hier kein Konto",
  "the second factor is there already, or not yet": "der zweite Faktor ist schon da oder noch nicht",
  "this code is wrong; check the clock of your device": "dieser Code ist falsch; die Uhr des Geräts prüfen",
  "the request comes from a page of another site": "die Anfrage kommt von einer Seite einer anderen Adresse",
  "the password is wrong": "das Passwort ist falsch",
  "the passkey was not added": "der Passkey wurde nicht hinzugefügt",
  "this needs a second factor; set it up under Device, Account":
    "das braucht einen zweiten Faktor; unter Gerät, Konto einrichten",
  "the body must be application/json": "der Inhalt muss application/json sein",
  "it is at the office only, which cannot be reached now": "es liegt nur im Büro, das gerade nicht erreichbar ist",
  "the program on this device is too old for the office; nothing of this was kept, the work stays on the device until the program is brought up to date":
    "das Programm auf diesem Gerät ist zu alt für das Büro; nichts davon wurde übernommen, die Arbeit bleibt auf dem Gerät, bis das Programm erneuert ist",
  "a backup or an export is being taken already": "eine Sicherung oder eine Ausgabe läuft schon",
  "this entry is closed already": "dieser Eintrag wurde schon erledigt",
  "it still cannot be accepted": "es darf noch immer nicht übernommen werden",
  "say why": "sagen, warum",
  "it cannot be read": "es kann nicht gelesen werden",
  "device: is another person's; a shared device is known by its browser":
    "Gerät: gehört einer anderen Person; ein gemeinsames Gerät ist an seinem Browser bekannt",
  "a revoked account has handed over as much as it may; the office looks through it first":
    "ein gesperrtes Konto hat so viel übergeben, wie es darf; das Büro sieht es zuerst durch",
  "too many wait for news; ask from time to time": "zu viele warten auf Neues; von Zeit zu Zeit fragen",
  "this server has no log-in by a provider": "dieser Server hat keine Anmeldung über einen Anbieter",
  "the body came too slowly": "der Inhalt kam zu langsam",
  "after: the piece before this one was not taken; nothing of this one was kept":
    "after: Das Stück davor wurde nicht angenommen; von diesem wurde nichts behalten",
  "this account has brought as many photos and records today as it may":
    "dieses Konto hat heute so viele Fotos und Aufzeichnungen gebracht, wie es darf",
  "the Content-Range is not one of these bytes": "der Content-Range gehört nicht zu diesen Bytes",
  "not a link for a label": "kein Verweis für ein Etikett",
  "the size is not valid": "die Größe geht nicht",
  "{} tags; 1 to {}": "{} Anhänger; 1 bis {}",
  "{} is not an address such as https://gauges.example": "{} ist keine Adresse wie https://gauges.example",
  "the label {} needs 4 to 40 letters, digits and hyphens":
    "das Etikett {} braucht 4 bis 40 Buchstaben, Ziffern und Bindestriche",
  "{} characters, at most {}": "{} Zeichen, höchstens {}",
  "a module of {} pixels; 1 to 64": "ein Modul von {} Bildpunkten; 1 bis 64",
  "{} labels; 1 to {}": "{} Etiketten; 1 bis {}",
  "{} columns, {} rows, margin {} mm": "{} Spalten, {} Reihen, Rand {} mm",
  "modules of {} mm; at least {}": "Module von {} mm; mindestens {}",
  "a label with its code needs {} by {} mm, the sheet gives {} by {}; fewer columns or rows":
    "ein Etikett mit seinem Code braucht {} mal {} mm, der Bogen gibt {} mal {}; weniger Spalten oder Reihen",
  "the provider cannot be reached now": "der Anbieter ist gerade nicht erreichbar",
  "this log-in was not begun here, or has run out": "diese Anmeldung wurde nicht hier begonnen oder ist abgelaufen",
  "the provider did not let this person log in": "der Anbieter ließ diese Person nicht anmelden",
  "the provider's answer is not valid": "die Antwort des Anbieters hält nicht stand",
  "the provider has not verified this e-mail address": "der Anbieter hat diese E-Mail-Adresse nicht bestätigt",
  "too many log-ins by the provider at once; try again in a moment":
    "zu viele Anmeldungen über den Anbieter auf einmal; gleich noch einmal versuchen",
  "no certificate can be written": "es kann kein Kalibrierschein geschrieben werden",
  "no certificate can be written of visit {}: {}": "es kann kein Kalibrierschein der Prüfung {} geschrieben werden: {}",
  "a certificate has to state this": "ein Kalibrierschein muss das angeben",
  "it is {}, not approved": "sie ist {}, nicht freigegeben",
  "there are conflicts: choose between the values of {}": "zwischen Werten von {} muss gewählt werden",
  "the office's recalculation differs: {}": "die Neuberechnung des Büros weicht ab: {}",
  "it was not tested: {}": "es wurde nicht geprüft: {}",
  "its method is a draft (version {}): keep it as a version, and do the work by that":
    "ihr Verfahren ist ein Entwurf (Version {}): als Version speichern und danach arbeiten",
  "no standard is recorded": "kein Normal ist erfasst",
  "it has no closed as-found run": "sie hat keinen abgeschlossenen Durchgang im Eingangszustand",
  "it has no closed run": "sie hat keinen abgeschlossenen Durchgang",
  "a run has no finding": "ein Durchgang hat kein Ergebnis",
  "the as-found run has no finding": "der Durchgang im Eingangszustand hat kein Ergebnis",
  "the as-found run is not whole": "der Durchgang im Eingangszustand ist nicht vollständig",
  "it was adjusted and has no as-left run": "es wurde justiert und hat keinen Durchgang im Ausgangszustand",
  "the as-left run is not whole": "der Durchgang im Ausgangszustand ist nicht vollständig",
  "the visit that it follows found no failure of this instrument":
    "die Prüfung, der sie folgt, hat kein Versagen dieses Geräts gefunden",
  "the name of the person {}": "der Name der Person {}",
  "the server's address; {} is none": "die Adresse des Servers; {} ist keine",
  "a certificate is in English (en) or German (de)": "ein Kalibrierschein ist auf Englisch (en) oder Deutsch (de)",
  "a certificate is in English (en) or German (de); {} is neither":
    "ein Kalibrierschein ist auf Englisch (en) oder Deutsch (de); {} ist keines davon",
  "{} is no day on which the item was received": "{} ist kein Tag, an dem der Gegenstand eingegangen ist",
  "the certificate cannot be read": "der Kalibrierschein kann nicht gelesen werden",
  "it is larger than {} MiB": "er ist größer als {} MiB",
  "it is no XML: {}": "es ist kein XML: {}",
  "its root is no dcc:digitalCalibrationCertificate": "seine Wurzel ist kein dcc:digitalCalibrationCertificate",
  "schemaVersion {} is none of 3.x": "schemaVersion {} ist keine von 3.x",
  "nothing is known of the unit {}": "die Einheit {} ist nicht bekannt",
  "it has no series of reference values with a value or an error beside them, in a unit that can be turned into {}":
    "er hat keine Reihe von Bezugswerten mit einem Wert oder einer Abweichung daneben, in einer Einheit, die sich in {} umrechnen lässt",
  "the person {} {}": "die Person {} {}",
  "the authorisation {} {}": "die Befugnis {} {}",
  "this is done at the office, not at a hub": "das geschieht im Büro, nicht an einem Knoten",
  "it is being calculated already": "es wird schon gerechnet",
  "decide first what follows for this instrument": "zuerst entscheiden, was für dieses Gerät folgt",
  "no instrument of it is decided as one to tell of, to recall or to recalibrate":
    "für kein Gerät davon ist Mitteilung, Rückruf oder neue Kalibrierung entschieden",
  "the calculation {}: {}": "die Berechnung {}: {}",
  "a day such as 2026-03-04 is needed": "ein Tag wie 2026-03-04 ist nötig",
  "a day such as 2026-03-04 is needed, not after today": "ein Tag wie 2026-03-04 ist nötig, nicht nach heute",
  "a month such as 2026-03 is needed, not after this one": "ein Monat wie 2026-03 ist nötig, nicht nach diesem",
  "the standard has no such range": "das Normal hat keinen solchen Bereich",
  "lies outside the range of the standard": "liegt außerhalb des Bereichs des Normals",
  "a number from 0 on is needed, or nothing": "eine Zahl ab 0 ist nötig, oder nichts",
  "is nobody known here": "ist niemand, der hier bekannt ist",
  "is too long": "ist zu lang",
  "the points that are known now are needed": "die jetzt bekannten Punkte sind nötig",
  "the points cannot be read": "die Punkte sind nicht lesbar",
  "say how the standard was found to be out": "sagen, wie gefunden wurde, dass das Normal falsch war",
  "say why, in a few words": "in ein paar Worten sagen, warum",
  "say who sees to it": "sagen, wer es übernimmt",
  "say by which day it is done": "sagen, bis wann es getan ist",
  "say what was done, in a few words": "in ein paar Worten sagen, was getan wurde",
  "choose at least one": "mindestens eines auswählen",
  "say what they may do": "sagen, was die Person darf",
  "must not lie before the first day": "darf nicht vor dem ersten Tag liegen",
  "name the evidence, in at most {} letters": "den Nachweis nennen, in höchstens {} Buchstaben",
  "line {} is no erasure: {}": "Zeile {} ist keine Löschung: {}",
  "it needs a change and its fields": "nötig sind eine Änderung und ihre Felder",
  "the order {} {}": "der Auftrag {} {}",
  "the body is too large": "der Inhalt ist zu groß",
  "the server's disk is full; nothing of this was kept":
    "der Speicher des Servers ist voll; nichts davon wurde übernommen",
  "something went wrong here; nothing was lost": "hier ging etwas schief; nichts ging verloren",
  "from 1 to 200": "von 1 bis 200",
  "are above 0 and at most 60 a week": "sind über 0 und höchstens 60 in der Woche",
  "is a number of days from 0 to 365": "ist eine Zahl von Tagen von 0 bis 365",
  "more than 500": "mehr als 500",
  "the draft or the method has changed since it was shown; look at it again":
    "der Entwurf oder das Verfahren hat sich seit der Anzeige geändert; bitte noch einmal ansehen",
  "whoever wrote a method does not put it into force; another person of the office has to look at it":
    "wer ein Verfahren geschrieben hat, setzt es nicht in Kraft; eine andere Person des Büros muss es ansehen",
  "the draft of {} {}": "der Entwurf von {} {}",
  "{} of the method": "{} beim Verfahren",
  "a method comes into force by the office's own route; write a draft of it":
    "ein Verfahren setzt nur das Büro in Kraft; schreiben Sie einen Entwurf davon",
};
