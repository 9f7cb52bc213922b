package gauge

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// The rules that give a limit.
const (
	ruleEN837 = "en837"
	ruleB40   = "b40.100"
	ruleGB    = "gb1226"
	ruleTerms = "terms"
)

// Limit is a rule that gives the permissible error at a point: in pressure, or for a transmitter in
// its output.
type Limit struct {
	rule     string
	class    string // class of EN 837-1 or GB/T 1226, or grade of ASME B40.100
	stopPin  bool
	from     numeric.Exact    // with a stop pin: where the class begins to apply
	edges    [2]numeric.Exact // where the middle zone begins and ends
	zones    [3]numeric.Exact // lower, middle, upper
	reading  numeric.Exact    // as a fraction of what is read
	low      numeric.Exact
	span     numeric.Exact // fraction of the scale on which errors are counted
	pressure numeric.Exact // span of pressure that the zones are parts of
}

// Classes are the accuracy classes of EN 837-1 (1996), table 11, best first; the permissible error
// is ± the class in per cent of the span.
var Classes = []string{"0.1", "0.25", "0.6", "1", "1.6", "2.5", "4"}

// zoned is a class or grade with the permissible error in per cent of span for its three zones, and
// what tapping may change.
type zoned struct{ Name, Lower, Middle, Upper, Tapping string }

// Grades are those of ASME B40.100, best first, with the permissible error in per cent of span for
// the lower quarter, the middle half and the upper quarter (scheme published, restated; figures
// from memory), and what light tapping may change (from memory); grade 4A must hold before and
// after tapping.
var Grades = []zoned{
	{"4A", "0.1", "0.1", "0.1", ""}, {"3A", "0.25", "0.25", "0.25", "0.25"}, {"2A", "0.5", "0.5", "0.5", "0.5"}, {"1A", "1", "1", "1", "1"},
	{"A", "2", "1", "2", "1"}, {"B", "3", "2", "3", "2"}, {"C", "4", "3", "4", "3"}, {"D", "5", "5", "5", "4"},
}

// ChineseClasses are those of GB/T 1226-2001 with JJG 52-1999 (published, restated): from 90 % of
// the range on the next class's error is allowed; tapping may change half the permissible error.
var ChineseClasses = []zoned{
	{"1", "1", "1", "1.6", "0.5"}, {"1.6", "1.6", "1.6", "2.5", "0.8"}, {"2.5", "2.5", "2.5", "4", "1.25"},
	{"4", "4", "4", "4", "2"},
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
	v, ok := in.Raw(name)
	if ok && (v.Kind == document.Number || v.Kind == document.String) && document.IsDecimal(v.Text) {
		if x, good := numeric.ParseExact(v.Text); good {
			return x
		}
		in.Fail(document.CodeRange, name, "the number is too long or its exponent too large")
		return numeric.ExactInt(0)
	}
	in.Decimal(name) // says what is wrong with it
	return numeric.ExactInt(0)
}

func optionalExact(in *document.Reader, name string) (numeric.Exact, bool) {
	if _, ok := in.Raw(name); !ok {
		return numeric.ExactInt(0), false
	}
	return readExact(in, name), true
}

func named(in *document.Reader, field string, list []zoned) string {
	said := ""
	if v, ok := in.Raw(field); ok && (v.Kind == document.String || v.Kind == document.Number) {
		said = v.Text
	}
	for _, z := range list {
		if z.Name == said {
			return said
		}
		a, ok1 := numeric.ParseExact(z.Name)
		b, ok2 := numeric.ParseExact(said)
		if ok1 && ok2 && a.Cmp(b) == 0 {
			return z.Name
		}
	}
	names := ""
	for i, z := range list {
		if i > 0 {
			names += ", "
		}
		names += z.Name
	}
	in.Fail(document.CodeRange, field, "is not one of this rule's ("+names+"); use the rule terms for another limit")
	return ""
}

func europeans() []zoned {
	list := make([]zoned, len(Classes))
	for i, c := range Classes {
		list[i] = zoned{c, c, c, c, ""}
	}
	return list
}

func (l *Limit) table() []zoned {
	switch l.rule {
	case ruleEN837:
		return europeans()
	case ruleB40:
		return Grades
	case ruleGB:
		return ChineseClasses
	}
	return nil
}

// zoneEdges are where the middle zone of a rule begins and ends, in per cent of the span.
func zoneEdges(rule string) [2]int {
	if rule == ruleGB {
		return [2]int{0, 90}
	}
	return [2]int{25, 75}
}

// Steps returns the pressures at which the permissible error of a rule changes at once, within the
// range from low to high: at a quarter and three quarters of the span for a grade of ASME B40.100, at
// 90 % for a class of GB/T 1226, nowhere for other rules.
func Steps(rule string, low, high float64) (list []float64) {
	if rule != ruleB40 && rule != ruleGB {
		return nil
	}
	for _, e := range zoneEdges(rule) {
		if e > 0 {
			list = append(list, low+float64((high-low)*float64(e)/100))
		}
	}
	return list
}

