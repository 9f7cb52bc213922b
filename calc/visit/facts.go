package visit

import (
	"strconv"
	"unicode/utf8"

	"gaugewright/calc/document"
)

// Bounds of an instrument's record.
const (
	// LongestTag is how many characters a tag or another name may have: as many as a label shows.
	LongestTag = 64
	// LongestText is how many characters any other text may have.
	LongestText = 2000
	// MostMonths is the longest interval between two tests: 20 years.
	MostMonths = 240
)

// RangeMode returns the mode of an instrument's range if its kind decides it, and "" if the record
// states it. The ranges of pitot-static instruments are altitudes, airspeeds and rates.
func RangeMode(kind string) string {
	switch kind {
	case "altimeter", "vertical-speed", "reporting-altitude", "pitot-static-leak":
		return "absolute"
	case "airspeed":
		return "differential"
	}
	return ""
}

// ofGauges are the fields that only a gauge or a transmitter has.
var ofGauges = []string{
	"limit", "output", "repeatability_percent", "temperature_coefficient_percent_per_k", "reference_temperature_c",
}

// ofRules are the parts of a limit with the rules that use them.
var ofRules = [...]struct {
	name  string
	rules []string
}{
	{"class", []string{"en837", "gb1226"}}, {"grade", []string{"b40.100"}}, {"stop_pin", []string{"en837"}},
	{"of_span_percent", []string{"terms"}}, {"of_reading_percent", []string{"terms"}}, {"absolute", []string{"terms"}},
}

// Unused returns the fields that do not apply to an instrument, by its kind and the rule of its
// limit. It leaves out a part of the limit that has a value, so that the user sees why it is
// refused.
func Unused(f *document.Value) []string {
	var list []string
	if kind := text(part(f, "kind")); kind != "" && kind != "gauge" {
		list = append(list, ofGauges...)
	}
	if kind := text(part(f, "kind")); kind != "" && kind != "gauge" && kind != "switch" {
		list = append(list, "overload")
	}
	if RangeMode(text(part(f, "kind"))) != "" {
		list = append(list, "range.mode")
	}
	limit := part(f, "limit")
	rule := text(part(limit, "rule"))
	for _, p := range ofRules {
		taken := false
		for _, r := range p.rules {
			taken = taken || r == rule
		}
		v := part(limit, p.name)
		if !taken && (v == nil || no(v) || v.Kind == document.String && v.Text == "") {
			list = append(list, "limit."+p.name)
		}
	}
	return list
}

// outOfBounds returns the first field with a text or a number beyond what a record may hold, and
// the bound.
func outOfBounds(f *document.Value) (name, code string, most int) {
	for _, name := range f.Names() {
		v := part(f, name)
		switch {
		case v == nil:
		case name == "interval_months":
			n, err := strconv.ParseFloat(text(v), 64)
			if text(v) != "" && (err != nil || !(n >= 1 && n <= MostMonths)) {
				return name, "months", MostMonths
			}
		case v.Kind == document.Array:
			for _, one := range texts(v) {
				if utf8.RuneCountInString(one) > LongestTag {
					return name, "long", LongestTag
				}
			}
		default:
			most := LongestText
			if name == "tag" {
				most = LongestTag
			}
			if utf8.RuneCountInString(text(v)) > most {
				return name, "long", most
			}
		}
	}
	return "", "", 0
}

// calculateFacts is the calculation facts: the typed facts of an instrument → the mode of its range
// if its kind decides it, the fields that do not apply, and the first field beyond a bound.
//
// Takes:   {fields}, the facts typed so far.
// Gives:   {mode?, unused, wrong?: {field, code: long or months, most}}.
func calculateFacts(in *document.Reader, out *document.Writer) error {
	f := in.RawObject("fields")
	if err := in.Err(); err != nil {
		return err
	}
	if mode := RangeMode(text(part(f, "kind"))); mode != "" {
		out.Text("mode", mode)
	}
	out.BeginList("unused")
	for _, name := range Unused(f) {
		out.TextItem(name)
	}
	out.EndList()
	if name, code, most := outOfBounds(f); name != "" {
		out.BeginObject("wrong")
		out.Text("field", name)
		out.Text("code", code)
		out.Whole("most", most)
		out.End()
	}
	return nil
}

// writeBears writes the limits of an instrument, in its own unit, in the form of the calculation
// plan.
func writeBears(out *document.Writer, f *document.Value) {
	p, r := part(f, "particulars"), part(f, "range")
	scale := func() {
		out.Text("unit", text(part(r, "unit")))
		if mode := text(part(r, "mode")); mode == "gauge" || mode == "absolute" {
			out.Text("mode", mode)
		}
	}
	out.BeginObject("bears")
	out.BeginObject("instrument")
	out.Text("low", text(part(r, "low")))
	out.Text("high", text(part(r, "high")))
	scale()
	given(out, p, []string{"max_rate", "allows_vacuum"})
	out.End()
	weakest := part(p, "weakest")
	most := part(weakest, "pressure")
	if most == nil {
		most = part(weakest, "high")
	}
	if most != nil {
		out.BeginObject("weakest")
		out.Value("pressure", most)
		out.Text("part", or(text(part(weakest, "part")), "the weakest part"))
		scale()
		out.End()
	}
	if relief := part(p, "relief"); relief != nil {
		out.BeginObject("relief")
		out.Value("pressure", relief)
		scale()
		out.End()
	}
	given(out, p, []string{"volume_m3"})
	out.End()
}
