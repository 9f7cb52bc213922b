package desk

import (
	"cmp"
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"gaugewright/calc/document"
	"gaugewright/server/german"
	"gaugewright/server/plant"
)

// translated gives a word of the program or a sentence of the calculations in a language.
func translated(language, text string) string {
	if language == german.Code {
		return german.Translate(text)
	}
	return text
}

// kindsCalled are the kinds of instrument in words.
var kindsCalled = map[string]string{
	"gauge": "pressure gauge", "leak": "pressure system", "switch": "pressure switch", "burst": "rupture disc",
	"altimeter": "altimeter", "airspeed": "airspeed indicator", "vertical-speed": "vertical speed indicator",
	"reporting-altitude": "altitude encoder", "pitot-static-leak": "pitot-static system",
}

// fieldsCalled are fields of an instrument's record that are not called by their names.
var fieldsCalled = map[string]string{
	"interval_months": "interval", "manufacturer": "maker", "aliases": "other names", "customer": "whose it is",
	"repeatability_percent": "repeatability", "language": "language of certificates",
	"temperature_coefficient_percent_per_k": "temperature coefficient", "label": "label",
}

// fieldCalled names a field of an instrument's record in words.
func fieldCalled(field string) string {
	return cmp.Or(fieldsCalled[field], strings.ReplaceAll(field, "_", " "))
}

// say gives a text of the dossier in its language.
func (f *folder) say(text string, values ...string) string {
	return german.In(f.language, text, values...)
}

// word gives a word of the program or a sentence of the calculations in the dossier's language; what
// somebody wrote stays.
func (f *folder) word(text string) string { return translated(f.language, text) }

// figure gives a number with the mark of the dossier's language.
func (f *folder) figure(decimal string) string {
	if f.language == german.Code && document.IsDecimal(decimal) {
		return german.Mark(decimal)
	}
	return decimal
}

// file names a file with what it is of.
func (f *folder) file(what, of string) string { return f.say(what, f.word(of)) }

func (f *folder) span(r *plant.Range) string {
	if r.Unit == "" {
		return ""
	}
	return f.say(
		"{} to {} {}, {}", f.figure(string(r.Low)), f.figure(string(r.High)), r.Unit, f.word(cmp.Or(r.Mode, "gauge")),
	)
}

// cautions are what to beware of, in words.
func (f *folder) cautions(codes []string) string {
	list := make([]string, 0, len(codes))
	for _, code := range codes {
		list = append(list, f.word(strings.ReplaceAll(code, "_", " ")))
	}
	return strings.Join(list, ", ")
}

// day writes a day as a sentence has it.
func (f *folder) day(date string) string { return longDay(f.language, date) }

// answer gives an answer that was chosen in words; a reading and what somebody typed stay.
func (f *folder) answer(value string) string {
	if slices.Contains([]string{"yes", "no", "pass", "fail", "true", "false"}, value) {
		return f.word(value)
	}
	return value
}

// measured are the fields of an instrument that hold numbers and words of the program.
var measured = []string{
	"range", "resolution", "limit", "output", "particulars", "repeatability_percent", "interval_months",
	"temperature_coefficient_percent_per_k", "reference_temperature_c", "status", "kind", "setting",
}

// plain writes a value of a field without the signs of JSON. Numbers and words of the program are
// written in the dossier's language; what somebody wrote stays.
func (f *folder) plain(field string, b json.RawMessage) string {
	var v any
	if len(b) == 0 || json.Unmarshal(b, &v) != nil {
		return ""
	}
	if kind, ok := v.(string); ok && field == "kind" {
		return f.word(cmp.Or(kindsCalled[kind], kind))
	}
	if field == "cautions" {
		var codes []string
		if json.Unmarshal(b, &codes) == nil {
			return f.cautions(codes)
		}
	}
	return f.value(v, slices.Contains(measured, field))
}

func (f *folder) value(v any, ours bool) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		switch {
		case !ours:
			return x
		case document.IsDecimal(x):
			return f.figure(x)
		}
		return f.word(x)
	case bool:
		if x {
			return f.say("yes")
		}
		return f.say("no")
	case float64:
		return f.figure(strconv.FormatFloat(x, 'f', -1, 64))
	case []any:
		list := make([]string, 0, len(x))
		for _, one := range x {
			list = append(list, f.value(one, ours))
		}
		return strings.Join(list, ", ")
	case map[string]any:
		var list []string
		for name, one := range x {
			if said := f.value(one, ours); said != "" {
				list = append(list, f.word(strings.ReplaceAll(name, "_", " "))+" "+said)
			}
		}
		slices.Sort(list)
		return strings.Join(list, "; ")
	}
	return ""
}