// take fills in the limits of the three zones of a class or grade.
func (l *Limit) take(z *zoned) {
	l.class = z.Name
	for i, s := range []string{z.Lower, z.Middle, z.Upper} {
		l.zones[i] = percent(exact(s).Mul(l.span))
	}
	l.from = l.low.Add(percent(numeric.ExactInt(10).Mul(l.pressure)))
	for i, e := range zoneEdges(l.rule) {
		l.edges[i] = l.low.Add(percent(numeric.ExactInt(e).Mul(l.pressure)))
	}
}

// ReadLimit reads a rule from a document's object, for an instrument from low to high. A
// transmitter counts errors on its output.
//
//	{rule: "en837", class, stop_pin?} | {rule: "b40.100", grade} | {rule: "gb1226", class} | {rule: "terms", of_span_percent?, of_reading_percent?, absolute?}
func ReadLimit(in *document.Reader, low, high numeric.Exact, output *Output) Limit {
	l := Limit{rule: in.Choice("rule", ruleEN837, ruleB40, ruleGB, ruleTerms), low: low, pressure: high.Sub(low)}
	l.span = l.pressure
	if output != nil {
		l.span = output.High.Sub(output.Low)
	}
	field := "class"
	switch l.rule {
	case ruleEN837:
		l.stopPin = in.Flag("stop_pin", false)
	case ruleB40:
		field = "grade"
	case ruleTerms:
		span, any1 := optionalExact(in, "of_span_percent")
		reading, any2 := optionalExact(in, "of_reading_percent")
		absolute, any3 := optionalExact(in, "absolute")
		if in.Err() == nil && !any1 && !any2 && !any3 {
			in.Fail(document.CodeMissing, "absolute", "at least one term is needed")
		}
		if in.Err() == nil && (span.Sign() < 0 || reading.Sign() < 0 || absolute.Sign() < 0) {
			in.Fail(document.CodeRange, "absolute", "a term of a limit must not be below zero")
		}
		if output != nil && absolute.Sign() > 0 {
			if output.SquareRoot {
				in.Fail(document.CodeConflict, "absolute", "with a square-root output a limit in pressure is another one at each point; give it in per cent of span")
			}
			part, _ := absolute.Mul(l.span).Div(l.pressure)
			absolute = part
		}
		l.reading = percent(reading)
		at := percent(span).Mul(l.span).Add(absolute)
		l.zones = [3]numeric.Exact{at, at, at}
		return l
	}
	name := named(in, field, l.table())
	for _, z := range l.table() {
		if z.Name == name {
			l.take(&z)
		}
	}
	return l
}

// At returns the permissible error.
//
// Takes:   the nominal point, which chooses the zone, and the reading that an "of reading" limit is
// a fraction of; exact.
// Gives:   the limit as an exact fraction; false if the rule gives none: below 10 % of the range
// with a stop pin at zero (EN 837-1, from memory).
// Source:  EN 837-1:1996 table 11; ASME B40.100 zones, the boundaries at 25 % and 75 % belonging to
// the middle half (the tighter choice); GB/T 1226-2001 and JJG 52-1999, 90 % belonging to the upper
// zone.
func (l *Limit) At(point, read numeric.Exact) (numeric.Exact, bool) {
	zone, judged := l.zone(point)
	if !judged {
		return numeric.ExactInt(0), false
	}
	if l.reading.Sign() != 0 {
		return l.zones[zone].Add(l.reading.Mul(read.Abs())), true
	}
	return l.zones[zone], true
}

func (l *Limit) zone(point numeric.Exact) (zone int, judged bool) {
	switch l.rule {
	case ruleEN837:
		return 1, !l.stopPin || point.Cmp(l.from) >= 0
	case ruleB40:
		if point.Cmp(l.edges[0]) < 0 {
			return 0, true
		}
		if point.Cmp(l.edges[1]) > 0 {
			return 2, true
		}
	case ruleGB:
		if point.Cmp(l.edges[1]) >= 0 {
			return 2, true
		}
	}
	return 1, true
}

// tapping returns by how much tapping may change a reading, if the rule says so (from memory for
// ASME B40.100; JJG 52-1999, published, restated).
func (l *Limit) tapping() (numeric.Exact, bool) {
	if l.rule == ruleB40 || l.rule == ruleGB {
		for _, z := range l.table() {
			if z.Name == l.class && z.Tapping != "" {
				return percent(exact(z.Tapping).Mul(l.span)), true
			}
		}
	}
	return numeric.ExactInt(0), false
}

// leastPoints returns how many test points EN 837-1 asks for (from memory): ten for the classes 0.1
// to 0.6, else five.
func (l *Limit) leastPoints() int {
	if l.rule != ruleEN837 {
		return 0
	}
	if exact(l.class).Cmp(exact("0.6")) <= 0 {
		return 10
	}
	return 5
}

// ReferenceTemperature returns the temperature at which the rule's limits apply, in °C: 23 for ASME
// B40.100 (published, restated), else 20.
func (l *Limit) ReferenceTemperature() float64 {
	if l.rule == ruleB40 {
		return 23
	}
	return 20
}
