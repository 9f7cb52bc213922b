package demo_test

// inGerman are the regular expressions that match a German paper's text, by clause and requirement.
var inGerman = map[[2]string]string{
	{
		"7.8.2.1 a", "a title",
	}: `(Kalibrierschein|[Pp]rüfbericht)( (ein\S+|über|nach) .*?)? Nr\. `,
	{
		"7.8.2.1 b", "name and address of the laboratory",
	}: `^Instrument workshop, Harbour Terminal Quay 7, Building C Harbour Terminal `,
	{
		"7.8.2.1 c", "where the work was done",
	}: ` Ort der Durchführung \S+`,
	{
		"7.8.2.1 d", "the paper's number on each page, that it is whole, and its end",
	}: `(Kalibrierschein|Prüfbericht) NUMBER · .* Seite 1 von \d+ .*— Ende: ` +
		`(Kalibrierschein|Prüfbericht) NUMBER —`,
	{
		"7.8.2.1 e", "name and address of the customer",
	}: ` Kunde Operations, Harbour Terminal `,
	{
		"7.8.2.1 f", "the method",
	}: ` Verfahren .+, Version \d+`,
	{
		"7.8.2.1 g", "the item: what it is, its serial or tag, its condition",
	}: ` Gegenstand .+ (Seriennummer|Messstelle) .+ Zustand (gut|verschmutzt|nicht einwandfrei)`,
	{
		"7.8.2.1 h", "when the item was received, where that matters",
	}: ` Eingang 1\. Dezember 2024 `,
	{
		"7.8.2.1 i", "when the work was done",
	}: ` Datum der (Kalibrierung|Prüfung) \d+\. \S+ 20\d\d `,
	{
		"7.8.2.1 j", "when the paper was issued",
	}: ` Ausstellungsdatum \d+\. \S+ 20\d\d `,
	{
		"7.8.2.1 k", "the sampling, where the laboratory did it",
	}: `Die Scheiben wurden im angelieferten Zustand geprüft; für die Probenahme aus dem ` +
		`Los war nicht das Labor verantwortlich`,
	{
		"7.8.2.1 l", "that the results relate to the item alone",
	}: `Die Ergebnisse gelten nur für den oben genannten Gegenstand`,
	{
		"7.8.2.1 m", "the results with their units",
	}: `(Alle Drücke in \S+\.|Anliegende Drücke in \S+, Signale in|(Alle Werte in \S+\. Größe anliegend Anzeige Abweichung |Größe Wert )Grenze (U k )?Quelle ` +
		`Urteil)`,
	{
		"7.8.2.1 n", "what was not done as the method has it",
	}: `Abweichungen vom Verfahren, wie erfasst .* beibehalten mit der Begründung`,
	{
		"7.8.2.1 o", "who authorises the paper",
	}: ` Freigegeben von \S+ \S+, zeichnungsberechtigt, \d+\. `,
	{
		"7.8.2.2", "what the customer stated, and that the laboratory does not answer for it",
	}: `Bezeichnung, Messstelle und Ort des Gegenstands sind Angaben des ` +
		`Kunden.* ist dafür nicht verantwortlich`,
	{
		"7.8.3.1 a", "conditions of the test",
	}: ` Umgebungsbedingungen \S+ °C`,
	{
		"7.8.3.1 b", "conformity",
	}: `Konformität (Eingangszustand|Ausgangszustand): ((nicht |bedingt )*bestanden|nicht entschieden)`,
	{
		"7.8.3.1 c", "the measurement uncertainty in the unit of the result",
	}: `Messunsicherheit (Die Spalte U gibt die erweiterte Messunsicherheit( des anliegenden Werts)? in der Einheit des ` +
		`Ergebnisses an|Für diese Ergebnisse wurde keine Messunsicherheit ausgewertet)`,
	{
		"7.8.3.1 d, 7.8.4.1 f", "opinions and interpretations",
	}: `Bemerkungen \S+`,
	{
		"7.8.4.1 a", "the measurement uncertainty in the unit of the result",
	}: `Die Spalte U gibt die erweiterte Messunsicherheit( des anliegenden Werts)? in der Einheit des Ergebnisses an`,
	{
		"7.8.4.1 b", "conditions of the calibration",
	}: ` Umgebungsbedingungen \S+ °C`,
	{
		"7.8.4.1 c", "how the results are traceable",
	}: ` Rückführung (Kalibrierung des Normals am .+, Kalibrierschein \S+; die Kette|Zu dieser ` +
		`Prüfung ist kein)`,
	{
		"7.8.4.1 d", "results before and after an adjustment",
	}: `Ergebnisse im Eingangszustand .*Ergebnisse im Ausgangszustand, nach der Justierung `,
	{
		"7.8.4.1 e", "conformity",
	}: `Konformität .*(Eingangszustand|Ausgangszustand): ((nicht |bedingt )*bestanden|nicht ` +
		`entschieden)`,
	{
		"7.8.4.3", "no interval of recalibration",
	}: `Den Termin der nächsten Kalibrierung bestimmt der Betreiber`,
	{
		"7.8.6.1", "a decision rule with its risk",
	}: `Entscheidungsregel\. (Einfache|Schutzband|Bestanden|Eine Rate)`,
	{
		"7.8.6.1", "the risk of each run by its name",
	}: `(Eingangszustand|Ausgangszustand): die größte Wahrscheinlichkeit eines falschen Urteils in ` +
		`diesen Ergebnissen beträgt`,
	{
		"7.8.6.2 a", "to which results the verdict applies",
	}: `Das Urteil gilt für (alle|alles) unten`,
	{
		"7.8.6.2 b", "against what it was judged",
	}: `Anforderung: \S+.*?\. Das Urteil`,
	{
		"7.8.6.2 c", "the decision rule that was applied",
	}: `Entscheidungsregel\. \S+`,
	{
		"7.8.8", "an amendment: what it replaces, why, what is different",
	}: ` Berichtigung Ersetzt den (Kalibrierschein|Prüfbericht) Nr\. 1999-1, .*Grund Tag ` +
		`mistyped Änderungen The tag was PI-1 `,
	{
		"P14 5.2", "y and U with its unit, k and the coverage probability",
	}: `multipliziert mit dem Erweiterungsfaktor k .*für eine Überdeckungswahrscheinlichkeit ` +
		`von (etwa )?\d+`,
	{
		"P14 5.3", "U with two digits at most, the result rounded to it",
	}: `Werte sind kaufmännisch auf die letzte Stelle von U gerundet`,
	{
		"P14 5.4", "contributions during the work, of the item too, none of the time after",
	}: `die Beiträge des Normals, seines Einsatzes und des Gegenstands während der Arbeit.* ` +
		`sagt nichts über die Langzeitstabilität`,
	{
		"ours", "who did, checked and issued it, with what they are",
	}: ` Ausgeführt von .+, Prüffachkraft, unterschrieben .* Geprüft von .+, zeichnungsberechtigt ` +
		`.*Ausgestellt von .+, zeichnungsberechtigt `,
}
