package certificates

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// titles name the document by the kind of work. Work that evaluates measurement uncertainty against
// a reference is a calibration; the others are tests.
var titles = map[string]string{
	"":                   "Calibration certificate",
	"gauge":              "Calibration certificate",
	"switch":             "Switch test report",
	"leak":               "Leak test report",
	"burst":              "Burst test report",
	"altimeter":          "Altimeter test report",
	"airspeed":           "Airspeed indicator test report",
	"vertical-speed":     "Vertical speed indicator test report",
	"reporting-altitude": "Altitude reporting test report",
	"pitot-static-leak":  "Pitot-static leak test report",
	"programme":          "Test report of a programme",
}

// title returns the title of the document, in English.
func (d *definition) title() string {
	if t, ok := titles[d.Kind]; ok {
		return t
	}
	return "Test report"
}

// noun returns "certificate" or "report", in English: what the document calls itself in a sentence.
func (d *definition) noun() string {
	if strings.HasSuffix(d.title(), "certificate") {
		return "certificate"
	}
	return "report"
}

// work returns "calibration" or "test", in English.
func (d *definition) work() string {
	if d.noun() == "certificate" {
		return "calibration"
	}
	return "test"
}

// capital writes a text with a capital first letter.
func capital(s string) string {
	first, size := utf8.DecodeRuneInString(s)
	if first == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(first)) + s[size:]
}
