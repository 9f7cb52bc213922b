package register

import (
	"regexp"
	"slices"
	"strings"

	"gaugewright/calc/units"
	"gaugewright/calc/visit"
)

func (row *Row) readRange(kind string, mark byte) {
	low, high, unit := row.text["low"], row.text["high"], row.text["unit"]
	if text := row.text["range"]; text != "" {
		l, h, u, err := cutRange(text)
		if err != nil {
			row.wrong("range", "%v", err)
			return
		}
		if low == "" {
			low = l
		}
		if high == "" {
			high = h
		}
		if u != "" && row.given["unit"] {
			unit = "" // it was meant for rows without one
		}
		if u != "" && unit != "" && u != unit {
			row.wrong("unit", "the range has the unit %q and the unit's own column %q", u, unit)
			return
		}
		if unit == "" {
			unit = u
		}
	}
	for _, end := range []*string{&low, &high} { // "16 bar" in the column of an end
		if m := oneEnd.FindStringSubmatch(*end); m != nil && (unit == "" || strings.TrimSpace(m[2]) == unit) {
			*end, unit = m[1], strings.TrimSpace(m[2])
		}
	}
	if low == "" {
		low = "0"
	}
	if high == "" || unit == "" {
		field := "unit"
		if high == "" {
			field = "high"
		}
		row.bad(Missing, field, "has no whole range: from %q to %q, unit %q", low, high, unit)
		return
	}
	if visit.RangeMode(kind) != "" {
		row.airRange(kind, low, high, unit, mark)
		return
	}
	name, mode, err := unitOf(unit)
	if err != nil {
		row.wrong(row.unitField(), "%v", err)
		return
	}
	switch said := strings.ToLower(row.text["mode"]); said {
	case "":
	case "gauge", "gage", "g", "relative", "überdruck", "relativ", "compound", "vacuum":
		mode = agree(row, mode, "gauge")
	case "absolute", "abs", "a", "absolut", "absolutdruck":
		mode = agree(row, mode, "absolute")
	case "differential", "diff", "d", "differenzdruck":
		mode = agree(row, mode, "differential")
	default:
		row.wrong("mode", "the mode %q is not gauge, absolute or differential", said)
	}
	if mode == "" {
		mode = "gauge"
	}
	lo, hi, ok := row.ends(low, high, mark)
	if !ok {
		return
	}
	u, _ := units.Find(name)
	if order, ok := units.Compare(lo, u, hi, u); !ok || order >= 0 {
		row.wrong(row.endField("high"), "the range's upper end %s is not above %s", hi, lo)
		return
	}
	row.put("range", map[string]string{"low": lo, "high": hi, "unit": name, "mode": mode})
}

// ends reads the two ends of a range.
func (row *Row) ends(low, high string, mark byte) (lo, hi string, ok bool) {
	lo, err := number(low, mark)
	if err != nil {
		row.wrong(row.endField("low"), "%v", err)
		return "", "", false
	}
	if hi, err = number(high, mark); err != nil {
		row.wrong(row.endField("high"), "%v", err)
		return "", "", false
	}
	return lo, hi, true
}

// endField is the field that gave an end of the range, and unitField the one that gave its unit.
func (row *Row) endField(end string) string {
	if row.text[end] == "" && row.text["range"] != "" {
		return "range"
	}
	return end
}

func (row *Row) unitField() string {
	if row.text["unit"] == "" && row.text["range"] != "" {
		return "range"
	}
	return "unit"
}

func agree(row *Row, unit, column string) string {
	if unit != "" && unit != column {
		row.wrong("mode", "the unit says %s, the mode's column %s", unit, column)
	}
	return column
}

