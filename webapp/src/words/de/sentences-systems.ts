/* Sentences of the calculations about leaks, switches and rupture discs, in German. */
export const systemSentences: { [english: string]: string } = {
  // Leak tests.
  "at {} {}: {}": "bei {} {}: {}",
  "{} at the end": "{} am Ende",
  "the limit lies within the uncertainty of the change: {}":
    "die Grenze liegt innerhalb der Unsicherheit der Änderung: {}",
  "the change is larger than its limit": "die Änderung ist größer als ihre Grenze",
  "the end pressure is beyond its limit": "der Enddruck liegt jenseits seiner Grenze",
  "measure it better": "besser messen",
  "read the temperature before and after, or more finely": "die Temperatur vorher und nachher oder feiner ablesen",
  "read the barometer before and after": "das Barometer vorher und nachher ablesen",
  "read the pressure more finely": "den Druck feiner ablesen",
  "the readings scatter": "die Messwerte streuen",
  "the standard is not good enough for it": "das Normal ist dafür nicht gut genug",
  "the measured volume, {} m³, is far from the stated one; the measured one is used":
    "das gemessene Volumen, {} m³, weicht stark vom angegebenen ab; das gemessene wird benutzt",
  "the volume is known to {} % only: choose an added volume nearer to that of the system":
    "das Volumen ist nur auf {} % bekannt: ein zugeschaltetes Volumen wählen, das dem des Systems näher kommt",
  "a reading of {} is below zero absolute: is the pressure gauge or absolute?":
    "ein Messwert {} liegt unter dem absoluten Nullpunkt: ist es Überdruck oder Absolutdruck?",
  "a reading of a leak test needs the time it was taken at":
    "ein Messwert einer Dichtheitsprüfung braucht die Zeit, zu der er abgelesen wurde",
  "two readings carry the same time; the first of them is used":
    "zwei Messwerte tragen dieselbe Zeit; der erste davon wird benutzt",
  "the temperature was not recorded; a change of it looks like a leak: {} K over the time are in the uncertainty":
    "die Temperatur wurde nicht erfasst; ihre Änderung sieht aus wie ein Leck: {} K über die Zeit sind in der Messunsicherheit enthalten",
  "the temperature was read once; a change of it looks like a leak: {} K over the time are in the uncertainty":
    "die Temperatur wurde einmal abgelesen; ihre Änderung sieht aus wie ein Leck: {} K über die Zeit sind in der Messunsicherheit enthalten",
  "a temperature of {}, number {}, lies below absolute zero":
    "eine Temperatur {}, Nummer {}, liegt unter dem absoluten Nullpunkt",
  "{}: the temperature changed by {} K; wait until it is steady, or trust the correction as far as the thermometer":
    "{}: die Temperatur änderte sich um {} K; warten, bis sie stillsteht, oder der Korrektur so weit trauen wie dem Thermometer",
  "{}: the barometer was not read at both ends; a change of it looks like a leak to a gauge sensor: {} Pa an hour are in the uncertainty":
    "{}: das Barometer wurde nicht an beiden Enden abgelesen; seine Änderung sieht für einen Überdrucksensor aus wie ein Leck: {} Pa in der Stunde sind in der Messunsicherheit enthalten",
  "the volume is not measured yet": "das Volumen ist noch nicht gemessen",
  "the measuring time is not over": "die Messzeit ist nicht um",
  "the leak is larger than its limit; if the gas was still settling, wait and measure again":
    "das Leck ist größer als seine Grenze; falls sich das Gas noch beruhigte, warten und neu messen",
  "the leak is larger than its limit": "das Leck ist größer als seine Grenze",
  "the pressures do not lie on a straight line: wait until the gas has settled, or read a slow sensor less often, and measure again":
    "die Drücke liegen nicht auf einer Geraden: warten, bis sich das Gas beruhigt hat, oder einen trägen Sensor seltener ablesen, und neu messen",
  "the limit lay within the uncertainty at the planned end, and does by the wider margin after it: measure on, or plan a longer test":
    "die Grenze lag am geplanten Ende innerhalb der Messunsicherheit, und danach mit dem weiteren Abstand auch: weiter messen oder eine längere Prüfung planen",
  "the limit lies within the uncertainty: measure longer":
    "die Grenze liegt innerhalb der Messunsicherheit: länger messen",
  "two runs are needed": "zwei Durchgänge sind nötig",
  "the last two runs do not agree: run it again":
    "die letzten beiden Durchgänge stimmen nicht überein: noch einmal ausführen",
  "the mean change of the last two runs is larger than its limit":
    "die mittlere Änderung der letzten beiden Durchgänge ist größer als ihre Grenze",
  "there are not yet three readings": "es gibt noch keine drei Messwerte",
  "the method states no limit": "das Verfahren gibt keine Grenze an",
  "the managed guard band needs two limits; a leak has one":
    "das risikobegrenzende Schutzband braucht zwei Grenzen; ein Leck hat eine",
  "must be from -73 to 126 °C": "muss von −73 bis 126 °C sein",
  "must be from -100 to 200 °C": "muss von −100 bis 200 °C sein",
  "from 1 to 8 phases are needed": "1 bis 8 Phasen sind nötig",
  "relative uncertainties must be from 0 to below 1": "relative Unsicherheiten müssen von 0 bis unter 1 sein",
  "phase {}": "Phase {}",
  "the sensor shows the other kind of pressure": "der Sensor zeigt die andere Art von Druck",
  "must hold two intervals between readings or more": "muss mindestens zwei Abstände zwischen Messwerten enthalten",
  "lies below zero absolute: is it gauge or absolute?":
    "liegt unter dem absoluten Nullpunkt: ist es Überdruck oder Absolutdruck?",
  "{} {} is more than {} bears: {} to {} {}": "{} {} ist mehr, als {} aushält: {} bis {} {}",
  "is that of the room: nothing would leak": "ist der des Raums: nichts würde entweichen",
  "give one limit": "eine Grenze angeben",
  "belongs to a limit of the change over two runs or more":
    "gehört zu einer Grenze der Änderung über mindestens zwei Durchgänge",
  "this rule needs the volume of the gas space": "diese Regel braucht das Volumen des Gasraums",
  "this rule needs the volume of the gas space, volume_m3": "diese Regel braucht das Volumen des Gasraums",
  "California TP-201.3, equation 9-1, nozzles 1 to 6; the pressure as it is read, by that rule (from memory)":
    "California TP-201.3, Gleichung 9-1, Zapfventile 1 bis 6; der Druck, wie er abgelesen wird, nach dieser Regel (aus dem Gedächtnis)",
  "a leak rate needs the volume: state volume_m3, or added_volume_m3 to measure it":
    "eine Leckrate braucht das Volumen: das Volumen angeben oder ein zugeschaltetes, um es zu messen",
  "Stand aside of joints and glass, use a shield where a part could let go, raise the pressure in steps, and never tighten or loosen anything under pressure. Every part must be rated for the test pressure and for the medium; oxygen parts stay free of oil. Set the relief before the first step. Vent and see zero before a joint is touched.":
    "Seitlich von Verbindungen und Glas stehen, einen Schutz aufstellen, wo ein Teil nachgeben könnte, den Druck in Stufen erhöhen und unter Druck niemals etwas anziehen oder lösen. Jedes Teil muss für den Prüfdruck und den Messstoff zugelassen sein; Teile für Sauerstoff bleiben ölfrei. Das Sicherheitsventil vor der ersten Stufe einstellen. Entlüften und Drucklosigkeit feststellen, bevor eine Verbindung berührt wird.",
  "The volume is not known, so the stored energy cannot be told: treat the system as dangerous.":
    "Das Volumen ist nicht bekannt, darum lässt sich die gespeicherte Energie nicht angeben: das System als gefährlich behandeln.",
  "Is every part rated for the highest pressure of this test, is the relief set, and is the area clear?":
    "Ist jedes Teil für den höchsten Druck dieser Prüfung zugelassen, ist das Sicherheitsventil eingestellt, und ist der Bereich frei?",
  "Do not raise or lower the pressure. Shut off the source, vent what is under pressure, and see zero. Then replace what is not rated, set the relief, or clear the area.":
    "Den Druck weder erhöhen noch senken. Die Quelle absperren, entlüften, was unter Druck steht, und Drucklosigkeit feststellen. Dann ersetzen, was nicht zugelassen ist, das Sicherheitsventil einstellen oder den Bereich räumen.",
  "To measure the volume: pressurise the system alone, the added volume shut off and vented.":
    "Um das Volumen zu messen: das System allein unter Druck setzen, das zugeschaltete Volumen abgesperrt und entlüftet.",
  "Pressure of the system alone": "Druck des Systems allein",
  "Pressure in the added volume before it is joined": "Druck im zugeschalteten Volumen vor dem Verbinden",
  "Open the valve between the two, slowly. Touch no joint.":
    "Das Ventil zwischen beiden langsam öffnen. Keine Verbindung berühren.",
  "Pressure of both together, at the same temperature": "Druck beider zusammen, bei gleicher Temperatur",
  "Vent both, see zero, and shut the added volume off again.":
    "Beide entlüften, Drucklosigkeit feststellen und das zugeschaltete Volumen wieder absperren.",
  "{}: go there in steps, looking for a gross leak at each.":
    "{}: in Stufen dahin gehen und auf jeder nach einem groben Leck suchen.",
  "Look first at {} {} above the room; the relief set at no more than {} {} above it (ASME B31.3, where it applies).":
    "Zuerst bei {} {} über dem Raumdruck nachsehen; das Sicherheitsventil höchstens auf {} {} darüber eingestellt (ASME B31.3, wo es gilt).",
  "Keep the source open: the system fills.": "Die Quelle offen lassen: das System füllt sich.",
  "Shut the source off, so that nothing is fed or drawn from now on.":
    "Die Quelle absperren, sodass ab jetzt nichts zugeführt oder abgesaugt wird.",
  "The system settles with the source shut.": "Das System beruhigt sich bei abgesperrter Quelle.",
  "{}: pressure now": "{}: Druck jetzt",
  "Let the pressure out slowly and see that the sensor shows that of the room.":
    "Den Druck langsam ablassen und prüfen, dass der Sensor den Raumdruck zeigt.",
  "Temperature of the system now, in °C": "Temperatur des Systems jetzt, in °C",
  "Barometer now, in hPa": "Barometer jetzt, in hPa",
  "{}: with this sensor the limit needs about {} s of measuring, the method has {} s. A shorter time may leave the verdict open.":
    "{}: mit diesem Sensor braucht die Grenze etwa {} s Messzeit, das Verfahren hat {} s. Eine kürzere Zeit kann das Urteil offen lassen.",
  "{}: it begins at {} {}, and the test pressure is {} {}": "{}: Beginn bei {} {}, der Prüfdruck ist {} {}",
  "{}: the sign is wrong, or it is the record of a test above the pressure of the room":
    "{}: das Vorzeichen ist falsch, oder es ist die Aufzeichnung einer Prüfung über Raumdruck",
  "{}: the sign is wrong, or it is the record of a vacuum":
    "{}: das Vorzeichen ist falsch, oder es ist die Aufzeichnung eines Vakuums",
  "{}: it was never at its test pressure, or the unit is wrong":
    "{}: nie auf Prüfdruck gewesen, oder die Einheit ist falsch",
  "it was never at its test pressure": "nie auf Prüfdruck gewesen",
  "{}: the pressures do not lie on a straight line: the gas may not have settled, something gives off gas, or the flow follows the pressure":
    "{}: die Drücke liegen nicht auf einer Geraden: das Gas hat sich vielleicht nicht beruhigt, etwas gast aus, oder die Strömung folgt dem Druck",
  "{}: the readings hang together, as behind a filter: their scatter counts {} times":
    "{}: die Messwerte hängen zusammen, wie hinter einem Filter: ihre Streuung zählt {}-fach",
  "{}: the pressure changed by more than a tenth of its start; the rate is an average":
    "{}: der Druck änderte sich um mehr als ein Zehntel seines Anfangswerts; die Leckrate ist ein Mittelwert",
  "{}: so few readings say little of their scatter; take more":
    "{}: so wenige Messwerte sagen wenig über ihre Streuung; mehr ablesen",
  "{}: the sensor's step, {} {}, is coarser than a tenth of the change that the limit allows in this time, {} {}":
    "{}: der Ziffernschritt des Sensors, {} {}, ist gröber als ein Zehntel der Änderung, die die Grenze in dieser Zeit erlaubt, {} {}",
  "{}: temperature or barometer moved the pressure more than the limit does; the result rests on their readings":
    "{}: Temperatur oder Barometer bewegten den Druck stärker als die Grenze; das Ergebnis beruht auf ihren Messwerten",
  "{}, run {}": "{}, Durchgang {}",
  "{}: end": "{}: Ende",
  "{}: start": "{}: Beginn",
  "{}: end, at the first temperature and barometer": "{}: Ende, bei Temperatur und Barometer des Beginns",
  "{}: change": "{}: Änderung",
  "{}: change as it was read": "{}: Änderung, wie abgelesen",
  "{}: rate": "{}: Druckänderungsrate",
  "{}: detection limit": "{}: Nachweisgrenze",
  "{}: leak rate": "{}: Leckrate",
  "{}: mean change of the last two runs": "{}: mittlere Änderung der letzten beiden Durchgänge",
  "{}: difference of the two": "{}: Unterschied der beiden",
  "both sides": "beide Seiten",
  "the readings do not scatter at all: state the sensor's resolution":
    "die Messwerte streuen gar nicht: die Auflösung des Sensors angeben",
  "at least three readings after the skipped time are needed":
    "mindestens drei Messwerte nach der übersprungenen Zeit sind nötig",
  "the readings were taken at one time": "die Messwerte wurden zur selben Zeit abgelesen",
  "the three pressures give no volume: joined, the pressure must lie between those of the two alone":
    "die drei Drücke ergeben kein Volumen: verbunden muss der Druck zwischen denen der beiden einzelnen liegen",
  "must not be below zero, nor the interval between readings":
    "darf nicht unter null liegen, auch nicht der Abstand zwischen Messwerten",
  "a gauge sensor needs the barometer: its change looks like a leak":
    "ein Überdrucksensor braucht das Barometer: dessen Änderung sieht aus wie ein Leck",
  "lies below absolute zero": "liegt unter dem absoluten Nullpunkt",
  "is below zero absolute: is the pressure gauge or absolute?":
    "liegt unter dem absoluten Nullpunkt: ist es Überdruck oder Absolutdruck?",
  "the drifts must not be below zero": "die Driften dürfen nicht unter null liegen",
  "give one limit, as a rate of pressure or as a leak rate":
    "eine Grenze angeben, als Druckänderungsrate oder als Leckrate",
  "the temperature was not recorded; a change of it looks like a leak":
    "die Temperatur wurde nicht erfasst; ihre Änderung sieht aus wie ein Leck",
  "the barometer was read once; a change of it looks like a leak":
    "das Barometer wurde einmal abgelesen; seine Änderung sieht aus wie ein Leck",
  "the pressures do not lie on a straight line: the gas may not have settled, or the flow follows the pressure":
    "die Drücke liegen nicht auf einer Geraden: das Gas hat sich vielleicht nicht beruhigt, oder die Strömung folgt dem Druck",
  "the pressure changed by more than a tenth of its start; the rate is an average":
    "der Druck änderte sich um mehr als ein Zehntel seines Anfangswerts; die Leckrate ist ein Mittelwert",
  "the sensor's step is coarser than a tenth of the change that the limit allows in this time":
    "der Ziffernschritt des Sensors ist gröber als ein Zehntel der Änderung, die die Grenze in dieser Zeit erlaubt",
  "temperature or barometer moved the pressure more than the limit does; the result rests on their readings":
    "Temperatur oder Barometer bewegten den Druck stärker als die Grenze; das Ergebnis beruht auf ihren Messwerten",
  "leak rate": "Leckrate",
  "molar flow": "Stoffmengenstrom",

  // Switches.
  "one 0 or 1 for each sample is needed": "zu jedem Wert ist eine 0 oder 1 nötig",
  "give the speed without a sign": "die Geschwindigkeit ohne Vorzeichen angeben",
  "correcting for a latency needs the ramp rate, and the latency must not be below zero":
    "die Korrektur einer Verzögerung braucht die Geschwindigkeit der Rampe, und die Verzögerung darf nicht unter null liegen",
  "at least one cycle is needed": "mindestens ein Zyklus ist nötig",
  "t_s, p and contact need the same number of samples": "Zeit, Druck und Kontakt brauchen gleich viele Werte",
  "at least two samples are needed": "mindestens zwei Werte sind nötig",
  "{}: {} lies outside the range of the instrument": "{}: {} liegt außerhalb des Bereichs des Geräts",
  "{}, cycle {}: the reset lies on the wrong side of the set point for a contact that acts this way":
    "{}, Zyklus {}: der Rückschaltpunkt liegt für diesen Kontakt auf der falschen Seite des Schaltpunkts",
  "the record for {} has no column of the contact": "die Aufzeichnung für {} hat keine Spalte des Kontakts",
  "the contact of {} must be one 0 or 1 for each sample": "der Kontakt von {} muss zu jedem Wert eine 0 oder 1 sein",
  "{}: the contact bounced {} times before it stayed": "{}: der Kontakt prellte {}-mal, bevor sein Zustand stabil war",
  "{}: between two samples the pressure moves by {} {}; half of that is more than a tenth of the tolerance":
    "{}: zwischen zwei Werten ändert sich der Druck um {} {}; die Hälfte davon ist mehr als ein Zehntel der Toleranz",
  "{}: the record holds {} actuations, the method asks for {}":
    "{}: die Aufzeichnung enthält {} Schaltungen, das Verfahren verlangt {}",
  "fewer cycles than the method asks for": "weniger Zyklen, als das Verfahren verlangt",
  "{}: the first actuation lies {} {} from the mean of the others: it may stick after a standstill":
    "{}: das erste Schalten liegt {} {} vom Mittelwert der anderen: nach Stillstand klemmt er vielleicht",
  "{}: the ramp is faster than 1 % of the set point a second; what the pressure moves until the contact is seen is part of the result":
    "{}: die Rampe ist schneller als 1 % des Schaltpunkts in der Sekunde; die Druckänderung bis zum Erkennen des Kontakts geht in das Ergebnis ein",
  "set point, first actuation only": "Schaltpunkt, nur erstes Schalten",
  "set point": "Schaltpunkt",
  "reset point": "Rückschaltpunkt",
  "dead band": "Schalthysterese",
  "no actuation": "kein Schalten",
  "no reset": "kein Rückschalten",
  "actuated at start": "schon zu Beginn geschaltet",
  "{}: {}, mean": "{}: {}, Mittelwert",
  "{}: {}, minimum": "{}: {}, kleinster Wert",
  "{}: {}, maximum": "{}: {}, größter Wert",
  "{}: {}, range": "{}: {}, Spannweite",
  "{}: {}, standard deviation": "{}: {}, Standardabweichung",
  "{}: first actuation": "{}: erstes Schalten",
  "from 1 to 4 contacts are needed": "1 bis 4 Kontakte sind nötig",
  "the contacts of the switch are missing": "die Kontakte des Schalters fehlen",
  "{} is a safety function: what was found stands and is not tested away; adjust, and record as left":
    "{} ist eine Sicherheitsfunktion: das Ergebnis im Eingangszustand gilt und wird durch keine Wiederholung ersetzt; justieren und den Ausgangszustand erfassen",
  "contact {}": "Kontakt {}",
  "must be from zero to high": "muss von null bis zum oberen Ende sein",
  "lies outside the range of the instrument": "liegt außerhalb des Bereichs des Geräts",
  "the window leaves the range of the instrument, {} to {} {}":
    "das Fenster verlässt den Bereich des Geräts, {} bis {} {}",
  "the set point of {} lies outside the window": "der Schaltpunkt von {} liegt außerhalb des Fensters",
  "Make the circuit of the contacts safe first: nothing may start, stop or trip by this test that someone relies on. Tell the control room, note every bypass and take it out again. Vent before a joint is opened. Local codes, the owner's proof-test procedure and licensed persons go before this plan.":
    "Zuerst den Stromkreis der Kontakte sichern: durch diese Prüfung darf nichts anlaufen, stehen bleiben oder abschalten, worauf sich jemand verlässt. Die Messwarte benachrichtigen, jede Überbrückung notieren und wieder entfernen. Entlüften, bevor eine Verbindung geöffnet wird. Örtliche Vorschriften, das Wiederholungsprüfverfahren des Betreibers und befugte Personen gehen diesem Ablauf vor.",
  "Is the circuit safe, are bypasses noted, and is the contact watched by a meter of its own?":
    "Ist der Stromkreis gesichert, sind Überbrückungen notiert, und überwacht ein eigenes Messgerät den Kontakt?",
  "Do not move the pressure: a trip may act, or fail to act. Leave the switch isolated and vented. Tell the control room. Then make the circuit safe and note every bypass.":
    "Den Druck nicht ändern: eine Abschaltung kann ansprechen oder ausbleiben. Den Schalter abgesperrt und entlüftet lassen. Die Messwarte benachrichtigen. Dann den Stromkreis sichern und jede Überbrückung notieren.",
  "{}: a logger's record of pressure and contact over all cycles may stand for the typed values":
    "{}: eine Loggeraufzeichnung von Druck und Kontakt über alle Zyklen kann an die Stelle der eingetippten Werte treten",
  "The cycle begins here, well clear of the set point: wait until the contact has gone back.":
    "Hier beginnt der Zyklus, weit weg vom Schaltpunkt: warten, bis der Kontakt zurückgegangen ist.",
  "Vent, see zero, and bring circuit and bypasses back as they were.":
    "Entlüften, Drucklosigkeit feststellen und Stromkreis und Überbrückungen zurückbringen, wie sie waren.",
  "Slowly, until {}{}, and stop.": "Langsam, bis {} schaltet, und anhalten.",
  "Slowly, until {} acts, and stop.": "Langsam, bis {} schaltet, und anhalten.",
  "Slowly, until {} resets, and stop.": "Langsam, bis {} zurückschaltet, und anhalten.",
  "The first change after a standstill counts: do not exercise the switch before it.":
    "Das erste Schalten nach Stillstand zählt: den Schalter vorher nicht betätigen.",
  "{}: pressure at its {} point": "{}: Druck an seinem Punkt {}",
  "{}: pressure at its set point": "{}: Druck an seinem Schaltpunkt",
  "{}: pressure at its reset point": "{}: Druck an seinem Rückschaltpunkt",
  "lies on the wrong side of the set point for a switch that acts this way":
    "liegt für diesen Schalter auf der falschen Seite des Schaltpunkts",

  // Rupture discs.
  "disc {} and disc {} have the same identity, {}: a disc bursts once":
    "Scheibe {} und Scheibe {} haben dieselbe Kennung, {}: eine Scheibe birst einmal",
  "disc {}: {}": "Scheibe {}: {}",
  "disc {} burst at {} °C; its pressure is marked for {} °C":
    "Scheibe {} barst bei {} °C; ihr Druck ist für {} °C angegeben",
  "disc {}: it was said that the shield was not closed": "Scheibe {}: laut Angabe war der Schutz nicht geschlossen",
  "disc {}: {} is far beyond the range of the instrument: is the unit right?":
    "Scheibe {}: {} liegt weit jenseits des Bereichs des Geräts: stimmt die Einheit?",
  "the record of a disc needs at least three samples": "die Aufzeichnung einer Scheibe braucht mindestens drei Werte",
  "disc {}: a single sample stood at {} {} and was taken for a disturbance of the sensor":
    "Scheibe {}: ein einzelner Wert stand bei {} {} und galt als Störung des Sensors",
  "is below three steps of the ramp: a hard stroke of the pump just before the burst could be taken for a spike":
    "liegt unter drei Stufen der Rampe: ein harter Pumpenhub kurz vor dem Bersten könnte als Störung gelten",
  "is below three sampling steps of the ramp: a hard pump stroke just before the burst could be taken for a spike; compare the raw maximum":
    "liegt unter drei Abtaststufen der Rampe: ein harter Pumpenhub kurz vor dem Bersten könnte als Störung gelten; mit dem rohen Höchstwert vergleichen",
  "a single sample stood above the reported value and was taken for a disturbance; the raw maximum is given beside it":
    "ein einzelner Wert stand über dem gemeldeten und galt als Störung; der rohe Höchstwert steht daneben",
  "disc {}: too few samples stand before the burst to know the noise of the record; it is not in the uncertainty":
    "Scheibe {}: vor dem Bersten stehen zu wenige Werte, um das Rauschen der Aufzeichnung zu kennen; es ist in der Messunsicherheit nicht enthalten",
  "outside tolerance": "außerhalb der Toleranz",
  "no burst": "kein Bersten",
  "no burst up to the end limit": "kein Bersten bis zur Endgrenze",
  "at least: sensor at full scale": "mindestens: Sensor am Endwert",
  "mean outside the manufacturing range": "Mittelwert außerhalb des Fertigungsbereichs",
  "disc outside tolerance": "Scheibe außerhalb der Toleranz",
  "No disc has burst, so nothing can be said of the lot.":
    "Keine Scheibe ist geborsten, darum lässt sich über das Los nichts sagen.",
  "One disc says nothing of the others of its lot: at least two are needed for a mean and a deviation.":
    "Eine Scheibe sagt nichts über die anderen ihres Loses: für Mittelwert und Streuung sind mindestens zwei nötig.",
  "one disc says nothing of a lot; at least two are needed":
    "eine Scheibe sagt nichts über ein Los; mindestens zwei sind nötig",
  "at most 1000 discs": "höchstens 1000 Scheiben",
  "{} discs are too few, or scatter too much, to say with 95 % confidence that 95 % of the lot lie within tolerance: that would have to hold from {} to {} {}.":
    "{} Scheiben sind zu wenige oder streuen zu sehr, um mit einem Vertrauensniveau von 95 % zu sagen, dass 95 % des Loses in der Toleranz liegen: dafür müsste die Toleranz von {} bis {} {} reichen.",
  "the sample is too small, or its scatter too large, to say with 95 % confidence that 95 % of the lot lies within tolerance":
    "die Stichprobe ist zu klein oder streut zu sehr, um mit einem Vertrauensniveau von 95 % zu sagen, dass 95 % des Loses in der Toleranz liegen",
  "With 95 % confidence at least 95 % of the lot burst between {} and {} {}, within tolerance, if these {} discs were drawn at random.":
    "Mit einem Vertrauensniveau von 95 % bersten mindestens 95 % des Loses zwischen {} und {} {}, innerhalb der Toleranz, wenn diese {} Scheiben zufällig gezogen wurden.",
  "disc {}": "Scheibe {}",
  "disc {}, {}": "Scheibe {}, {}",
  "lot: mean": "Los: Mittelwert",
  "manufacturing range": "Fertigungsbereich",
  "outside the manufacturing range": "außerhalb des Fertigungsbereichs",
  "lot: standard deviation": "Los: Standardabweichung",
  "lot: 95 % interval at 95 % confidence, lower end": "Los: Anteilsbereich 95 %, Vertrauensniveau 95 %, unteres Ende",
  "lot: 95 % interval at 95 % confidence, upper end": "Los: Anteilsbereich 95 %, Vertrauensniveau 95 %, oberes Ende",
  "the marked or expected burst pressure is missing": "der angegebene oder erwartete Berstdruck fehlt",
  "a manufacturing range lies about the requested pressure, which is missing":
    "ein Fertigungsbereich liegt um den angeforderten Druck, der fehlt",
  "must lie below the marked pressure": "muss unter dem angegebenen Druck liegen",
  "window, spike threshold and interval must be above zero":
    "Fenster, Störschwelle und Abtastabstand müssen über null liegen",
  "window, spike threshold and interval must be above zero, rate and lag not below":
    "Fenster, Störschwelle und Abtastabstand müssen über null liegen, Geschwindigkeit und Trägheit nicht darunter",
  "lies below the pressure of the room": "liegt unter dem Raumdruck",
  "must lie above the highest burst that is in tolerance, {} {}":
    "muss über dem höchsten Berstdruck in der Toleranz liegen, {} {}",
  "lies above the range of the instrument": "liegt über dem Bereich des Geräts",
  "volume and bulk modulus must not be below zero": "Volumen und Kompressionsmodul dürfen nicht unter null liegen",
  "at the marked pressure": "beim angegebenen Druck",
  "at the end limit": "an der Endgrenze",
  "ASME UG-127(a)(1), now in Section XIII: 2 psi up to 40 psi, 5 % above":
    "ASME UG-127(a)(1), jetzt in Section XIII: ±2 psi bei Berstdrücken bis 40 psi, darüber ±5 %",
  "A disc lets go at once and throws what is behind it: closed shield, eyes and ears protected, nobody in line with the outlet, the outlet led away. Raise the pressure at an even rate from behind the shield. At the end limit stop, vent and do not try again. A disc that was near its burst is not used.":
    "Eine Scheibe gibt schlagartig nach und schleudert heraus, was hinter ihr ist: Schutz geschlossen, Augen und Ohren geschützt, niemand in der Linie des Auslasses, der Auslass weggeführt. Den Druck hinter dem Schutz gleichmäßig erhöhen. An der Endgrenze anhalten, entlüften und nicht noch einmal versuchen. Eine Scheibe, die nahe am Bersten war, wird nicht benutzt.",
  "The test volume is not known, so the stored energy cannot be told: treat it as dangerous.":
    "Das Prüfvolumen ist nicht bekannt, darum lässt sich die gespeicherte Energie nicht angeben: als gefährlich behandeln.",
  "Is the holder rated for {} {}, the shield closed and the outlet led away?":
    "Ist der Halter für {} {} zugelassen, der Schutz geschlossen und der Auslass weggeführt?",
  "Do not raise the pressure. Shut off the source, vent, and see zero before the shield is opened. Then change the holder, close the shield, or lead the outlet away.":
    "Den Druck nicht erhöhen. Die Quelle absperren, entlüften und Drucklosigkeit feststellen, bevor der Schutz geöffnet wird. Dann den Halter wechseln, den Schutz schließen oder den Auslass wegführen.",
  "Disc {}": "Scheibe {}",
  "{}: its identity and lot as marked on it": "{}: ihre Kennung und ihr Los, wie auf ihr angegeben",
  "{}: is it clamped as its maker says, the shield closed, and everyone clear?":
    "{}: ist sie nach Angabe des Herstellers eingespannt, ist der Schutz geschlossen, und stehen alle außerhalb des Gefahrenbereichs?",
  "Do not raise the pressure. Shut off the source, vent, and see zero before anybody goes near. Then clamp the disc as its maker says, close the shield, and clear the area.":
    "Den Druck nicht erhöhen. Die Quelle absperren, entlüften und Drucklosigkeit feststellen, bevor jemand näher kommt. Dann die Scheibe nach Angabe des Herstellers einspannen, den Schutz schließen und den Bereich räumen.",
  "Temperature at the disc, in °C": "Temperatur an der Scheibe, in °C",
  "The even rise begins here.": "Hier beginnt der gleichmäßige Anstieg.",
  "{}: evenly, until it bursts. At the end limit, {} {}, stop and vent.":
    "{}: gleichmäßig, bis sie birst. An der Endgrenze, {} {}, anhalten und entlüften.",
  "{}: the largest pressure that was seen": "{}: der größte beobachtete Druck",
  "{}: did it burst?": "{}: ist sie geborsten?",
  "Vent, see zero, and only then open the shield.":
    "Entlüften, Drucklosigkeit feststellen und erst dann den Schutz öffnen.",
  "t_s and p need the same number of samples, at least three":
    "Zeit und Druck brauchen gleich viele Werte, mindestens drei",
};
