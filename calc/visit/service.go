package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

// What is asked about the service that an instrument is in, before the first pressure.
const (
	ServiceOxygen = "oxygen" // are standard, hose and medium clean for oxygen?
	ServiceAir    = "air"    // can what is vented displace the air of the room?
)

// Setting of an instrument in the open, where nothing pushes the air out of a room.
const outdoors = "outdoors"

// What asks about the service, by words of a medium's name. A gas that is lighter or heavier than
// air counts alike. Common practice, no source; local codes come first.
var (
	oxygens     = []string{"oxygen", "o2", "sauerstoff", "lox", "gox"}
	asphyxiants = []string{
		"nitrogen", "n2", "gn2", "stickstoff", "argon", "helium", "co2", "dioxide", "sf6", "hexafluoride", "refrigerant",
		"krypton", "neon", "xenon",
	}
)

// Service lists what is asked about the service of a visit's instrument, in order: its record and
// the cautions that were ticked say what it is in.
func Service(visit *Record) []string {
	item := visit.Value("item")
	return service(item, visit.Value("cautions"))
}

// answered says whether everything that is asked about the service has its answer.
func answered(visit *Record) bool {
	answers := visit.Value("service")
	for _, q := range Service(visit) {
		if text(part(answers, q)) == "" {
			return false
		}
	}
	return true
}

func service(item, cautions *document.Value) []string {
	medium := text(part(item, "medium"))
	codes := texts(part(cautions, "codes"))
	var list []string
	if Oxygen(medium, codes) {
		list = append(list, ServiceOxygen)
	}
	inert := slices.Contains(codes, "asphyxiation") || named(medium, asphyxiants)
	if inert && text(part(item, "setting")) != outdoors {
		list = append(list, ServiceAir)
	}
	return list
}

// Oxygen says whether an instrument is in oxygen service, by its medium's name and the codes of its
// cautions.
func Oxygen(medium string, cautions []string) bool {
	return slices.Contains(cautions, "oxygen") || named(medium, oxygens)
}

// named says whether a medium is one of some by a word of its name. "oxygen-free nitrogen" is no
// oxygen.
func named(medium string, words []string) bool {
	list := strings.FieldsFunc(strings.ToLower(medium), func(r rune) bool {
		return !(r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r > 127)
	})
	for i, w := range list {
		if slices.Contains(words, w) && (i+1 == len(list) || list[i+1] != "free") {
			return true
		}
	}
	return false
}

// Unclean says why a standard may not touch an instrument in oxygen service: "oil" where oil was in
// it, "not_clean" where it was not cleaned for oxygen up to that day; "" where it is clean.
func Unclean(medium, cleaned, today string) string {
	day := func(s string) (int, bool) { return document.ParseDate(s[:min(len(s), len("2006-01-02"))]) }
	at, ok := day(cleaned)
	now, known := day(today)
	switch {
	case medium == "oil":
		return "oil"
	case !ok || known && at > now:
		return "not_clean"
	}
	return ""
}
