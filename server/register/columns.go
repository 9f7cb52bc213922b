package register

import (
	"fmt"
	"slices"
	"strings"
)

// field is a possible column of a file, with other headings for it.
type field struct {
	name, means string
	also        []string
}

// Fields are the possible columns of a register, each with other headings. Headings are compared by
// their letters and digits only, ignoring case and accents; text in brackets at the end is dropped.
var fields = []field{
	{
		"tag", "the number at the instrument; every row has one, each once",
		[]string{
			"tag nr", "tag id", "messstellennummer", "mess stelle", "kennzeichen", "anlagenkennzeichen", "akz",
			"numero de tag", "numéro de repère", "n repère", "repère", "nº etiqueta", "equipment no", "instrument",
			"instrument no", "instrument tag", "code equipo", "código", "prüfmittel nr", "prüfmittelnummer", "gerät nr",
			"tag no", "tag number", "tagno", "loop", "position", "messstelle", "kks", "repere", "etiqueta",
		},
	},
	{
		"serial", "serial number",
		[]string{"serial nr", "s nr", "ser nr", "fabrik nr", "fabrikationsnummer", "n de serie", "nº de serie", "nº serie", "n serie", "n de série", "n série", "nº de série",
			"serial no", "serial number", "sn", "s n", "seriennummer", "serien nr", "fabriknummer",
			"numero de serie", "numéro de série", "número de serie",
		},
	},
	{
		"description", "what it is for",
		[]string{"funktion", "aufgabe", "benennung", "libellé", "servicio", "texto", "text",
			"service", "name", "bezeichnung", "beschreibung", "designation", "désignation", "descripcion",
			"descripción",
		},
	},
	{
		"manufacturer", "maker",
		[]string{
			"fabrikat", "marke", "marque", "marca", "constructeur", "brand", "maker", "make", "hersteller", "fabricant",
			"fabricante",
		},
	},
	{
		"model", "model",
		[]string{"modell", "référence", "modele type", "tipo", "baureihe", "type", "typ", "modele", "modèle", "modelo"},
	},
	{
		"range", "such as 0-10 bar or -1…3; or low, high and unit have columns of their own",
		[]string{
			"messspanne", "skala", "skalenbereich", "plage", "plage de mesure", "échelle", "étendue de mesure",
			"rango de medida", "rango de medición", "escala", "span", "druckbereich", "cal range", "calibration range",
			"measuring range", "scale", "messbereich", "anzeigebereich", "etendue", "étendue", "rango",
		},
	},
	{
		"low", "lower end of the range; empty: 0",
		[]string{"mba", "messbereichsanfang", "début", "mini", "desde", "inicio", "inferior",
			"range low", "low range", "min", "lower", "lrv", "range from", "from", "von", "anfang",
			"minimum", "scale low",
		},
	},
	{
		"high", "upper end of the range",
		[]string{"mbe", "messbereichsende", "fin", "maxi", "hasta", "fondo", "superior", "skalenendwert", "endwert",
			"range high", "high range", "max", "upper", "urv", "full scale", "fs", "range to", "to", "bis",
			"ende", "maximum", "scale high",
		},
	},
	{
		"unit",
		"bar, kPa, psi, mbar abs …; ft or m, kt or km/h, ft/min or m/s of pitot-static instruments",
		[]string{
			"dim", "dimension", "masseinheit", "maßeinheit", "unités", "unidades", "units", "uom", "einheit", "unite",
			"unité", "unidad", "eng unit", "engineering unit",
		},
	},
	{
		"mode", "gauge, absolute or differential; empty: what the unit says, else gauge",
		[]string{"reference", "pressure type", "druckart", "gauge absolute"},
	},
	{
		"resolution", "what it can be read to, in its unit; a gauge needs it",
		[]string{
			"teilung", "skalenteilung", "skt", "división", "division", "divisions", "graduation", "scale division",
			"ziffernschritt", "échelon", "readability", "read to", "auflösung", "ablesbarkeit", "resolucion",
			"résolution",
		},
	},
	{
		"overload", "overload limit: the highest pressure that it bears, in the unit of the range",
		[]string{
			"overload limit", "overpressure limit", "maximum working pressure", "max working pressure", "mwp",
			"proof pressure", "überlastgrenze", "überlast", "überdruckgrenze", "surpression admissible",
			"sobrepresión admisible",
		},
	},
	{
		"class", "EN 837: 0.1 0.25 0.6 1 1.6 2.5 4",
		[]string{
			"kl", "güteklasse", "classe de précision", "clase de precisión", "genauigkeit", "précision", "precisión",
			"accuracy cl", "accuracy class", "klasse", "genauigkeitsklasse", "classe", "clase", "kl",
		},
	},
	{"grade", "ASME B40.100: 4A 3A 2A 1A A B C D", []string{"accuracy grade"}},
	{
		"percent", "limit in per cent of span; a class or a grade may stand here too",
		[]string{
			"emt", "erreur maximale tolérée", "tolérance", "tolerancia", "error máximo", "max error", "mpe", "toleranz",
			"accuracy", "tolerance", "limit", "of span percent", "fehlergrenze", "tolerance percent",
		},
	},
	{"stop_pin", "yes: the pointer rests on a pin", []string{"stop pin", "zero stop", "anschlagstift"}},
	{
		"medium", "what is in it",
		[]string{
			"stoff", "produkt", "produit", "producto", "messmedium", "process fluid", "fluid", "process medium",
			"messstoff", "fluide", "fluido",
		},
	},
	{
		"connection", "how it is connected, such as G 1/2 B or NPT 1/4",
		[]string{
			"process connection", "thread", "fitting", "anschluss", "prozessanschluss", "raccord", "conexion",
			"conexión",
		},
	},
	{
		"area", "part of the plant",
		[]string{
			"bereich anlage", "anlagenteil", "betrieb", "unité", "secteur", "área", "planta", "sección", "gewerk",
			"unit area", "plant area", "anlage", "bereich", "zone", "section", "building", "gebäude",
		},
	},
	{
		"place", "where it hangs",
		[]string{
			"aufstellungsort", "standplatz", "localisation", "emplacement", "localización", "lugar", "raum", "room",
			"location", "ort", "einbauort", "lieu", "ubicacion", "ubicación", "where",
		},
	},
	{
		"note", "a remark",
		[]string{
			"observations", "observaciones", "anmerkung", "hinweis", "nota", "remarques", "commentaire", "notes",
			"remark", "remarks", "comment", "bemerkung", "notiz", "remarque",
		},
	},
	{
		"interval_months", "months from one test to the next, 1 to 240",
		[]string{"kalibrierintervall", "prüfzyklus", "turnus", "zyklus", "périodicité", "periodicité", "periodicidad", "fréquence", "frecuencia", "intervalle", "intervalo", "frequency",
			"interval", "interval months", "cycle", "months", "intervall", "prüfintervall", "periode",
			"calibration interval",
		},
	},
	{
		"due", "day of the next test, such as 2027-03-01",
		[]string{"nächste kalibrierung", "nächster termin", "termin", "kalibrierung fällig", "prochaine vérification", "prochain étalonnage", "date échéance", "próxima calibración", "vencimiento", "fecha vencimiento", "cal due", "next cal", "calibration due", "due on", "gültig bis", "valid until",
			"due date", "next due", "next calibration", "fällig", "fällig am", "nächste prüfung",
			"echeance", "échéance",
		},
	},
	{
		"status", "in service or out of service; empty: in service",
		[]string{"state", "zustand", "etat", "état", "estado"},
	},
	{
		"cautions",
		"several, parted by commas: lock_out stand_aside vent stored_energy oxygen toxic asphyxiation flight vacuum hot",
		[]string{"gefahr", "danger", "dangers", "peligros", "caution", "hazard", "hazards", "gefahren"},
	},
	{
		"language", "of its certificates, en or de; empty: as its site's",
		[]string{
			"certificate language", "language of certificates", "language of certificate", "sprache", "zertifikatssprache",
			"sprache der kalibrierscheine", "sprache des kalibrierscheins", "langue", "langue du certificat", "idioma",
			"idioma del certificado",
		},
	},
	{"aliases", "other names, parted by commas", []string{"alias", "other names", "old tag", "alte nummer"}},
	{
		"site", "code of a site; --new-sites makes those that are not known",
		[]string{"usine", "centro", "site name", "betriebsstätte", "site code", "plant", "werk", "standort"},
	},
	{
		"method", "name of a published method; of several with one name, the one of the row's kind",
		[]string{"procedure", "method name", "verfahren", "methode"},
	},
	{"kind", "gauge or transmitter, system, pressure switch, rupture disc, altimeter, airspeed indicator, vertical speed indicator, altitude encoder, pitot static system; empty: gauge", []string{
		"kind of instrument", "instrument kind", "type of instrument", "instrument type", "device type",
		"art", "geräteart", "genre",
	}},
	{
		"output", "a transmitter's signal: 4-20 mA, 0-10 V square root",
		[]string{"signal", "output signal", "ausgang", "ausgangssignal", "sortie", "salida"},
	},
	{
		"volume",
		"of a system or behind a disc, with its unit: 12.5 L, 0.4 m3, 300 cm3, 5 gal (of 231 cubic inches)",
		[]string{"system volume", "volumen", "rauminhalt"},
	},
	{
		"weakest", "pressure of a system's weakest part, in the range's unit",
		[]string{"weakest part pressure", "rated pressure", "maop", "ps max"},
	},
	{"weakest_part", "which part that is", []string{"rated part", "schwächstes teil"}},
	{"contact", "a switch's contact: its name", []string{"contact name", "kontakt"}},
	{
		"set_point", "its set point, in the range's unit",
		[]string{"setpoint", "switch point", "schaltpunkt", "point de consigne"},
	},
	{"acts", "rising or falling", []string{"direction", "acts when", "richtung"}},
	{
		"set_tolerance", "plus or minus, in the range's unit, or with % of the set point",
		[]string{"set point tolerance", "setpoint tolerance", "schaltpunkttoleranz"},
	},
	{
		"dead_band", "two numbers in the range's unit: 0.1-0.5",
		[]string{"deadband", "hysteresis", "differential", "schaltdifferenz"},
	},
	{"safe_side", "open or closed", []string{"safe position", "fail safe"}},
	{"safety_function", "yes: part of a safety function", []string{"safety", "sif", "sicherheitsfunktion"}},
	{"contact_2", "a second contact, and so the columns below", nil},
	{"set_point_2", "", []string{"setpoint 2"}},
	{"acts_2", "", []string{"direction 2"}},
	{"set_tolerance_2", "", nil},
	{"dead_band_2", "", []string{"deadband 2"}},
	{"safe_side_2", "", nil},
	{"safety_function_2", "", []string{"safety 2"}},
	{
		"marked", "a disc's marked burst pressure, in the range's unit",
		[]string{"marked burst pressure", "burst pressure", "berstdruck"},
	},
	{"requested", "the requested one", []string{"requested burst pressure", "specified burst pressure"}},
	{"lot", "its lot", []string{"lot no", "lot number", "batch", "charge"}},
	{"lot_size", "discs in the lot", []string{"discs in lot", "losgröße"}},
	{"material", "of the disc", []string{"disc material", "werkstoff"}},
	{"coincident_temperature", "in °C", []string{"coincident temperature c", "burst temperature"}},
}

func known(name string) bool { return knownIn(fields, name) }

func knownIn(fields []field, name string) bool {
	return slices.ContainsFunc(fields, func(f field) bool { return f.name == name })
}

// FieldNames lists the fields for --map and --set.
func FieldNames() []string {
	var list []string
	for _, f := range fields {
		list = append(list, f.name)
	}
	return list
}

// FieldHelp lists for every field what its column holds, and its other headings.
func FieldHelp() string { return helpOf(fields) }

func helpOf(fields []field) string {
	var b strings.Builder
	for _, f := range fields {
		fmt.Fprintf(&b, "  %-22s %s\n", f.name, f.means)
		if len(f.also) > 0 {
			fmt.Fprintf(&b, "  %-22s also headed: %s\n", "", strings.Join(f.also, ", "))
		}
	}
	return b.String()
}

// column returns the file's name for the cell of a field.
func (row *Row) column(field string) string {
	if k, ok := row.at[field]; ok {
		return fmt.Sprintf("column %q", row.header[k])
	}
	if row.text[field] != "" {
		return "the value for an empty " + field
	}
	return "no column " + field
}
