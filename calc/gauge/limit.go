// Package gauge turns readings at test points into errors, hysteresis, repeatability, zero return, and a verdict against the instrument's limits.
package gauge

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Limit is a rule that gives the permissible error at a point.
type Limit struct {
	rule      string
	class     string // of EN 837-1, or the grade of ASME B40.100
	stopPin   bool
	span      numeric.Exact // of rule terms, each as a fraction
	reading   numeric.Exact
	absolute  numeric.Exact
	low, high numeric.Exact // of the instrument
}

// Classes are the accuracy classes of EN 837-1 (1996), table 11, best first; the permissible error is ± the class in per cent of the span.
var Classes = []string{"0.1", "0.25", "0.6", "1", "1.6", "2.5", "4"}

// Grades are those of ASME B40.100, best first, with the permissible error in per cent of span for the lower quarter, the middle half and the
// upper quarter (scheme published, restated; figures from memory).
var Grades = []struct{ Name, Lower, Middle, Upper string }{
	{"4A", "0.1", "0.1", "0.1"}, {"3A", "0.25", "0.25", "0.25"}, {"2A", "0.5", "0.5", "0.5"}, {"1A", "1", "1", "1"},
	{"A", "2", "1", "2"}, {"B", "3", "2", "3"}, {"C", "4", "3", "4"}, {"D", "5", "5", "5"},
}

func exact(s string) numeric.Exact {
	x, _ := numeric.ParseExact(s)
	return x
}

var hundred = numeric.ExactInt(100)

func percent(x numeric.Exact) numeric.Exact {
	q, _ := x.Div(hundred)
	return q
}

func readExact(in *document.Reader, name string) numeric.Exact {
	d := in.Decimal(name)
	if in.Err() != nil {
		return numeric.ExactInt(0)
	}
	x, ok := numeric.ParseExact(d.Text)
	if !ok {
		in.Fail(document.CodeRange, name, "the number is too long or its exponent too large")
	}
	return x
}

func optionalExact(in *document.Reader, name string) (numeric.Exact, bool) {
	if !in.Has(name) {
		in.Raw(name)
		return numeric.ExactInt(0), false
	}
	return readExact(in, name), true
}

// ReadLimit takes a rule from a document's object, for an instrument from low to high.
//
//	{rule: "en837", class, stop_pin?} | {rule: "b40.100", grade} | {rule: "terms", of_span_percent?, of_reading_percent?, absolute?}
func ReadLimit(in *document.Reader, low, high numeric.Exact) Limit {
	l := Limit{rule: in.Choice("rule", "en837", "b40.100", "terms"), low: low, high: high}
	switch l.rule {
	case "en837":
		if v, ok := in.Raw("class"); ok && (v.Kind == document.String || v.Kind == document.Number) {
			l.class = v.Text
		}
		l.stopPin = in.Flag("stop_pin", false)
		known := false
		for _, c := range Classes {
			if exact(c).Cmp(exact(l.class)) == 0 {
				l.class, known = c, true
			}
		}
		if in.Err() == nil && !known {
			in.Fail(document.CodeRange, "class", "is not an accuracy class of EN 837-1 (0.1, 0.25, 0.6, 1, 1.6, 2.5, 4); use the rule terms for another limit")
		}
	case "b40.100":
		l.class = in.Text("grade")
		known := false
		for _, g := range Grades {
			known = known || g.Name == l.class
		}
		if in.Err() == nil && !known {
			in.Fail(document.CodeRange, "grade", "is not a grade of ASME B40.100 (4A, 3A, 2A, 1A, A, B, C, D)")
		}
	case "terms":
		var any [3]bool
		l.span, any[0] = optionalExact(in, "of_span_percent")
		l.reading, any[1] = optionalExact(in, "of_reading_percent")
		l.absolute, any[2] = optionalExact(in, "absolute")
		if in.Err() == nil && !any[0] && !any[1] && !any[2] {
			in.Fail(document.CodeMissing, "absolute", "at least one term is needed")
		}
		if in.Err() == nil && (l.span.Sign() < 0 || l.reading.Sign() < 0 || l.absolute.Sign() < 0) {
			in.Fail(document.CodeRange, "absolute", "a term of a limit must not be below zero")
		}
		l.span, l.reading = percent(l.span), percent(l.reading)
	}
	return l
}

// At returns the permissible error at an applied pressure.
//
// Takes:   the nominal point, which chooses the zone, and the applied pressure, of which a part may be allowed; exact, in the instrument's unit.
// Gives:   the limit as an exact fraction; false where the rule gives none: below 10 % of the range with a stop pin at zero (EN 837-1, from memory).
// Source:  EN 837-1:1996 table 11; ASME B40.100 zones, the boundaries at 25 % and 75 % belonging to the middle half (the tighter choice).
func (l *Limit) At(point, applied numeric.Exact) (numeric.Exact, bool) {
	span := l.high.Sub(l.low)
	above := point.Sub(l.low)
	switch l.rule {
	case "en837":
		if l.stopPin && above.Cmp(percent(numeric.ExactInt(10).Mul(span))) < 0 {
			return numeric.ExactInt(0), false
		}
		return percent(exact(l.class).Mul(span)), true
	case "b40.100":
		part := "middle"
		if above.Cmp(percent(numeric.ExactInt(25).Mul(span))) < 0 {
			part = "lower"
		} else if above.Cmp(percent(numeric.ExactInt(75).Mul(span))) > 0 {
			part = "upper"
		}
		for _, g := range Grades {
			if g.Name == l.class {
				return percent(exact(map[string]string{"lower": g.Lower, "middle": g.Middle, "upper": g.Upper}[part]).Mul(span)), true
			}
		}
	}
	return l.span.Mul(span).Add(l.reading.Mul(applied.Abs())).Add(l.absolute), true
}

// better returns the rules of the same kind, best first: the classes or the grades.
func (l *Limit) better() []Limit {
	var list []Limit
	switch l.rule {
	case "en837":
		for _, c := range Classes {
			list = append(list, Limit{rule: l.rule, class: c, stopPin: l.stopPin, low: l.low, high: l.high})
		}
	case "b40.100":
		for _, g := range Grades {
			list = append(list, Limit{rule: l.rule, class: g.Name, low: l.low, high: l.high})
		}
	}
	return list
}
