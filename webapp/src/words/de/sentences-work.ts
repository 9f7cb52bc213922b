/*
 * Sentences of the calculations that any kind of work says, and of gauges, in German; {} is
 * a value, in its order. What is known by heart of a rule stays marked as that.
 */
export const workSentences: { [english: string]: string } = {
  "Safe to begin": "Sicherer Beginn",
  "Lines connected": "Leitungen angeschlossen",
  "Field pressure": "Druck am Platz",
  "Field pressure afterwards": "Druck am Platz danach",
  "At the field, before": "Am Platz, vorher",
  "At the field, after": "Am Platz, nachher",
  "Static pressure": "Statikdruck",
  "Pitot pressure": "Pitotdruck",
  "System restored": "System wiederhergestellt",
  "Clamped and shielded": "Eingespannt und abgeschirmt",
  "It burst": "Geborsten",
  "Temperature before": "Temperatur vorher",
  "Temperature after": "Temperatur nachher",
  "Barometer before": "Barometer vorher",
  "Barometer after": "Barometer nachher",
  "Set point": "Schaltpunkt",
  "Reset point": "Rückschaltpunkt",
  "Burst pressure": "Berstdruck",
  "as found": "Eingangszustand",
  "as left": "Ausgangszustand",
  "in service": "in Betrieb",
  "out of service": "außer Betrieb",
  "ambient pressure": "Umgebungsdruck",
  "this field is missing": "diese Angabe fehlt",
  "this field is not known here": "dieses Feld ist hier nicht bekannt",
  "the document must be an object": "das Dokument muss ein Objekt sein",
  "an object is needed": "ein Objekt ist nötig",
  "a number or a decimal text is needed": "eine Zahl ist nötig",
  "a decimal number is needed": "eine Dezimalzahl ist nötig",
  "{} is not a decimal number (digits, one point, an optional sign)":
    "{} ist keine Dezimalzahl (Ziffern, ein Dezimalzeichen, ein mögliches Vorzeichen)",
  "the number is too large": "die Zahl ist zu groß",
  "the number is too long": "die Zahl ist zu lang",
  "the number is too long or its exponent too large": "die Zahl ist zu lang oder ihr Exponent zu groß",
  "the result is not a finite number": "das Ergebnis ist keine endliche Zahl",
  "is too large or too long to be compared exactly": "ist zu groß oder zu lang, um genau verglichen zu werden",
  "is too long to be compared exactly": "ist zu lang, um genau verglichen zu werden",
  "a whole number is needed": "eine ganze Zahl ist nötig",
  "a text is needed": "ein Text ist nötig",
  "true or false is needed": "wahr oder falsch ist nötig",
  "a list is needed": "eine Liste ist nötig",
  "{} is not one of: {}": "{} ist keines von: {}",
  "must be above zero": "muss über null liegen",
  "must not be below zero": "darf nicht unter null liegen",
  "must not lie below the high end of the range": "darf nicht unter dem oberen Ende des Bereichs liegen",
  "must lie above low": "muss über dem unteren Ende liegen",
  "a point of the method lies above the lowest range on the manifold":
    "ein Punkt des Verfahrens liegt über dem kleinsten Messbereich am Verteiler",
  "on a manifold the pressure is set, not the pointer of one gauge":
    "an einem Verteiler wird der Druck eingestellt, nicht der Zeiger eines Manometers",
  "must lie above the value": "muss über dem Wert liegen",
  "must be above low": "muss über dem unteren Ende liegen",
  "must not lie above high": "darf nicht über dem oberen Ende liegen",
  "must lie below high": "muss unter dem oberen Ende liegen",
  "must be between 0 and 1": "muss zwischen 0 und 1 liegen",
  "must be from {} to {}": "muss von {} bis {} sein",
  "must be above 1 and below 2": "muss über 1 und unter 2 liegen",
  "must be from -1 to 5": "muss von −1 bis 5 sein",
  "must be from 0.5 to below 1": "muss von 0,5 bis unter 1 sein",
  "must be between 0.5 and 0.9999": "muss zwischen 0,5 und 0,9999 liegen",
  "must be from 0.5 to 0.999": "muss von 0,5 bis 0,999 sein",
  "must be from 0.5 to 0.9999": "muss von 0,5 bis 0,9999 sein",
  "must be between 0 and 0.5": "muss zwischen 0 und 0,5 liegen",
  "must be between 0.01 and 0.999999": "muss zwischen 0,01 und 0,999999 liegen",
  "must be from 0.1 to 1000": "muss von 0,1 bis 1000 sein",
  "must be from 0 to below 1": "muss von 0 bis unter 1 sein",
  "must be from 0 to 100": "muss von 0 bis 100 sein",
  "must be from 0 to 1000 m": "muss von 0 bis 1000 m sein",
  "must be from -1000 to 1000 m": "muss von −1000 bis 1000 m sein",
  "must be from 0 to 20000 kg/m³": "muss von 0 bis 20000 kg/m³ sein",
  "must be from 0 to 2 kg/m³": "muss von 0 bis 2 kg/m³ sein",
  "must be between 9 and 10 m/s²": "muss zwischen 9 und 10 m/s² liegen",
  "must be from 0 to 3600 s": "muss von 0 bis 3600 s sein",
  "must be from 0 to 86400 s": "muss von 0 bis 86400 s sein",
  "must be above 0 and at most 240": "muss über 0 und höchstens 240 sein",
  "must be above 0 and below 200000 Pa, absolute": "muss über 0 und unter 200000 Pa liegen, absolut",
  "must be from -90 to 90 degrees": "muss von −90 bis 90 Grad sein",
  "must be from -1000 to 10000 m; the formula is not good beyond":
    "muss von −1000 bis 10000 m sein; darüber hinaus gilt die Formel nicht",
  "must be 1 or more; leave it out where the uncertainty is well known":
    "muss 1 oder mehr sein; weglassen, wo die Unsicherheit gut bekannt ist",
  "must be a time such as 2026-11-25T14:30:00Z, with its zone":
    "muss eine Zeit wie 2026-11-25T14:30:00Z sein, mit ihrer Zone",
  "{} is not a date such as 2024-05-31, from 1900 on": "{} ist kein Datum wie 2024-05-31, ab 1900",
  "{} is not a date such as 2026-03-04, from 1900 on": "{} ist kein Datum wie 2026-03-04, ab 1900",
  "there is no calculation called {}": "es gibt keine Berechnung namens {}",
  "{} takes no bytes beside its document": "{} nimmt neben dem Dokument keine Bytes",

  // What follows a failure.
  "the serial number of the one that was put in is needed": "die Seriennummer des eingebauten ist nötig",
  "who decided that it stays in service is needed": "nötig ist, wer entschieden hat, dass es in Betrieb bleibt",
  "the day until which it may stay is needed": "der Tag, bis zu dem es bleiben darf, ist nötig",
  "why it may stay in service is needed": "nötig ist, warum es in Betrieb bleiben darf",
  "a day such as 2026-03-04 is needed": "ein Tag wie 2026-03-04 ist nötig",
  "this day is over": "dieser Tag ist vorbei",
  "a defect code is needed": "die Art des Fehlers ist nötig",
  "what is wrong with it is needed": "nötig ist, was daran fehlerhaft ist",
  "why the bypass stays in is needed": "nötig ist, warum die Überbrückung gesetzt bleibt",

  // Any kind of work.
  "{} {} are missing": "{} {} fehlen",
  "the run is not closed": "der Durchgang ist nicht abgeschlossen",
  "this {} is there twice; a correction supersedes the first": "{} ist zweimal da; eine Berichtigung ersetzt das erste",
  "a safety question was not answered with yes: {}": "eine Sicherheitsfrage wurde nicht mit Ja beantwortet: {}",
  "a safety question was not answered with yes: not every caution was met before the first pressure":
    "eine Sicherheitsfrage wurde nicht mit Ja beantwortet: nicht jeder Warnhinweis war vor dem ersten Druck erfüllt",
  "the instrument is in oxygen service and the standard has held oil":
    "das Gerät dient für Sauerstoff, und im Normal war Öl",
  "the instrument is in oxygen service and nothing says that the standard was cleaned for oxygen":
    "das Gerät dient für Sauerstoff, und nichts belegt, dass das Normal für Sauerstoff gereinigt wurde",
  "the instrument was damaged: it must not be put under pressure":
    "das Gerät war beschädigt: es darf nicht unter Druck gesetzt werden",
  "tag and serial were not those of this instrument":
    "Messstelle und Seriennummer stimmten nicht mit diesem Gerät überein",
  "this is beyond the limit of {}: it may be strained, and so may everything on the line":
    "das liegt jenseits der Grenze für {}: das Gerät und alles an der Leitung können überlastet sein",
  "the relief valve": "das Sicherheitsventil",
  "the instruments on the lines": "die Instrumente an den Leitungen",
  "the lowest range on the manifold": "den niedrigsten Messbereich am Verteiler",
  "this is beyond the instrument's overload limit: it may be strained, and so may everything on the line":
    "das liegt jenseits der Überlastgrenze: der Prüfling und alles an der Leitung können überlastet sein",
  "this lies beyond the instrument's range: it may be strained, and so may everything on the line":
    "das liegt jenseits des Messbereichs: der Prüfling und alles an der Leitung können überlastet sein",
  "this lies outside the instrument's range": "das liegt außerhalb des Bereichs des Prüflings",
  "this is far from the step's pressure. Is a digit missing?":
    "das liegt weit vom Druck des Schritts. Fehlt eine Ziffer?",
  "this is far from the reading before it. Is a digit missing?":
    "das liegt weit vom Messwert davor. Fehlt eine Ziffer?",
  "this is finer than it can be read: the smallest step is {} {}":
    "das ist feiner, als sich ablesen lässt: der kleinste Schritt ist {} {}",
  "two readings one after the other are far from the pressure of their steps: is the instrument connected, and to the right line?":
    "zwei Messwerte nacheinander liegen weit vom Druck ihrer Schritte: ist der Prüfling angeschlossen, und an die richtige Leitung?",
  "an air temperature of {} °C is that of no place: from {} to {} °C is possible":
    "eine Lufttemperatur von {} °C gibt es an keinem Ort: möglich ist {} bis {} °C",
  "a relative humidity of {} % cannot be: from 0 to 100 % is possible":
    "eine relative Feuchte von {} % kann nicht sein: möglich ist 0 bis 100 %",
  "an air pressure of {} hPa is that of no place: from {} to {} hPa is possible{}":
    "einen Luftdruck von {} hPa gibt es an keinem Ort: möglich ist {} bis {} hPa{}",
  " at {} m": " in {} m Höhe",
  "{}; was it read in {}?": "{}; wurde in {} abgelesen?",
  "a temperature of {} °C cannot be: from {} to {} °C is possible":
    "eine Temperatur von {} °C kann nicht sein: möglich ist {} bis {} °C",
  "work of this kind uses no {}": "Arbeit dieser Art braucht {} nicht",
  "there is no kind of work called {}": "es gibt keine Art von Arbeit namens {}",
  "say whether the sensor shows gauge or absolute pressure": "angeben, ob der Sensor Überdruck oder Absolutdruck zeigt",
  "no place has this pressure: it must be from 30000 to 120000 Pa, absolute":
    "diesen Druck hat kein Ort: er muss von 30000 bis 120000 Pa sein, absolut",
  "stated by the method": "vom Verfahren angegeben",
  "the method asks for no such value; it is kept and not judged":
    "das Verfahren verlangt keinen solchen Wert; er bleibt gespeichert und wird nicht beurteilt",
  "the method asks for no such reading; it is kept and not judged":
    "das Verfahren verlangt keinen solchen Messwert; er bleibt gespeichert und wird nicht beurteilt",
  "the method asks for no such record; it is kept and not judged":
    "das Verfahren verlangt keine solche Aufzeichnung; sie bleibt gespeichert und wird nicht beurteilt",
  "has {} values, the time has {}": "hat {} Werte, die Zeit hat {}",
  "the time does not rise": "die Zeit steigt nicht",
  "the pressures reach {} {}, the instrument's range {}: is the unit right?":
    "die Drücke reichen bis {} {}, der Bereich des Geräts {}: stimmt die Einheit?",
  "the weakest part": "das schwächste Teil",
  "the instrument's range": "der Bereich des Geräts",
  "there is no reading": "es gibt keinen Messwert",
  "the value lies outside the instrument's range": "der Wert liegt außerhalb des Bereichs des Prüflings",
  "values are missing": "Werte fehlen",
  "{}: the liquid holds {} J; gas left in it holds far more, so bleed it.":
    "{}: die Flüssigkeit speichert {} J; Gas darin speichert weit mehr, darum entlüften.",
  "{}: the air outside can do {} J of work on the evacuated volume.":
    "{}: die Luft außen kann am evakuierten Volumen {} J Arbeit verrichten.",
  "{}: the gas holds {} J (isentropic), {} J (Brode), {} J (isothermal).":
    "{}: das Gas speichert {} J (isentrop), {} J (Brode), {} J (isotherm).",
  "For a pneumatic test of plant the distance rule of ASME PCC-2 gives {} m.":
    "Für eine Druckprüfung von Anlagen mit Gas ergibt die Abstandsregel von ASME PCC-2 {} m.",
  "Local codes, the procedure of the owner and licensed persons go before this plan.":
    "Örtliche Vorschriften, das Vorgehen des Betreibers und befugte Personen gehen diesem Ablauf vor.",

  // Standards, uncertainty and decisions.
  "the standard has no uncertainty": "zum Normal ist keine Messunsicherheit angegeben",
  "an uncertainty of zero is none: the standard has no part in the budget":
    "eine Unsicherheit von null ist keine: das Normal hat keinen Anteil am Budget",
  "no standard is given: no uncertainty of the pressures is evaluated":
    "kein Normal ist angegeben: für die Drücke wird keine Messunsicherheit berechnet",
  "no standard is given: no uncertainty is evaluated":
    "kein Normal ist angegeben: es wird keine Messunsicherheit berechnet",
  "a difference of level is stated and the density of its fluid is not":
    "ein Höhenunterschied ist angegeben, die Dichte seiner Füllung nicht",
  "a difference of level is stated and its fluid is not": "ein Höhenunterschied ist angegeben, seine Füllung nicht",
  "a difference of level is stated, and there is no column of gas at a pressure below zero":
    "ein Höhenunterschied ist angegeben, und unter null gibt es keine Gassäule",
  "there is no column of gas at a pressure below zero: the difference of level is not corrected here":
    "unter null gibt es keine Gassäule: der Höhenunterschied wird hier nicht korrigiert",
  "at {} {}: {}": "bei {} {}: {}",
  "this decision rule rests on the uncertainty, and the standard is not given":
    "diese Entscheidungsregel beruht auf der Messunsicherheit, und das Normal ist nicht angegeben",
  "between the two samples around it the pressure crosses the limit: sample faster, or change it more slowly":
    "zwischen den beiden Werten darum überschreitet der Druck die Grenze: schneller aufzeichnen oder langsamer ändern",
  "the managed guard band needs two different limits":
    "das risikobegrenzende Schutzband braucht zwei verschiedene Grenzen",
  "the guard band leaves no acceptance zone: the uncertainty is too large for this tolerance":
    "das Schutzband lässt keinen Annahmebereich: die Messunsicherheit ist für diese Toleranz zu groß",
  "the guard band leaves no acceptance zone": "das Schutzband lässt keinen Annahmebereich",
  "the guard band is wider than the limit: it leaves no acceptance zone, at one point or more":
    "das Schutzband ist breiter als die Fehlergrenze: an mindestens einem Prüfpunkt lässt es keinen Annahmebereich",
  "a verdict needs the uncertainty, also where the rule does not use it":
    "ein Urteil braucht die Messunsicherheit, auch wo die Regel sie nicht benutzt",
  "an uncertainty of zero makes no sense of a rule that rests on it":
    "mit einer Unsicherheit von null hat eine Regel, die auf ihr beruht, keinen Sinn",
  "at least one limit is needed": "mindestens eine Grenze ist nötig",
  "belongs to the guarded rules": "gehört zu den Regeln mit Schutzband",
  "belongs to the rule probability": "gehört zur Regel der Wahrscheinlichkeit",
  "the verdict is given without an uncertainty": "das Urteil ist ohne Messunsicherheit gegeben",
  "only managed may be named here; else give a guard factor":
    "hier ist nur das risikobegrenzende Schutzband möglich; sonst einen Faktor angeben",
  "give the rule or the factor, not both": "die Regel oder den Faktor angeben, nicht beides",
  "give the coverage or k, not both": "die Überdeckung oder k angeben, nicht beides",
  "give the tolerance in the unit or in per cent, not both":
    "die Toleranz in der Einheit oder in Prozent angeben, nicht beides",
  "the day of calibration lies in the future": "der Tag der Kalibrierung liegt in der Zukunft",
  "the certificate has expired already": "der Kalibrierschein ist schon abgelaufen",
  "the error at {} is {} times the specification": "die Abweichung bei {} ist das {}-Fache der Spezifikation",
  "the uncertainty at {} is {} times the specification":
    "die Messunsicherheit bei {} ist das {}-Fache der Spezifikation",
  "must not lie before the day of calibration": "darf nicht vor dem Tag der Kalibrierung liegen",
  "no range of the standard holds the point": "kein Bereich des Normals enthält den Prüfpunkt",
  "the point lies outside the points of the certificate; nothing is extrapolated":
    "der Prüfpunkt liegt außerhalb der Punkte des Kalibrierscheins; nichts wird extrapoliert",
  "at least one range is needed": "mindestens ein Bereich ist nötig",
  "drift and years must not be below zero": "Drift und Jahre dürfen nicht unter null liegen",
  "the terms of a specification must not be below zero":
    "die Anteile einer Spezifikation dürfen nicht unter null liegen",
  "a range without a specification says nothing of its uncertainty":
    "ein Bereich ohne Spezifikation sagt nichts über seine Messunsicherheit",
  "a certificate's uncertainty must be above zero": "die Messunsicherheit eines Kalibrierscheins muss über null liegen",
  "the points must rise": "die Punkte müssen ansteigen",
  "give the ratio or the risk, not both": "das Verhältnis oder das Risiko angeben, nicht beides",
  "give the limit at all points, or limits, one for each":
    "die Fehlergrenze für alle Prüfpunkte angeben oder für jeden eine",
  "as many limits as points are needed": "so viele Fehlergrenzen wie Prüfpunkte sind nötig",
  "a limit must not be below zero": "eine Fehlergrenze darf nicht unter null liegen",
  "from 1 to 1000 points are needed": "1 bis 1000 Punkte sind nötig",
  "an uncertainty of zero makes every standard good enough":
    "mit einer Unsicherheit von null wäre jedes Normal gut genug",
  "a meter or a barometer is chosen, not both at once":
    "ein Messgerät oder ein Barometer wird gewählt, nicht beide zugleich",
  "only a transmitter has a signal that a meter reads": "nur ein Messumformer hat ein Signal, das ein Messgerät misst",
  "a range serves as a meter or as a barometer, not as both":
    "ein Bereich dient als Messgerät oder als Barometer, nicht als beides",
  "from 1 to 2000 sheets are needed": "1 bis 2000 Blätter sind nötig",
  "is {}, which is no unit of what {} measures": "ist {}, keine Einheit dessen, was {} misst",

  // Gauges and transmitters.
  "is no pressure of the air": "ist kein Druck der Luft",
  "only for an absolute pressure is a barometer added to a gauge standard":
    "nur für einen Absolutdruck kommt zu einem Überdrucknormal ein Barometer",
  "a gauge standard measures an absolute pressure only with the pressure of the air":
    "ein Überdrucknormal misst einen Absolutdruck nur zusammen mit dem Luftdruck",
  "no range of the barometer holds the pressure of the air": "kein Bereich des Barometers enthält den Luftdruck",
  "the pressure of the air lies outside the points of the barometer's certificate; nothing is extrapolated":
    "der Luftdruck liegt außerhalb der Punkte im Kalibrierschein des Barometers; nichts wird extrapoliert",
  "no range of the meter holds the signal": "kein Bereich des Messgeräts enthält das Signal",
  "a transmitter has no pointer to set": "ein Messumformer hat keinen Zeiger zum Einstellen",
  "at {} rising and falling readings differ by more than the permissible error, which the class does not allow":
    "bei {} unterscheiden sich die Messwerte auf- und abwärts um mehr als die Fehlergrenze (Umkehrspanne), was die Klasse nicht erlaubt",
  "at {} tapping changes the reading by more than the class or grade allows":
    "bei {} ändert Klopfen die Anzeige um mehr, als die Klasse erlaubt",
  "the temperature is not noted: the limits of EN 837-1 hold at {} °C":
    "die Temperatur ist nicht erfasst: die Fehlergrenzen von EN 837-1 gelten bei {} °C",
  "the limits of EN 837-1 hold at {} °C; at {} °C the indication may move by another {} % of span, which the verdict does not allow for":
    "die Fehlergrenzen von EN 837-1 gelten bei {} °C; bei {} °C darf sich die Anzeige um weitere {} % der Spanne ändern, was das Urteil nicht einrechnet",
  "this series has a reading at this point already; both are judged, the first is used for the spread":
    "diese Messreihe hat an diesem Prüfpunkt schon einen Messwert; beide werden beurteilt, der erste zählt für die Streuung",
  "this reading is out of the order of its series: with hysteresis it counts for the other direction":
    "dieser Messwert steht außerhalb der Reihenfolge seiner Messreihe: mit der Umkehrspanne zählt er zur anderen Richtung",
  "the {} series of cycle {} has no reading at {}": "die Messreihe {} von Zyklus {} hat keinen Messwert bei {}",
  "a cycle has no rising reading at zero: the changes between it and others are taken with the drift of zero in them":
    "in einem Zyklus wurde der Nullpunkt vor der Belastung nicht abgelesen: die Unterschiede zu anderen Zyklen enthalten die Drift des Nullpunkts",
  "no rising and falling reading at zero: the zero deviation is not known and not in the uncertainty":
    "der Nullpunkt wurde nach der Entlastung nicht erneut abgelesen: die Nullpunktabweichung ist nicht bekannt und in der Messunsicherheit nicht enthalten",
  "the temperature is not noted: its effect is not in the uncertainty":
    "die Temperatur ist nicht erfasst: ihr Einfluss ist in der Messunsicherheit nicht enthalten",
  "the meter at the output is not given: its uncertainty is not in the budget":
    "das Messgerät am Ausgang ist nicht angegeben: seine Messunsicherheit ist im Budget nicht enthalten",
  "the resolution is that of a display; that of the meter at the output is not given and not in the uncertainty":
    "die Auflösung ist die einer Anzeige; die des Messgeräts am Ausgang ist nicht angegeben und in der Messunsicherheit nicht enthalten",
  "EN 837-1 asks for ten test points of the classes 0.1 to 0.6 and for five of the others":
    "EN 837-1 verlangt zehn Prüfpunkte in den Klassen 0,1 bis 0,6 und fünf in den anderen",
  "is given twice, in two units": "steht zweimal da, in zwei Einheiten",
  "a reading needs its series": "ein Messwert braucht seine Messreihe",
  "with the pointer set to the mark, the applied pressure is what is read":
    "wird der Zeiger auf den Teilstrich eingestellt, ist der aufgegebene Druck das Abgelesene",
  "the reading itself is missing": "der Messwert selbst fehlt",
  "at least one reading is needed": "mindestens ein Messwert ist nötig",
  "below 10 % of the range the class of a gauge with a stop pin does not hold: the readings there are not judged":
    "unter 10 % des Bereichs gilt die Klasse eines Manometers mit Anschlagstift nicht: die Messwerte dort werden nicht beurteilt",
  "no reading lies where the limit holds": "kein Messwert liegt dort, wo die Fehlergrenze gilt",
  "is not one of this rule's ({}); use the rule terms for another limit":
    "gehört nicht zu dieser Regel ({}); für eine andere Fehlergrenze eigene Werte benutzen",
  "at least one term is needed": "mindestens ein Anteil ist nötig",
  "a term of a limit must not be below zero": "ein Anteil einer Fehlergrenze darf nicht unter null liegen",
  "with a square-root output a limit in pressure is another one at each point; give it in per cent of span":
    "bei radizierendem Ausgang ist eine Fehlergrenze in Druck an jedem Prüfpunkt eine andere; in Prozent der Spanne angeben",
  "one cycle says nothing of how well readings repeat: it is not in the uncertainty; take a second cycle, or state it for the instrument or in the method":
    "ein Zyklus sagt nichts über die Wiederholbarkeit: sie ist in der Messunsicherheit nicht enthalten; einen zweiten Zyklus messen oder sie beim Gerät oder im Verfahren angeben",
  "stop pin": "Anschlagstift",
  "without a limit there is nothing to judge by": "ohne Fehlergrenze gibt es nichts, wonach zu urteilen ist",
  "is {}, the output's is {}": "ist {}, die des Ausgangs ist {}",
  "typed in {}, judged in {}": "eingetippt in {}, beurteilt in {}",
  "the plan would have more than 2000 readings": "der Ablauf hätte mehr als 2000 Ablesungen",
  "give the series, or directions and cycles": "die Messreihen angeben oder Richtungen und Zyklen",
  "from 1 to 20 series are needed": "1 bis 20 Messreihen sind nötig",
  "the first series is of the first mounting": "die erste Messreihe gehört zur ersten Montage",
  "names a point that the method does not have, or one twice":
    "nennt einen Prüfpunkt, den das Verfahren nicht hat, oder einen zweimal",
  "Take the meter out and close the loop. See the signal back at the control room before the loop goes back to automatic.":
    "Das Messgerät herausnehmen und die Stromschleife schließen. In der Messwarte das Signal wieder sehen, bevor der Kreis zurück auf Automatik geht.",
  "Tell the control room and put the loop in manual: its trips may act. Connect the meter in series with the loop, or across the test terminals. Where the area is classified, open no circuit without its permit.":
    "Die Messwarte benachrichtigen und den Kreis auf Hand stellen: seine Abschaltungen können ansprechen. Das Messgerät in Reihe in die Stromschleife oder an die Prüfklemmen anschließen. Im explosionsgefährdeten Bereich keinen Stromkreis ohne Freigabe öffnen.",
  "Tell the control room and put the loop in manual: its trips may act. Connect the meter across the output.":
    "Die Messwarte benachrichtigen und den Kreis auf Hand stellen: seine Abschaltungen können ansprechen. Das Messgerät parallel zum Ausgang anschließen.",
  "With no pressure in the system, take the instrument off, turn it a little and mount it again as before. Check for tightness.":
    "Bei drucklosem System den Prüfling abnehmen, etwas drehen und wie vorher wieder montieren. Auf Dichtheit prüfen.",
  "The standard measures from the air: it shows {} {} gauge here.":
    "Das Normal misst gegen die Umgebungsluft: es zeigt hier {} {} Überdruck.",
  "Type what the gauge standard shows, against the air.":
    "Eingeben, was das Überdrucknormal zeigt, gegen die Umgebungsluft.",
  "Points, preloads and waits: DKD-R 6-1 (03/2014), restated, not read in the document. The series, the hold of preloads and the rest between series: from memory.":
    "Prüfpunkte, Vorbelastungen und Wartezeiten: DKD-R 6-1 (03/2014), wiedergegeben, nicht im Dokument nachgelesen. Messreihen, Haltezeit der Vorbelastungen und Ruhe zwischen Messreihen: aus dem Gedächtnis.",
  "Of spring-tube gauges the hold at the upper limit is 5 minutes: set hold_top_s to 300.":
    "Bei Rohrfedermanometern beträgt die Haltezeit am oberen Ende 5 Minuten: dort 300 s eintragen.",
  "The falling series takes the zero of its cycle's rising series. Repeatability is the largest change between any two cycles of one mounting; with two it is that of the guideline.":
    "Die Messreihe abwärts nimmt den Nullpunkt der Messreihe aufwärts ihres Zyklus. Die Wiederholbarkeit ist der größte Unterschied zweier Zyklen einer Montage; bei zweien ist es die der Richtlinie.",
  "Preloads and waits: common practice, no source. Versions of the guide after 2.0 (03/2011) may ask for something else.":
    "Vorbelastungen und Wartezeiten: übliche Praxis, ohne Quelle. Fassungen des Leitfadens nach 2.0 (03/2011) können anderes verlangen.",
  "DKD-R 6-1, sequence A": "DKD-R 6-1, Ablauf A",
  "below 0.1 % of span": "unter 0,1 % der Spanne",
  "After re-mounting one preload is asked for: chosen here.":
    "Nach dem Neumontieren wird eine Vorbelastung verlangt: hier gewählt.",
  "DKD-R 6-1, sequence B": "DKD-R 6-1, Ablauf B",
  "from 0.1 to 0.6 % of span": "von 0,1 bis 0,6 % der Spanne",
  "DKD-R 6-1, sequence C": "DKD-R 6-1, Ablauf C",
  "above 0.6 % of span": "über 0,6 % der Spanne",
  "EURAMET cg-17, basic": "EURAMET cg-17, einfach",
  "above 0.2 % of full scale (k = 2)": "über 0,2 % vom Endwert (k = 2)",
  "Six points, once up and down: EURAMET cg-17 v2.0 clause 5.2.1. Three rising readings at one point, preferably at half scale: from memory; of six equal steps 60 % is taken.":
    "Sechs Prüfpunkte, einmal auf- und abwärts: EURAMET cg-17 v2.0 Abschnitt 5.2.1. Drei Messwerte aufwärts an einem Prüfpunkt, möglichst in der Mitte: aus dem Gedächtnis; bei sechs gleichen Stufen wird 60 % genommen.",
  "EURAMET cg-17, standard": "EURAMET cg-17, normal",
  "from 0.05 to 0.2 % of full scale (k = 2)": "von 0,05 bis 0,2 % vom Endwert (k = 2)",
  "Eleven points once up and down, three rising readings at 0, 20, 50 and 80 %: from memory.":
    "Elf Prüfpunkte einmal auf- und abwärts, drei Messwerte aufwärts bei 0, 20, 50 und 80 %: aus dem Gedächtnis.",
  "EURAMET cg-17, comprehensive": "EURAMET cg-17, umfassend",
  "below 0.05 % of full scale (k = 2)": "unter 0,05 % vom Endwert (k = 2)",
  "Eleven points, three times up and down: from memory.":
    "Elf Prüfpunkte, dreimal auf- und abwärts: aus dem Gedächtnis.",
  "ask for the list, or for one method by its name": "die Liste verlangen oder ein Verfahren mit seinem Namen",
  "there is no method called {}": "es gibt kein Verfahren namens {}",
  "give one of count, values and percents": "eines angeben: Anzahl, Werte oder Prozentwerte",
  "the point {} lies outside the range": "der Prüfpunkt {} liegt außerhalb des Bereichs",
  "the point {} is given twice": "der Prüfpunkt {} steht zweimal da",
  "this makes too many visits; at most 1000 points times cycles":
    "das ergibt zu viele Prüfpunkte; höchstens 1000 Prüfpunkte mal Zyklen",

  // Columns between a standard and an instrument.
  "carbon dioxide is no gas at this pressure and temperature; state the density of the column instead":
    "Kohlendioxid ist bei diesem Druck und dieser Temperatur kein Gas; stattdessen die Dichte der Säule angeben",
  "in absolute mode the air outside has no part; leave it out":
    "bei Absolutdruck hat die Luft außen keinen Anteil; weglassen",
  "give the density of the fluid or the gas, not both": "die Dichte der Füllung oder das Gas angeben, nicht beides",
  "is not one of: nitrogen, air, helium, argon, co2": "ist keines von: Stickstoff, Luft, Helium, Argon, CO₂",
  "a gas column needs its temperature": "eine Gassäule braucht ihre Temperatur",
  "a gas column needs the absolute pressure at the standard": "eine Gassäule braucht den Absolutdruck am Normal",
  "needs a pressure above zero and a temperature from -200 to 500 °C":
    "braucht einen Druck über null und eine Temperatur von −200 bis 500 °C",
  "the density of the fluid, or the gas and its temperature, is missing":
    "die Dichte der Füllung fehlt, oder das Gas und seine Temperatur",
  "temperature or pressure of the air is not noted: its density is taken as 1.2 kg/m³":
    "Temperatur oder Druck der Luft ist nicht erfasst: ihre Dichte wird mit 1,2 kg/m³ angenommen",
  "the humidity is not noted and taken as 50 %": "die Feuchte ist nicht erfasst und wird mit 50 % angenommen",
  "the air is outside what its equation holds for: its density is taken as 1.2 kg/m³":
    "die Luft liegt außerhalb des Gültigkeitsbereichs ihrer Gleichung: ihre Dichte wird mit 1,2 kg/m³ angenommen",
  "the instrument measures {} pressure": "das Gerät misst {}",
  "how well the difference of level is known is not noted: 1 cm or 2 % of it is taken, the larger":
    "wie genau der Höhenunterschied bekannt ist, ist nicht erfasst: angenommen wird 1 cm oder 2 % davon, je nachdem, was größer ist",
  "how well the density of the column is known is not noted: 1 % of it is taken":
    "wie genau die Dichte der Säule bekannt ist, ist nicht erfasst: angenommen wird 1 % davon",
  "both legs of a differential measurement have a column; note the pressures at the instrument":
    "bei Differenzdruck haben beide Leitungen eine Säule; die Drücke am Prüfling notieren",
  "the temperature is not noted: the fluid is taken as being at 20 °C":
    "die Temperatur ist nicht erfasst: für die Füllung werden 20 °C angenommen",
  "the density of this fluid must be given": "die Dichte dieser Füllung muss angegeben werden",
  "give gravity or the latitude, not both": "die Fallbeschleunigung oder die Breite angeben, nicht beides",
  "neither gravity nor latitude is noted: 9.80665 m/s² is taken":
    "weder Fallbeschleunigung noch Breite ist notiert: 9,80665 m/s² wird angenommen",

  // What the past says.
  "too little history: a slope needs two results more than there are stretches between adjustments, on different days":
    "zu wenig Vorgeschichte: eine Steigung braucht zwei Ergebnisse mehr, als es Abschnitte zwischen Justierungen gibt, an verschiedenen Tagen",
  "results since the last adjustment, with one slope from all stretches between adjustments; least squares, prediction by Student's t":
    "Ergebnisse seit der letzten Justierung, mit einer Steigung aus allen Abschnitten zwischen Justierungen; kleinste Quadrate, Vorhersage mit der t-Verteilung",
  "from 1 to 1000 visits are needed": "1 bis 1000 Prüfungen sind nötig",
  "there is no as-left result without an adjustment": "ohne Justierung gibt es kein Ergebnis im Ausgangszustand",
  "more than 200 points": "mehr als 200 Prüfpunkte",
  "too little history": "zu wenig Vorgeschichte",
  "some points have too few results for a slope and are left out":
    "manche Prüfpunkte haben zu wenige Ergebnisse für eine Steigung und bleiben weg",
  "fewer than three degrees of freedom: the bands are wide and a slope may be chance":
    "weniger als drei Freiheitsgrade: die Bänder sind breit, und eine Steigung kann Zufall sein",
  "within twenty years some points do not come to the limit; their due date is set there":
    "in zwanzig Jahren erreichen manche Prüfpunkte die Fehlergrenze nicht; ihr Fälligkeitstag steht an diesem Horizont",
  "points without a limit have no probability of being out and no due date":
    "Prüfpunkte ohne Fehlergrenze haben keine Wahrscheinlichkeit, außerhalb zu liegen, und keinen Fälligkeitstag",
  "the day asked for lies before the latest result": "der gefragte Tag liegt vor dem letzten Ergebnis",
  "give the share or the counts, not both": "den Anteil oder die Anzahlen angeben, nicht beides",
  "must be between 0 and 1; with no failure seen, give the counts":
    "muss zwischen 0 und 1 liegen; ohne ein Versagen die Anzahlen angeben",
  "must not be above of": "darf nicht über der Gesamtzahl liegen",
  "nothing passed: no interval can be said, the method or the instrument is wrong":
    "nichts hat bestanden: ein Prüfabstand lässt sich nicht angeben, Verfahren oder Gerät ist ungeeignet",
  "no failure was seen: the lower 95 % bound of the share stands in for it":
    "es wurde kein Versagen beobachtet: die untere 95-%-Grenze des Anteils steht dafür",
  "a share of so few calibrations says little; look at its bounds":
    "ein Anteil aus so wenigen Kalibrierungen sagt wenig; seine Grenzen ansehen",
  "more than twice the present interval: go there in steps":
    "mehr als das Doppelte des jetzigen Prüfabstands: schrittweise dahin gehen",
};
