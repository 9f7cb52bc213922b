package export

// column is a column of a table. A number is a number in JSON, anything else a text.
type column struct {
	name, means string
	number      bool
}

// table is a kind of row. whole names the member that a row has in JSON only, "" for none.
type table struct {
	name, means string
	columns     []column
	whole       string
}

func texts(list ...string) (columns []column) {
	for i := 0; i+1 < len(list); i += 2 {
		columns = append(columns, column{name: list[i], means: list[i+1]})
	}
	return columns
}

func numbers(list ...string) (columns []column) {
	columns = texts(list...)
	for i := range columns {
		columns[i].number = true
	}
	return columns
}

func joined(parts ...[]column) (columns []column) {
	for _, p := range parts {
		columns = append(columns, p...)
	}
	return columns
}

// of says which visit a row belongs to.
var of = texts(
	"visit", "id of the visit",
	"started", "when the visit began, UTC",
	"tag", "tag of the instrument on that day",
	"serial", "its serial number on that day",
)

// tables are all tables of an export, in the order in which the read-me lists them.
var tables = []table{
	{"instruments", "what is tested, as the register has it now", texts(
		"id", "id of the record",
		"site", "code of its site",
		"tag", "the number at its place",
		"serial", "serial number",
		"description", "what it is for",
		"kind", "kind of work that it is for",
		"manufacturer", "maker",
		"model", "model",
		"low", "lower end of the range",
		"high", "upper end of the range",
		"unit", "unit of the range, of the resolution and of limits",
		"mode", "gauge, absolute or differential",
		"resolution", "what it can be read to",
		"overload", "the highest pressure that it bears",
		"limit", "how far it may be off",
		"medium", "what is in it",
		"area", "part of the plant",
		"place", "where it hangs",
		"note", "a remark",
		"method", "name of its method",
		"interval_months", "months from one test to the next",
		"due", "day of the next test",
		"status", "in service or out of service",
		"cautions", "what to beware of, parted by commas",
		"aliases", "its other names, parted by commas",
		"customer", "whose it is, where it is not its site's",
		"language", "of its certificates, en or de, where it is not its site's",
		"problem", "what could not be read of the record",
	), "fields"},
	{"visits", "one instrument on one occasion", joined(of, texts(
		"instrument", "id of the instrument, or of a standard",
		"status", "open, signed, returned, approved or reopened",
		"person", "who did it",
		"method", "name of the method, as on that day",
		"method_version", "its version",
		"method_reason", "why it was taken instead of the one that was set",
		"standard", "the reference standard that was used",
		"standard_serial", "its serial number",
		"standard_certificate", "number of its certificate in force on that day",
		"temperature_c", "temperature of the air, °C",
		"pressure_hpa", "pressure of the air, hPa",
		"humidity_percent", "relative humidity, %",
		"as_found", "verdict of the run as found",
		"as_left", "verdict of the run as left",
		"adjusted", "yes where it was adjusted",
		"not_tested", "why it was not tested",
		"remarks", "what was noted, parted by line ends",
		"signed_by", "whose name is under it",
		"signed_at", "when it was signed",
		"approved_by", "who approved it",
		"approved_at", "when",
		"problem", "what could not be read of the record",
	)), "fields"},
	{"readings", "everything that was typed or picked up, corrected values too", joined(of, texts(
		"run", "id of the run",
		"label", "as found, as left or repeat",
		"reading", "id of the reading",
		"step", "the step of the plan that it was taken at",
		"of", "applied, indicated, before_tap, answer, settle or trace",
		"value", "as it was typed; of a trace the SHA-256 of its file",
		"unit", "the unit it was typed in",
		"at", "when, by the clock of the device",
		"by", "who typed it",
		"stands", "yes, or no where a correction took its place",
		"corrected_value", "what stands in its place",
		"corrected_unit", "and in which unit",
		"supersedes", "id of the reading that it corrects",
		"reason", "why it was corrected, or kept in spite of a doubt",
	)), ""},
	{"findings", "what the evaluation says of each run", joined(of, texts(
		"run", "id of the run",
		"label", "as found, as left or repeat",
		"what", "run: the whole; reading; point: over all series; result: of other kinds than gauges",
		"name", "step of a reading, name of a result",
		"series", "number of the series of a reading",
		"direction", "up or down",
		"point", "the test point",
		"unit", "unit of a result; else that of the instrument's range",
	), numbers(
		"applied", "pressure at the instrument after all corrections",
		"indicated", "what it showed",
		"error", "indicated less applied",
		"limit_low", "lowest error or result that is within the limit",
		"limit_high", "highest one",
		"value", "value of a result",
		"expanded", "expanded uncertainty",
		"k", "coverage factor of it",
	), texts(
		"verdict", "pass, fail, conditional-pass, conditional-fail or undecided",
		"reason", "why it is undecided",
		"calc", "version of the calculations",
	)), "finding"},
	{"earlier_results", "tests of the past as they were brought in, not done or signed here", texts(
		"id", "id of the record",
		"instrument", "id of the instrument",
		"tag", "its tag now",
		"serial", "its serial number now",
		"date", "day of the test",
		"as_found", "verdict as found",
		"as_left", "verdict as left",
		"adjusted", "yes where it was adjusted",
		"number", "number of the certificate",
		"by", "who tested it",
		"file", "the certificate, in this folder",
		"note", "a remark",
		"sheet", "name of the sheet that it came from",
		"line", "line of the sheet",
		"brought", "when it was brought in",
		"problem", "what could not be read of the record",
	), "fields"},
	{"certificates", "what was issued of approved visits", joined(of, texts(
		"certificate", "id of the record",
		"number", "number of the certificate",
		"issued", "when it was issued",
		"by", "who issued it",
		"replaces", "number of the certificate whose place it takes",
		"why", "why it was replaced",
		"different", "what is different",
		"pdf", "the document, in this folder",
		"xml", "its form for machines, in this folder",
		"record", "its signed record, in this folder",
		"problem", "why a document is not in this folder",
	)), "fields"},
	{"standards", "reference standards", texts(
		"id", "id of the record",
		"name", "name",
		"serial", "serial number",
		"manufacturer", "maker",
		"model", "model",
		"ranges", "its ranges, parted by semicolons",
		"certificate_no", "number of the certificate in force",
		"calibrated", "when it was calibrated",
		"due", "until when that holds",
		"status", "in service or not",
		"problem", "what could not be read of the record",
	), "fields"},
	{"standard_certificates", "every certificate of a standard that was entered", texts(
		"standard", "id of the standard",
		"name", "its name",
		"serial", "its serial number",
		"number", "number of the certificate",
		"calibrated", "when it was calibrated",
		"due", "until when it held",
		"by", "laboratory",
		"applied", "pressure of a point, in unit",
		"error", "the standard's error there",
		"expanded", "expanded uncertainty there",
		"k", "coverage factor of it",
		"unit", "unit of the point",
		"file", "what came from the laboratory, in this folder",
	), ""},
	{"methods", "kinds of work with their parameters, in their newest version", texts(
		"id", "id of the record",
		"name", "name",
		"kind", "kind of work",
		"version", "number of the version",
	), "fields"},
	{"rounds", "lists of stops for a person and a day", texts(
		"id", "id of the record",
		"date", "day",
		"person", "whose it is",
		"title", "title",
		"stops", "tags, parted by commas",
	), "fields"},
	{"people", "who works here, as far as a record names them", texts(
		"id", "id of the record",
		"name", "name",
		"initials", "initials",
		"role", "technician, reviewer or administrator",
	), "fields"},
	{"sites", "places of the plant", texts(
		"id", "id of the record",
		"code", "code",
		"name", "name",
		"customer", "whose its instruments are, lines parted by line ends",
	), "fields"},
	{"files", "photos, records of loggers and other files under files/", joined(of, texts(
		"what", "photo, trace, standard, earlier, sheet, machine or record: of a certificate",
		"sha256", "SHA-256 of its bytes, in hexadecimal",
		"path", "where it stands in this folder",
		"caption", "what was written under it, or its name",
		"problem", "why it is not in this folder",
	)), ""},
}