var (
	classes   = []string{"0.1", "0.25", "0.6", "1", "1.6", "2.5", "4"} // EN 837-1:1996, table 11
	grades    = []string{"4A", "3A", "2A", "1A", "A", "B", "C", "D"}   // ASME B40.100, from memory
	classWord = regexp.MustCompile(`(?i)^(?:classe|class|clase|klasse|cl\.?|kl\.?|en ?837(?:-1)?)\s*`)
	gradeWord = regexp.MustCompile(`(?i)^(?:grade|gr\.?|b40\.100)\s*`)
	// percentForm matches a limit marked as a percentage.
	percentForm = regexp.MustCompile(`^[±+/ -]*(\d[\d.,]*)\s*%`)
	yes         = []string{"yes", "y", "ja", "oui", "x", "1", "true", "with"}
)

// readLimit reads the limit from the first non-empty cell of class, grade and per cent of span. The
// column of per cent may hold any of the three.
func (row *Row) readLimit(kind string, mark byte) {
	stop := slices.Contains(yes, strings.ToLower(row.text["stop_pin"]))
	class, grade, percent := row.text["class"], row.text["grade"], strings.TrimLeft(row.text["percent"], "±+-/ ")
	if row.given["class"] && (grade != "" || percent != "") {
		class = "" // it was meant for rows without a limit
	}
	if row.given["percent"] && (grade != "" || class != "") {
		percent = ""
	}
	switch {
	case class != "" || grade != "":
	case classWord.MatchString(percent):
		class, percent = percent, ""
	case gradeWord.MatchString(percent), slices.Contains(grades, strings.ToUpper(percent)):
		grade, percent = percent, ""
	}
	if m := percentForm.FindStringSubmatch(class); m != nil && percent == "" {
		class, percent = "", m[1]+"%" // a per cent of span in the class column
	}
	if class != "" && slices.Contains(grades, strings.ToUpper(gradeWord.ReplaceAllString(class, ""))) {
		class, grade = "", class // a grade in the class column
	}
	switch {
	case class != "" && grade != "":
		row.bad(Unread, "class", "has a class, %q, and a grade, %q", class, grade)
	case class != "":
		n, err := number(classWord.ReplaceAllString(class, ""), mark)
		if err != nil {
			row.wrong(row.limitField("class"), "%v", err)
		} else {
			if strings.Contains(n, ".") {
				n = strings.TrimSuffix(strings.TrimRight(n, "0"), ".")
			}
			if !slices.Contains(classes, n) {
				row.wrong(
					row.limitField("class"),
					"the class %s is not one of %s; a limit of another kind goes into a column %q", n,
					strings.Join(classes, " "), "percent",
				)
			}
		}
		limit := map[string]any{"rule": "en837", "class": n}
		if stop {
			limit["stop_pin"] = true
		}
		row.put("limit", limit)
	case grade != "":
		g := strings.ToUpper(gradeWord.ReplaceAllString(grade, ""))
		if !slices.Contains(grades, g) {
			row.wrong(row.limitField("grade"), "the grade %q is not one of %s", grade, strings.Join(grades, " "))
		}
		row.put("limit", map[string]any{"rule": "b40.100", "grade": g})
	case percent != "":
		text := strings.TrimSpace(percent)
		field := "percent"
		if row.text[field] == "" {
			field = "class"
		}
		for _, ending := range []string{"of span", "span", "fs", "f.s.", "of fs", "v.e."} {
			if len(text) > len(ending) && strings.HasSuffix(strings.ToLower(text), ending) {
				text = strings.TrimSpace(text[:len(text)-len(ending)])
			}
		}
		n, err := number(strings.TrimSpace(strings.TrimSuffix(text, "%")), mark)
		if err != nil {
			row.wrong(field, "%v", err)
		} else if strings.Trim(n, "0.") == "" {
			row.wrong(field, "the limit is zero")
		}
		row.put("limit", map[string]any{"rule": "terms", "of_span_percent": n})
	case kind == "gauge":
		row.bad(Missing, "class", "has no limit: a class, a grade or a percentage of span")
	}
}

// limitField is the field that gave a class or a grade.
func (row *Row) limitField(field string) string {
	for _, f := range []string{field, "class", "percent"} {
		if row.text[f] != "" {
			return f
		}
	}
	return field
}
