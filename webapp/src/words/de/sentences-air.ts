/* Sentences of the calculations about pitot-static work, in German. */
export const airSentences: { [english: string]: string } = {
  "the Mach number must stay below 1000": "die Machzahl muss unter 1000 bleiben",
  "this limit is known from memory; check it against the current rule before it goes on a certificate":
    "diese Grenze ist aus dem Gedächtnis; mit der geltenden Vorschrift vergleichen, bevor sie auf einen Kalibrierschein kommt",
  "table III lists no limit at this altitude; take a listed altitude or give tolerance_ft":
    "Tabelle III nennt für diese Höhe keine Grenze; eine genannte Höhe nehmen oder eine Toleranz angeben",
  "table I lists no limit at this altitude; take a listed altitude or give tolerance_ft":
    "Tabelle I nennt für diese Höhe keine Grenze; eine genannte Höhe nehmen oder eine Toleranz angeben",
  "the rule has hysteresis read at 50 % and at 40 % of the highest altitude":
    "die Vorschrift liest die Hysterese bei 50 % und bei 40 % der größten Höhe ab",
  "the rule has the case leak tested at the pressure of 18000 ft":
    "die Vorschrift prüft das Gehäuseleck beim Druck von 18000 ft",
  "the limit is for one minute; the mean change per minute is judged, and a leak slows as it goes on":
    "die Grenze gilt für eine Minute; beurteilt wird die mittlere Änderung je Minute, und ein Leck wird mit der Zeit langsamer",
  "table IV does not list this setting; take 28.10, 28.50, 29.00, 29.50, 29.92, 30.50, 30.90 or 30.99":
    "Tabelle IV nennt diese Einstellung nicht; 28.10, 28.50, 29.00, 29.50, 29.92, 30.50, 30.90 oder 30.99 nehmen",
  "a standard deviation is not below zero": "eine Standardabweichung liegt nicht unter null",
  "the altitude must be from -5000 to 84852 m (-16404.2 to 278385.8 ft) of pressure altitude":
    "die Druckhöhe muss von −5000 bis 84852 m sein (−16404,2 bis 278385,8 ft)",
  "the static pressure must be absolute and from 0.374 to 177687 Pa":
    "der Statikdruck muss absolut und von 0,374 bis 177687 Pa sein",
  "give {} or {}, not both": "{} oder {} angeben, nicht beides",
  "an altitude or a static pressure is needed": "eine Höhe oder ein Statikdruck ist nötig",
  "must be from 0 to 3000 kt; pitot below static is told by impact_pa or total_pa":
    "muss von 0 bis 3000 kt sein; Pitot unter Statik wird als Staudruck oder Gesamtdruck angegeben",
  "must be from 0 to 1000": "muss von 0 bis 1000 sein",
  "the total pressure must be absolute and not below zero": "der Gesamtdruck muss absolut und nicht unter null sein",
  "the impact pressure belongs to more than 3000 kt": "der Staudruck gehört zu mehr als 3000 kt",
  "must be from -150 to 200 degC, the static temperature of the air":
    "muss von −150 bis 200 °C sein, die statische Temperatur der Luft",
  "pitot is below static: there is no airspeed that could change":
    "Pitot liegt unter Statik: es gibt keine Fluggeschwindigkeit, die sich ändern könnte",
  "an elevation needs the field pressure to give the setting":
    "eine Platzhöhe braucht den Druck am Platz, um die Einstellung zu ergeben",
  "pitot is below static: bring the two together first, then plan from there":
    "Pitot liegt unter Statik: zuerst beide zusammenbringen, dann von dort planen",
  "a target or the measured field pressure is needed": "ein Ziel oder der gemessene Druck am Platz ist nötig",
  "this would leave the pitot pressure below static: there is no airspeed then":
    "das ließe den Pitotdruck unter Statik: dann gibt es keine Fluggeschwindigkeit",
  "give the reading at the end or the change of pressure, not both":
    "den Messwert am Ende oder die Druckänderung angeben, nicht beides",
  "airspeeds must be from 0 to 3000 kt": "Fluggeschwindigkeiten müssen von 0 bis 3000 kt sein",
  "a cabin differential belongs to a static system": "ein Kabinendifferenzdruck gehört zu einem Statiksystem",
  "must be above zero; leave it out for an unpressurised cabin":
    "muss über null liegen; bei einer Kabine ohne Druck weglassen",
  "the reading rose: look for a leak between the systems or a change of temperature before judging":
    "der Messwert stieg: vor dem Urteil nach einem Leck zwischen den Systemen oder einer Temperaturänderung suchen",
  "the limit is for a system held at 150 kt": "die Grenze gilt für ein System, das auf 150 kt gehalten wird",
  "the differential must leave a pressure inside the standard atmosphere":
    "der Differenzdruck muss einen Druck innerhalb der Normatmosphäre lassen",
  "the plan would have more than 86400 points; take a longer interval":
    "der Ablauf hätte mehr als 86400 Punkte; einen längeren Abstand nehmen",
  "the target lies beyond the altitude limits": "das Ziel liegt jenseits der Höhengrenzen",
  "the target is above the airspeed limit": "das Ziel liegt über der Grenze der Fluggeschwindigkeit",
  "the target is above the Mach limit": "das Ziel liegt über der Machgrenze",
  "check against the current text": "mit der geltenden Fassung vergleichen",
  "14 CFR Part 43 Appendix E (2019 edition), {}": "14 CFR Part 43 Appendix E (Ausgabe 2019), {}",
  "14 CFR Part 43 Appendix E (2019 edition), table I; {}": "14 CFR Part 43 Appendix E (Ausgabe 2019), Tabelle I; {}",
  "14 CFR Part 43 Appendix E (2019 edition), table II; {}": "14 CFR Part 43 Appendix E (Ausgabe 2019), Tabelle II; {}",
  "14 CFR Part 43 Appendix E (2019 edition), table III; {}":
    "14 CFR Part 43 Appendix E (Ausgabe 2019), Tabelle III; {}",
  "14 CFR Part 43 Appendix E (2019 edition), table IV; {}": "14 CFR Part 43 Appendix E (Ausgabe 2019), Tabelle IV; {}",
  "14 CFR Part 43 Appendix E (2019 edition), table IV; the 25 ft from memory: {}":
    "14 CFR Part 43 Appendix E (Ausgabe 2019), Tabelle IV; die 25 ft aus dem Gedächtnis: {}",
  "14 CFR Part 43 Appendix E, table I; tolerance from memory: {}":
    "14 CFR Part 43 Appendix E, Tabelle I; Toleranz aus dem Gedächtnis: {}",
  "{}table II; {}": "{}Tabelle II; {}",
  "{}table III; {}": "{}Tabelle III; {}",
  "{}table IV; the 25 ft from memory: {}": "{}Tabelle IV; die 25 ft aus dem Gedächtnis: {}",
  "14 CFR Part 43 Appendix E (c); from memory: {}": "14 CFR Part 43 Appendix E (c); aus dem Gedächtnis: {}",
  "14 CFR Part 91 Appendix G section 2 (2019 edition); {}": "14 CFR Part 91 Appendix G Abschnitt 2 (Ausgabe 2019); {}",
  "14 CFR 23.1325(b)(2); from memory: {}": "14 CFR 23.1325(b)(2); aus dem Gedächtnis: {}",
  "FAA AC 43.13-1B change 1, 12-59; the aircraft's manual goes before it":
    "FAA AC 43.13-1B Änderung 1, 12-59; das Handbuch des Luftfahrzeugs geht vor",
  "TM 1-1500-204-23-4, table 4-1; {}": "TM 1-1500-204-23-4, Tabelle 4-1; {}",
  "14 CFR 23.1323(c), the installed system: 3 % or 5 kt, the greater; {}":
    "14 CFR 23.1323(c), das eingebaute System: 3 % oder 5 kt, das Größere; {}",

  "an altitude belongs to a static line that is controlled": "eine Höhe gehört zu einer geregelten Statikleitung",
  "there are the tables 10-150, 20-250 and 40-400": "es gibt die Tabellen 10-150, 20-250 und 40-400",
  "give the points or a table, not both": "die Prüfpunkte oder eine Tabelle angeben, nicht beides",
  "state a tolerance, from the manual of the instrument, or the rule":
    "eine Toleranz angeben, aus dem Handbuch des Geräts, oder die Regel",
  "from 1 to 100 points are needed": "1 bis 100 Prüfpunkte sind nötig",
  "Both pressures together: pitot stays joined to static until the altitude is steady":
    "Beide Drücke zusammen: Pitot bleibt mit Statik verbunden, bis die Höhe stabil ist",
  "airspeed {} kt": "Fahrt {} kt",
  "airspeed {} kt, falling": "Fahrt {} kt, fallend",
  "at rest": "in Ruhe",
  "At rest, after a light tap": "In Ruhe, nach leichtem Klopfen",
  "a rate other than 0, over a height above 0, is needed":
    "eine Geschwindigkeit außer 0 über einen Höhenunterschied über 0 ist nötig",
  "lies above the {} ft/min of this plan": "liegt über den {} ft/min dieses Ablaufs",
  "Read while the rate is steady, through {}": "Bei gleichbleibender Geschwindigkeit ablesen, beim Durchgang durch {}",
  "rate {} ft/min through {}": "Rate {} ft/min beim Durchgang durch {}",
  "Displayed, with 29.92 inHg (1013.2 hPa) set": "Angezeigt, mit 29,92 inHg (1013,2 hPa) eingestellt",
  "reported less displayed at {}": "Meldung minus Anzeige bei {}",
  "must be above 0 and at most 60": "muss über 0 und höchstens 60 sein",
  "a static or a pitot test is needed": "eine Prüfung von Statik oder Pitot ist nötig",
  "there is no pitot line to test": "es gibt keine Pitotleitung zum Prüfen",
  "static system from {}": "Statiksystem ab {}",
  "Then shut the line in, without pumping": "Dann die Leitung absperren, ohne zu pumpen",
  "Back to the measured pressure of the field, both lines together":
    "Zurück zum gemessenen Druck am Platz, beide Leitungen zusammen",
  "pitot system from {} kt": "Pitotsystem ab {} kt",
  "Slowly, no more than that; then clamp the line": "Langsam, nicht mehr als das; dann die Leitung abklemmen",
  "At the beginning": "Zu Beginn",
  "At the end of the wait": "Am Ende der Wartezeit",
  "no limit is listed for {}; state one, from the manual of the instrument":
    "für {} ist keine Grenze genannt; eine aus dem Handbuch des Geräts angeben",
  "there is no test called {}": "es gibt keine Prüfung namens {}",
  "no point of the scale lies in the instrument's range": "kein Prüfpunkt der Skale liegt im Bereich des Geräts",
  "hysteresis is read at 50 % and 40 % of the highest point, which must lie within the scale":
    "die Hysterese wird bei 50 % und 40 % des höchsten Prüfpunkts abgelesen, die in der Skale liegen müssen",
  "With 29.92 inHg (1013.2 hPa) set: the altimeter at the field's pressure, before anything is moved":
    "Mit 29,92 inHg (1013,2 hPa) eingestellt: der Höhenmesser beim Druck am Platz, bevor etwas bewegt wird",
  "Within 5 minutes back to the measured pressure of the field, both lines together":
    "Innerhalb 5 Minuten zurück zum gemessenen Druck am Platz, beide Leitungen zusammen",
  "Pressure at the field now, in hPa": "Druck am Platz jetzt, in hPa",
  "after effect": "Nachwirkung",
  "After effect: the altimeter again, 29.92 inHg set":
    "Nachwirkung: der Höhenmesser noch einmal, 29,92 inHg eingestellt",
  "the points and the aircraft's group are needed": "die Prüfpunkte und die Gruppe des Luftfahrzeugs sind nötig",
  "scale {}": "Skale {}",
  "hysteresis {} %, {}": "Hysterese {} %, {}",
  "Down within 15 minutes of the first {}": "Innerhalb 15 Minuten nach dem ersten {} abwärts",
  "Slowly, about 750 ft/min; read as it passes, before and after vibration":
    "Langsam, etwa 750 ft/min; beim Durchgang ablesen, vor und nach der Vibration",
  "Before vibration": "Vor der Vibration",
  "friction {}": "Reibung {}",
  "After vibration": "Nach der Vibration",
  "Then shut the line in": "Dann die Leitung absperren",
  "Case leak: at the beginning of the minute": "Gehäuseleck: zu Beginn der Minute",
  "case leak at {}": "Gehäuseleck bei {}",
  "Case leak: after one minute": "Gehäuseleck: nach einer Minute",
  "Set {} and read": "{} einstellen und ablesen",
  "barometric scale {}": "Barometerskale {}",
  "the pressure typed for the field is that of no field; is it in hPa, absolute?":
    "der für den Platz eingetippte Druck gehört zu keinem Platz; ist er in hPa, absolut?",
  "an indication is in {} or another unit of {}": "eine Anzeige ist in {} oder einer anderen Einheit von {}",
  "pitot was below static: there is no airspeed then, and an indicator can be damaged":
    "Pitot lag unter Statik: dann gibt es keine Fluggeschwindigkeit, und eine Anzeige kann beschädigt sein",
  "the static pressure must be absolute and inside the standard atmosphere":
    "der Statikdruck muss absolut und innerhalb der Normatmosphäre sein",
  "Some limits are from memory, as their source says, and decide nothing: compare them with the current text and enter the clause and who read it in the method, or state other limits there.":
    "Manche Grenzen sind aus dem Gedächtnis, wie ihre Quelle sagt, und entscheiden nichts: mit der geltenden Fassung vergleichen und im Verfahren die Stelle und wer sie gelesen hat eintragen, oder dort andere Grenzen angeben.",
  "nothing is known of the rates that the instruments on the lines bear; the plan kept to {} ft/min":
    "über die Geschwindigkeiten, die die Anzeigen an den Leitungen aushalten, ist nichts bekannt; der Ablauf blieb bei {} ft/min",
  "{} of {} figures lie outside their limits": "{} von {} Werten liegen außerhalb ihrer Grenzen",
  "no verdict: limit not confirmed": "kein Urteil: Grenze nicht bestätigt",
  "the reading moved the other way than a leak moves it: look for a leak between the lines or a change of temperature":
    "der Messwert änderte sich anders, als ein Leck es tut: nach einem Leck zwischen den Leitungen oder einer Temperaturänderung suchen",
  "the leak was read {} s after it began, before its time was over":
    "das Leck wurde {} s nach dem Beginn abgelesen, bevor seine Zeit um war",
  "the value lies beyond what is connected bears: look at every instrument on the lines before it is used":
    "der Wert liegt jenseits dessen, was das Angeschlossene aushält: jede Anzeige an den Leitungen untersuchen, bevor sie benutzt wird",
  "a line was left open or not as the method has it":
    "eine Leitung war offen oder nicht so, wie das Verfahren es verlangt",
  "a line was left open": "eine Leitung war offen",
  "pitot was left open while static was moved: an airspeed indicator on it showed the difference":
    "Pitot war offen, während Statik bewegt wurde: ein Fahrtmesser daran zeigte den Unterschied",
  "from {} to {} it went at no less than {} ft/min ({} Pa/s at the lower one); what is connected bears {} ft/min":
    "von {} bis {} ging es mit mindestens {} ft/min ({} Pa/s am unteren Ende); das Angeschlossene hält {} ft/min aus",
  "pitot stood below static at the end: join the two before anything else, and look at the airspeed indicator":
    "Pitot stand am Ende unter Statik: vor allem anderen beide verbinden und den Fahrtmesser untersuchen",
  "static was not back at the measured pressure of the field: do not open the system":
    "Statik war nicht zurück beim gemessenen Druck am Platz: das System nicht öffnen",
  "ports, drains or lines were not restored": "Öffnungen, Entwässerungen oder Leitungen wurden nicht wiederhergestellt",
  "the system was not restored": "das System wurde nicht wiederhergestellt",
  "{}, compared by {}": "{} (Abgleich durch {})",
  "the weakest indicator": "die schwächste Anzeige",
  "no field lies at this pressure: it must be that of -2000 to 20000 ft":
    "kein Platz liegt bei diesem Druck: er muss zu −2000 bis 20000 ft gehören",
  "must lie above the lowest altitude": "muss über der kleinsten Höhe liegen",
  "rates must be above zero": "Geschwindigkeiten müssen über null liegen",
  "what is connected bears {} ft/min": "das Angeschlossene hält {} ft/min aus",
  "what is connected bears {} Pa/s, which at {} is {} ft/min":
    "das Angeschlossene hält {} Pa/s aus, das sind bei {} {} ft/min",
  "what is connected bears {} kt/min": "das Angeschlossene hält {} kt/min aus",
  "what is connected bears less than 1 ft/min": "das Angeschlossene hält weniger als 1 ft/min aus",
  "pitot would be below static: an airspeed must be 0 or more":
    "Pitot läge unter Statik: eine Fluggeschwindigkeit muss 0 oder mehr sein",
  "{} lies above the {} that what is connected bears": "{} liegt über den {}, die das Angeschlossene aushält",
  "{} lies below the {} that what is connected bears": "{} liegt unter den {}, die das Angeschlossene aushält",
  "{} kt lies above the {} kt that what is connected bears":
    "{} kt liegt über den {} kt, die das Angeschlossene aushält",
  "{} kt is an impact pressure of {} Pa; {} bears {} Pa": "{} kt sind ein Staudruck von {} Pa; {} hält {} Pa aus",
  "with the pitot line left open, pitot would be below static at {}: join it to static":
    "mit offener Pitotleitung läge Pitot bei {} unter Statik: mit Statik verbinden",
  "with the pitot line left open, {} would put {} Pa on the airspeed indicator: join it to static":
    "mit offener Pitotleitung bekäme der Fahrtmesser bei {} {} Pa: mit Statik verbinden",
  "If control, power or a line is lost: stop both rates, join pitot to static first, then let both down together within the rates. Never vent static alone, and never pitot alone while static is evacuated. The abort card has the figures for the point you are at. The maintenance manual and the licensed person in charge decide; hold every limit against the current text of its regulation.":
    "Fallen Regelung, Strom oder eine Leitung aus: beide Änderungen anhalten, zuerst Pitot mit Statik verbinden, dann beide zusammen innerhalb der Geschwindigkeiten ablassen. Niemals Statik allein entlüften und niemals Pitot allein, während Statik evakuiert ist. Die Abbruchkarte hat die Zahlen für den jetzigen Punkt. Das Wartungshandbuch und die verantwortliche berechtigte Person entscheiden; jede Grenze mit der geltenden Fassung ihrer Vorschrift vergleichen.",
  "Is every line of the system connected, none left open, and its covers and drains closed for the test?":
    "Ist jede Leitung des Systems angeschlossen, keine offen, und sind Abdeckungen und Entwässerungen für die Prüfung geschlossen?",
  "Is pitot joined to static, no line left open, and are covers and drains closed for the test?":
    "Ist Pitot mit Statik verbunden, keine Leitung offen, und sind Abdeckungen und Entwässerungen für die Prüfung geschlossen?",
  "Is the static line connected, no line left open?": "Ist die Statikleitung angeschlossen und keine Leitung offen?",
  "The method leaves pitot open. Is the static line connected, and is nothing on pitot that could be over-ranged?":
    "Das Verfahren lässt Pitot offen. Ist die Statikleitung angeschlossen, und ist nichts an Pitot, was überlastet werden könnte?",
  "Do not move the pressure. An open line damages instruments and hides what the others show. Stop the test set, vent by its own way, and join pitot to static. Then connect every line, close covers and drains, and look again.":
    "Den Druck nicht ändern. Eine offene Leitung beschädigt Anzeigen und verdeckt, was die anderen zeigen. Das Prüfgerät anhalten, auf seinem eigenen Weg entlüften und Pitot mit Statik verbinden. Dann jede Leitung anschließen, Abdeckungen und Entwässerungen schließen und noch einmal nachsehen.",
  "Measured pressure at the field, absolute, in hPa": "Gemessener Druck am Platz, absolut, in hPa",
  "Kept in this plan: {} to {}, {}. Find every instrument on the lines and compare.":
    "In diesem Ablauf eingehalten: {} bis {}, {}. Jede Anzeige an den Leitungen suchen und vergleichen.",
  "Kept in this plan: {}. Find every instrument on the lines and compare.":
    "In diesem Ablauf eingehalten: {}. Jede Anzeige an den Leitungen suchen und vergleichen.",
  "{} ft/min, not above {} kt, {} kt/min": "{} ft/min, nicht über {} kt, {} kt/min",
  "{} ft/min, not above {} kt, {} kt/min, {} Pa on {}": "{} ft/min, nicht über {} kt, {} kt/min, {} Pa an {}",
  "{} ft/min, {} kt/min, {} Pa on {}": "{} ft/min, {} kt/min, {} Pa an {}",
  "{} ft/min, {} kt/min": "{} ft/min, {} kt/min",
  "{}. Find every instrument on the lines and compare.": "{}. Jede Anzeige an den Leitungen suchen und vergleichen.",
  "Go back to the measured field pressure by the planned way: both pressures together, pitot never below static.":
    "Auf dem geplanten Weg zum gemessenen Druck am Platz zurückgehen: beide Drücke zusammen, Pitot niemals unter Statik.",
  "Static pressure now, in hPa": "Statikdruck jetzt, in hPa",
  "Pitot pressure now, in hPa": "Pitotdruck jetzt, in hPa",
  "Covers, tape and plugs off ports and drains, lines connected as before, by the maintenance manual?":
    "Abdeckungen, Klebeband und Stopfen von Öffnungen und Entwässerungen entfernt, Leitungen wie vorher angeschlossen, nach dem Wartungshandbuch?",
};
