package visit

import (
	"slices"
	"strings"

	"gaugewright/calc/document"
)

// Questions about the service of an instrument, asked before the first pressure.
const (
	ServiceOxygen = "oxygen" // are standard, hose and medium clean for oxygen?
	ServiceAir    = "air"    // can what is vented displace the air of the room?
)

// outdoors is the setting of an instrument in the open, where no gas can displace the air.
const outdoors = "outdoors"

// Words in a medium's name that lead to a question about the service. A gas lighter or heavier than
// air counts alike. Common practice, no source; local codes come first.
var (
	oxygens     = []string{"oxygen", "o2", "sauerstoff", "lox", "gox"}
	asphyxiants = []string{
		"nitrogen", "n2", "gn2", "stickstoff", "argon", "helium", "co2", "dioxide", "sf6", "hexafluoride", "refrigerant",
		"krypton", "neon", "xenon",
	}
)

// Service lists the questions about the service of a visit's instrument, in order. They follow from
// its record and the ticked cautions.
func Service(visit *Record) []string {
	item := visit.Value("item")
	return service(item, visit.Value("cautions"))
}

// answered reports whether every question about the service has an answer.
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

// Oxygen reports whether an instrument is in oxygen service, by its medium's name and the codes of
// its cautions.
func Oxygen(medium string, cautions []string) bool {
	return slices.Contains(cautions, "oxygen") || named(medium, oxygens)
}

// named reports whether a word of a medium's name is among words. "oxygen-free nitrogen" is no
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

// Unclean returns why a standard may not touch an instrument in oxygen service: "oil" if it held
// oil, "not_clean" if it has not been cleaned for oxygen by today, "" if it is clean.
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
