/* Sentences about programmes and loggers' files, and of formulas, in German. */
export const programmeSentences: { [english: string]: string } = {
  "nothing is judged: the programme has no rule for what was read":
    "nichts wird beurteilt: das Programm hat keine Regel für die abgelesenen Werte",
  "the programme's rule for {}": "die Regel des Programms für {}",
  "{} lies outside {}": "{} liegt außerhalb {}",
  "at most {}{}": "höchstens {}{}",
  "at least {}{}": "mindestens {}{}",
  "{} to {}{}": "{} bis {}{}",
  holds: "trifft zu",
  "does not hold": "trifft nicht zu",
  "not known": "nicht bekannt",
  "there are more than {} rules": "es gibt mehr als {} Regeln",
  "a rule has limits or a condition, not both": "eine Regel hat Grenzen oder eine Bedingung, nicht beides",
  "a rule needs low, high or when": "eine Regel braucht eine Grenze oder eine Bedingung",
  "must not be below low": "darf nicht unter dem unteren Ende liegen",
  "no step gives a number called {}": "kein Schritt ergibt eine Zahl namens {}",
  "{} is no unit of pressure known here": "{} ist hier keine bekannte Druckeinheit",
  "the programme is in {} pressure, the instrument shows {} pressure": "das Programm ist in {}, das Gerät zeigt {}",
  "line {}: {}": "Zeile {}: {}",
  "the programme stopped: {}": "das Programm hat angehalten: {}",
  "{} was not read on the way that this run took, so its rule judges nothing":
    "{} wurde auf dem Weg dieses Durchgangs nicht abgelesen, darum beurteilt seine Regel nichts",
  "it is either a programme or an expansion": "es ist entweder ein Programm oder eine Ausführung",
  "neither the instrument nor the standard is known, so no pressure or rate is compared with them":
    "weder Gerät noch Normal ist bekannt, darum wird kein Druck und keine Geschwindigkeit mit ihnen verglichen",
  "no unit is said: begin with a line such as unit kPa gauge":
    "keine Einheit ist angegeben: mit einer Zeile wie unit kPa gauge beginnen",
  "it is not said whether pressures are gauge or absolute; they are taken as absolute, which the instrument shows":
    "es ist nicht gesagt, ob Drücke Überdruck oder absolut sind; sie gelten als absolut, wie das Gerät zeigt",
  "it is not said whether pressures are gauge or absolute; they are taken as gauge":
    "es ist nicht gesagt, ob Drücke Überdruck oder absolut sind; sie gelten als Überdruck",
  "the programme is in {} pressure, but the instrument shows {} pressure":
    "das Programm ist in {}, aber das Gerät zeigt {}",
  "{} is not a unit known here": "{} ist hier keine bekannte Einheit",
  "{} is a unit of {}, not of pressure": "{} ist eine Einheit von {}, nicht von Druck",
  "{} is a unit of {}, not of {}": "{} ist eine Einheit von {}, nicht von {}",
  "{} is not a unit of {}": "{} ist keine Einheit von {}",
  "{} does not begin with a decimal number": "{} beginnt nicht mit einer Dezimalzahl",
  "the programme is in {}, but instrument and standard are given in {}":
    "das Programm ist in {}, aber Gerät und Normal sind in {} angegeben",
  "the programme is in {} pressure, but instrument and standard are given in {} pressure":
    "das Programm ist in {}, aber Gerät und Normal sind in {} angegeben",
  "the wait of at most {} s ends before the {} s at rest can have passed":
    "die Wartezeit von höchstens {} s endet, bevor die {} s in Ruhe vergangen sein können",
  "the repeat has no end if its condition never comes true: say , at most and a number":
    "die Wiederholung endet nie, wenn ihre Bedingung nie eintritt: , at most und eine Zahl angeben",
  "this leads to nothing: there is no step in its braces": "das führt zu nichts: in seinen Klammern steht kein Schritt",
  "the condition {} is a number; compare it with something": "die Bedingung {} ist eine Zahl; mit etwas vergleichen",
  "the number {} is too long or its exponent too large": "die Zahl {} ist zu lang oder ihr Exponent zu groß",
  "{} is below absolute zero": "{} liegt unter dem absoluten Nullpunkt",
  "{} is a vacuum, which the instrument does not allow": "{} ist ein Vakuum, das das Gerät nicht erlaubt",
  "{} is {} the range of the {} ({} to {})": "{} liegt außerhalb des Bereichs ({} des {}, {} bis {})",
  "{} is below the range of the instrument ({} to {})": "{} liegt unter dem Bereich des Geräts ({} bis {})",
  "{} is above the range of the instrument ({} to {})": "{} liegt über dem Bereich des Geräts ({} bis {})",
  "{} is below the range of the standard ({} to {})": "{} liegt unter dem Bereich des Normals ({} bis {})",
  "{} is above the range of the standard ({} to {})": "{} liegt über dem Bereich des Normals ({} bis {})",
  "{} is above what the weakest part withstands: {}, {}": "{} liegt über dem, was das schwächste Teil aushält: {}, {}",
  "{} reaches the relief setting of {}": "{} erreicht die Einstellung des Sicherheitsventils von {}",
  "{}/s is faster than the {} takes ({}/s)": "{}/s ist zu schnell für: {} ({}/s)",
  "{}/s is faster than the instrument takes ({}/s)": "{}/s ist schneller, als das Gerät verträgt ({}/s)",
  "{}/s is faster than the standard takes ({}/s)": "{}/s ist schneller, als das Normal verträgt ({}/s)",
  "{}/s is more than 1 % of the set point in a second ({}/s)":
    "{}/s ist mehr als 1 % des Schaltpunkts in einer Sekunde ({}/s)",
  "between two samples the pressure runs on; half a step is {}, more than a tenth of the tolerance ({})":
    "zwischen zwei Werten läuft der Druck weiter; ein halber Schritt ist {}, mehr als ein Zehntel der Toleranz ({})",
  "{} holds a {} elsewhere and a {} here; use two names": "{} enthält anderswo {} und hier {}; zwei Namen benutzen",
  "{} holds a {}, with which nothing can be calculated": "{} enthält {}, womit sich nicht rechnen lässt",
  "{} is a number, but {} joins conditions": "{} ist eine Zahl, aber {} verbindet Bedingungen",
  "{} is yes or no, with which {} cannot calculate": "{} ist ja oder nein, womit {} nicht rechnen kann",
  "{} divides by zero": "{} teilt durch null",
  "{} (of the steps' text form)": "{} (der Textform der Schritte)",
  "Altitude {} ft, airspeed {} kt, impact pressure {} Pa.": "Höhe {} ft, Fluggeschwindigkeit {} kt, Staudruck {} Pa.",
  "the number {} is too large": "die Zahl {} ist zu groß",
  "{} has no value yet": "{} hat noch keinen Wert",
  "{}, and {}": "{}, und {}",
  "{} is not below {}": "{} liegt nicht unter {}",
  "{} is not above {}": "{} liegt nicht über {}",
  "{} is not at most {}": "{} liegt über {}",
  "{} is not at least {}": "{} liegt unter {}",
  "{} is not equal to {}": "{} ist nicht gleich {}",
  "{} is below {}": "{} liegt unter {}",
  "{} is above {}": "{} liegt über {}",
  "{} is at most {}": "{} ist höchstens {}",
  "{} is at least {}": "{} ist mindestens {}",
  "{} is equal to {}": "{} ist gleich {}",
  "at most": "höchstens",
  "at least": "mindestens",
  "equal to": "gleich",
  "the expression is too long": "der Ausdruck ist zu lang",
  "the expression goes on with {}": "der Ausdruck geht weiter mit {}",
  "the expression has more than {} terms": "der Ausdruck hat mehr als {} Glieder",
  "the expression is nested more than {} deep": "der Ausdruck ist mehr als {}-fach verschachtelt",
  "comparisons do not chain; join them with and": "Vergleiche lassen sich nicht verketten; mit and verbinden",
  "close the parenthesis": "die Klammer schließen",
  "abs takes one value": "abs nimmt einen Wert",
  "here a number, a name or a parenthesis is expected, not {}":
    "hier wird eine Zahl, ein Name oder eine Klammer erwartet, nicht {}",
  "the value of {} is not a finite number": "der Wert von {} ist keine endliche Zahl",
  "division by zero": "Teilung durch null",
  "a leak limit needs the volume": "eine Grenze der Leckrate braucht das Volumen",
  "the programme can end here without the system being vented and confirmed; put a vent before":
    "das Programm kann hier enden, ohne dass das System entlüftet und das bestätigt ist; davor vent einsetzen",
  "no way leads here: the programme has stopped before": "hierher führt kein Weg: das Programm hat vorher angehalten",
  'a burst needs the shield acknowledged on every way to it, after the last change at a joint: ask "… shield …" as yes':
    'ein Bersten braucht auf jedem Weg dahin den bestätigten Schutz, nach der letzten Änderung an einer Verbindung: ask "… shield …" as yes',
  "the pressure was changed and is read without a hold or settle in between":
    "der Druck wurde geändert und wird ohne hold oder settle dazwischen abgelesen",
  "a reading before the first vent: the zero is not confirmed":
    "eine Ablesung vor dem ersten Entlüften: der Nullpunkt ist nicht bestätigt",
  "this asks for work on a joint while the system can be under pressure; vent before it":
    "das verlangt Arbeit an einer Verbindung, während das System unter Druck stehen kann; davor entlüften",
  "the repeats have come to more than {} passes": "die Wiederholungen ergeben mehr als {} Durchläufe",
  "the run has come to more than {} steps": "der Durchgang ergibt mehr als {} Schritte",
  "the clock went back by {} s before this was recorded; waits are counted anew from here":
    "die Uhr ging vor dieser Erfassung um {} s zurück; Wartezeiten zählen ab hier neu",
  "the wait of {} s was left after {} s": "die Wartezeit von {} s wurde nach {} s abgebrochen",
  "{} was answered with no": "{} wurde mit Nein beantwortet",
  "Did the contact operate before the end of the ramp?": "Hat der Kontakt vor dem Ende der Rampe geschaltet?",
  "the contact operated": "der Kontakt hat geschaltet",
  "the contact did not operate up to {}": "der Kontakt hat bis {} nicht geschaltet",
  "Did the pressure drop before the end of the ramp?": "Ist der Druck vor dem Ende der Rampe abgefallen?",
  "the pressure dropped": "der Druck ist abgefallen",
  "the pressure did not drop up to {}": "der Druck ist bis {} nicht abgefallen",
  "this cannot be decided: {}": "das lässt sich nicht entscheiden: {}",
  "{}, {} times": "{}, {}-mal",
  "at the instrument": "am Prüfling",
  "at the standard": "am Normal",
  "at the thermometer": "am Thermometer",
  "at the barometer": "am Barometer",
  "blocks are nested more than {} deep": "Blöcke sind mehr als {}-fach verschachtelt",
  "the programme has more than {} steps": "das Programm hat mehr als {} Schritte",
  "the text has more than {} bytes, or characters that cannot be shown":
    "der Text hat mehr als {} Bytes oder Zeichen, die sich nicht zeigen lassen",
  "{} cannot be a name": "{} kann kein Name sein",
  "{} cannot be a unit": "{} kann keine Einheit sein",
  "{} is not one of{}": "{} ist keines von{}",
  "nothing reads it": "nichts liest es ab",
  "it is not read on every way to here": "es wird nicht auf jedem Weg hierher abgelesen",
  "{} has no value here: {}": "{} hat hier keinen Wert: {}",
  "the programme is longer than {} bytes": "das Programm ist länger als {} Bytes",
  "the programme is not UTF-8 text": "das Programm ist kein UTF-8-Text",
  "the step goes on with {}; the next step begins on a new line":
    "der Schritt geht weiter mit {}; der nächste Schritt beginnt in einer neuen Zeile",
  "a block is written in braces": "ein Block steht in geschweiften Klammern",
  "close the block": "den Block schließen",
  "a step begins with a word such as set, hold, read or vent, not with {}":
    "ein Schritt beginnt mit einem Wort wie set, hold, read oder vent, nicht mit {}",
  "the unit comes before the first step": "die Einheit steht vor dem ersten Schritt",
  "{} is not a step; the steps are set ramp hold settle read ask exercise vent repeat if note stop":
    "{} ist kein Schritt; die Schritte sind set ramp hold settle read ask exercise vent repeat if note stop",
  "here a unit is expected: unit kPa gauge": "hier wird eine Einheit erwartet: unit kPa gauge",
  "here a number is expected, not {}: {}": "hier wird eine Zahl erwartet, nicht {}: {}",
  "the number must be above zero: {}": "die Zahl muss über null liegen: {}",
  "how often must be a whole number from 1 to {}: {}": "wie oft: eine ganze Zahl von 1 bis {}: {}",
  "here one of{} is expected, not {}: {}": "hier wird eines von{} erwartet, nicht {}: {}",
  "{} cannot be a name (letters, digits and _, and no word of the programme's own): {}":
    "{} kann kein Name sein (Buchstaben, Ziffern und _, und kein Wort der Programmsprache): {}",
  "here a text in double quotes is expected, not {}: {}":
    "hier wird ein Text in doppelten Anführungszeichen erwartet, nicht {}: {}",
  "If {}:": "Wenn {}:",
  "Repeat {} times:": "{}-mal wiederholen:",
  "Repeat until {}, at most {} times:": "Wiederholen, bis {}, höchstens {}-mal:",
  "Stop: {}": "Anhalten: {}",
  "a single ! means nothing here; write not, or != for unequal":
    "ein einzelnes ! bedeutet hier nichts; not schreiben, oder != für ungleich",
  "the character {} means nothing here; texts stand in double quotes":
    "das Zeichen {} bedeutet hier nichts; Texte stehen in doppelten Anführungszeichen",
  "put a space after {}, and give numbers in the programme's unit":
    "nach {} ein Leerzeichen setzen und Zahlen in der Einheit des Programms angeben",
  "the number has more than {} characters": "die Zahl hat mehr als {} Zeichen",
  "the text has no closing quote on its line": "der Text hat in seiner Zeile kein schließendes Anführungszeichen",
  'after a backslash in a text only " \\ n t are known': 'nach einem \\ im Text sind nur " \\ n t bekannt',
  "the text has no closing quote": "der Text hat kein schließendes Anführungszeichen",
  "the end of the programme": "das Ende des Programms",
  "the end of the step": "das Ende des Schritts",
  "a text": "ein Text",
  "here {} is expected, not {}: {}": "hier wird {} erwartet, nicht {}: {}",
  "gone on although the pressure was not seen at rest: {}":
    "fortgesetzt, obwohl der Druck nicht zur Ruhe gekommen war: {}",
  "all values of {} s lie within {}": "alle Werte von {} s liegen innerhalb {}",
  "no value was taken": "kein Wert wurde abgelesen",
  "the values have no times to be judged by": "die Werte haben keine Zeiten, nach denen zu urteilen wäre",
  "the longest stretch within {} was {} s, not {} s": "der längste Abschnitt innerhalb {} dauerte {} s, nicht {} s",
  "the longest stretch within {} was {} s, not {} s, and {} s are over":
    "der längste Abschnitt innerhalb {} dauerte {} s, nicht {} s, und {} s sind um",
  "{} is no wait for rest": "{} ist kein Warten auf Ruhe",
  "{} has two records": "{} hat zwei Aufzeichnungen",
  "each pressure has its time, and there is one at least": "jeder Druck hat seine Zeit, und es gibt mindestens einen",
  "the record has more than {} samples; thin it first": "die Aufzeichnung hat mehr als {} Werte; sie zuerst ausdünnen",
  "times run on, and numbers are of usual size: sample {} is not so":
    "Zeiten laufen weiter, und Zahlen haben übliche Größe: Wert {} ist nicht so",
  "{} at {} is {} J ({}): less gas volume or a liquid stores less; keep people away as local rules ask":
    "{} bei {} ist {} J ({}): weniger Gasvolumen oder eine Flüssigkeit speichert weniger; Personen fernhalten, wie örtliche Regeln es verlangen",
  "the energy stored in the gas": "die im Gas gespeicherte Energie",
  "the work of the air outside on the evacuated volume": "die Arbeit der Luft außen am evakuierten Volumen",
  "the pressure is watched for {} s at most; a leak at the limit needs {} s between the first reading and the last to be seen":
    "der Druck wird höchstens {} s beobachtet; ein Leck an der Grenze braucht zwischen erster und letzter Ablesung {} s, um erkannt zu werden",
  "the hysteresis is wanted, but no point is read": "die Umkehrspanne ist verlangt, aber kein Prüfpunkt wird abgelesen",
  "the hysteresis is wanted, but no point is read on the way down":
    "die Umkehrspanne ist verlangt, aber abwärts wird kein Prüfpunkt abgelesen",
  "{} is read on the way {} but not on the way {}, so it has no hysteresis":
    "{} wird {} abgelesen, aber nicht {}, hat also keine Umkehrspanne",

  // Loggers' files.
  "some numbers hold both a point and a comma; digits in groups are not read as numbers":
    "manche Zahlen enthalten Punkt und Komma; gruppierte Ziffern werden nicht als Zahlen gelesen",
  "day and month cannot be told apart in these rows": "Tag und Monat lassen sich in diesen Zeilen nicht unterscheiden",
  "the times have no zone: a change between summer and winter time looks like a step":
    "die Zeiten haben keine Zone: eine Umstellung zwischen Sommer- und Winterzeit sieht aus wie ein Sprung",
  "has another number of values than the time": "hat eine andere Zahl von Werten als die Zeit",
  "time, pressure and contact need the same number of values, at least one":
    "Zeit, Druck und Kontakt brauchen gleich viele Werte, mindestens einen",
  "a contact has no mean; take extremes": "ein Kontakt hat keinen Mittelwert; Extremwerte nehmen",
  "must be a number of seconds below 1e9": "muss eine Zahl von Sekunden unter 1e9 sein",
  "this record is written in UTF-16; save it as UTF-8 or plain text":
    "diese Aufzeichnung ist in UTF-16 geschrieben; als UTF-8 oder einfachen Text speichern",
  "this record has no line of data": "diese Aufzeichnung hat keine Zeile mit Daten",
  "must be a point or a comma": "muss ein Punkt oder ein Komma sein",
  "this cannot separate columns": "das kann keine Spalten trennen",
  "must not lie before from_s": "darf nicht vor dem Anfang liegen",
  "must be one character": "muss ein Zeichen sein",
  "must be one of: us, ms, s, min, h, d": "muss eines sein von: us, ms, s, min, h, d",
  "{} stands for both states": "{} steht für beide Zustände",
  "at least one word is needed": "mindestens ein Wort ist nötig",
  "must be a whole number of nanoseconds": "muss eine ganze Zahl von Nanosekunden sein",
  "the time lies before that of a row above; this row is not used":
    "die Zeit liegt vor der einer Zeile darüber; diese Zeile wird nicht benutzt",
  "the time is that of the row above; this row is not used":
    "die Zeit ist die der Zeile darüber; diese Zeile wird nicht benutzt",
  "this is no time of the form confirmed; the row is not used":
    "das ist keine Zeit der bestätigten Form; die Zeile wird nicht benutzt",
  "the time has a zone and the first had none, or the other way round; the row is not used":
    "die Zeit hat eine Zone und die erste hatte keine, oder umgekehrt; die Zeile wird nicht benutzt",
  "this is no number; the row is not used": "das ist keine Zahl; die Zeile wird nicht benutzt",
  "the row has fewer columns than are needed; it is not used":
    "die Zeile hat weniger Spalten als nötig; sie wird nicht benutzt",
  "a quotation mark is not closed, or something follows it; the row is not used":
    "ein Anführungszeichen ist nicht geschlossen, oder etwas folgt darauf; die Zeile wird nicht benutzt",
  "this is neither of the contact's words; the row is not used":
    "das ist keines der Wörter des Kontakts; die Zeile wird nicht benutzt",
  "the temperature lies below absolute zero; the row is not used":
    "die Temperatur liegt unter dem absoluten Nullpunkt; die Zeile wird nicht benutzt",
  "the pressures do not fit the instrument's range: is the unit right?":
    "die Drücke passen nicht zum Bereich des Geräts: stimmt die Einheit?",
  "the contact never changes in this record": "der Kontakt wechselt in dieser Aufzeichnung nie",
  "no row of this record can be used": "keine Zeile dieser Aufzeichnung ist brauchbar",

  // Formulas and budgets of a laboratory's own.
  "is too long": "ist zu lang",
  "here the formula should end": "hier sollte die Formel enden",
  "at character {}: {}": "bei Zeichen {}: {}",
  "too many parentheses or signs within each other": "zu viele Klammern oder Vorzeichen ineinander",
  "a number, a name or a parenthesis is missing": "eine Zahl, ein Name oder eine Klammer fehlt",
  "a parenthesis is not closed": "eine Klammer ist nicht geschlossen",
  "this is not a number": "das ist keine Zahl",
  "a number, a name or a parenthesis is expected": "eine Zahl, ein Name oder eine Klammer wird erwartet",
  "{} needs its value in parentheses": "{} braucht seinen Wert in Klammern",
  "{} takes one value": "{} nimmt einen Wert",
  "there is no quantity called {}": "es gibt keine Größe namens {}",
  "a budget needs at least one term": "ein Budget braucht mindestens einen Beitrag",
  "fewer than one effective degree of freedom is left: no coverage factor can be said":
    "weniger als ein effektiver Freiheitsgrad bleibt: kein Erweiterungsfaktor lässt sich angeben",
  "names a term that is not there": "nennt einen Beitrag, den es nicht gibt",
  "a term is wholly correlated with itself; name two": "ein Beitrag ist mit sich selbst ganz korreliert; zwei nennen",
  "this pair is given twice": "dieses Paar steht zweimal da",
  "must be from -1 to 1": "muss von −1 bis 1 sein",
  "must lie between -1 and 1": "muss zwischen −1 und 1 liegen",
  "no quantities can be correlated like this: the matrix has a negative direction":
    "so können keine Größen korreliert sein: die Matrix hat eine negative Richtung",
  "from 1 to 200 terms are needed": "1 bis 200 Beiträge sind nötig",
  "{} is given twice": "{} steht zweimal da",
  "give u, or half_width with its shape, or expanded with its k":
    "die Standardunsicherheit angeben, oder die halbe Breite mit ihrer Form, oder die erweiterte mit ihrem k",
  "give one of u, half_width and expanded":
    "eines angeben: Standardunsicherheit, halbe Breite oder erweiterte Unsicherheit",
  "an expanded uncertainty says nothing without its coverage factor":
    "eine erweiterte Unsicherheit sagt ohne ihren Erweiterungsfaktor nichts",
  "belongs to expanded": "gehört zur erweiterten Unsicherheit",
  "there is no term called {}": "es gibt keinen Beitrag namens {}",
  "so many trials of so many terms take too long on a phone":
    "so viele Versuche mit so vielen Beiträgen dauern auf einem Telefon zu lange",
  "an uncertainty of zero is none: the term has no part in the budget":
    "eine Unsicherheit von null ist keine: der Beitrag hat keinen Anteil am Budget",
  "the effective degrees of freedom hold for independent terms; these are correlated":
    "die effektiven Freiheitsgrade gelten für unabhängige Beiträge; diese sind korreliert",
  "the points lie at one x: no line goes through them": "die Punkte liegen bei einem x: keine Gerade geht durch sie",
  "the points do not settle on one line: look at their uncertainties":
    "die Punkte ergeben keine Gerade: ihre Unsicherheiten ansehen",
  "an uncertainty must not be below zero": "eine Unsicherheit darf nicht unter null liegen",
  "from 3 to 10000 points are needed": "3 bis 10000 Punkte sind nötig",
  "some points state an uncertainty and others none": "manche Punkte geben eine Unsicherheit an und andere keine",
  "the points scatter more about the line than their uncertainties allow ({} points): one of them, or the straight line, is wrong":
    "die Punkte streuen stärker um die Gerade, als ihre Unsicherheiten erlauben ({} Punkte): eine davon oder die Gerade ist falsch",
  "the formula has no finite value at the quantities, or a standard uncertainty beside them":
    "die Formel hat bei den Größen oder eine Standardunsicherheit daneben keinen endlichen Wert",
  "the formula has no finite value for trial {}: a quantity reaches where it has none":
    "die Formel hat bei Versuch {} keinen endlichen Wert: eine Größe reicht dahin, wo sie keinen hat",
  "from 1 to 50 quantities are needed": "1 bis 50 Größen sind nötig",
  "follows from the formula; leave it out": "folgt aus der Formel; weglassen",
  "{} is not in the formula": "{} ist nicht in der Formel",
  "a million trials do not make the last digit stable: ask for fewer digits":
    "eine Million Versuche machen die letzte Ziffer nicht stabil: weniger Ziffern verlangen",
  "from 2 to 10000 observations are needed": "2 bis 10000 Beobachtungen sind nötig",
  "quantities observed together have equally many observations":
    "zusammen beobachtete Größen haben gleich viele Beobachtungen",
  "trials of correlated terms need normal ones without degrees of freedom: {}":
    "Versuche mit korrelierten Beiträgen brauchen normalverteilte ohne Freiheitsgrade: {}",
};
