package conformity_test

import (
	"math"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/conformity"
)

// The borders of the guarded rules lie at the limit less the guard band, at the limit, and at the
// limit plus the guard band: ILAC-G8:09/2019, 4.2. That of 95 % by a normal distribution is at the
// limit less 1.6449 u, for a limit that is far away on the other side (JCGM 106:2012, 8.3.3). With
// U = 0.25 and k = 2, u = 0.125.
func TestBorders(t *testing.T) {
	type border struct {
		verdict string
		to      float64
	}
	for rule, want := range map[string][]border{
		`"rule":"simple"`:                             {{"pass", 1}, {"fail", 1.6}},
		`"rule":"guarded"`:                            {{"pass", 0.75}, {"fail", 1.6}},
		`"rule":"guarded-four"`:                       {{"pass", 0.75}, {"conditional-pass", 1}, {"conditional-fail", 1.25}, {"fail", 1.6}},
		`"rule":"probability","min_probability":0.95`: {{"pass", 1 - 1.644853627*0.125}, {"fail", 1.6}},
	} {
		r := calctest.Run(
			t, conformity.Calculations()[0].Call,
			`{"value":"0","until":"1.6","low":"-1","high":"1","u":"0.125",`+rule+`}`,
		)
		got := r.List("stretches")
		if len(got) != len(want) {
			t.Fatalf("%s: %d stretches, want %d", rule, len(got), len(want))
		}
		from := 0.0
		for i, s := range got {
			if s.Text("verdict") != want[i].verdict || s.Number("from") != from ||
				math.Abs(s.Number("to")-want[i].to) > 1e-8 {
				t.Errorf("%s: %s from %g to %.10g, want %s to %.10g",
					rule, s.Text("verdict"), s.Number("from"), s.Number("to"), want[i].verdict, want[i].to)
			}
			from = s.Number("to")
		}
	}
}

// The course begins at the value and ends at until; far inside the limits conformity is certain, on
// a limit it is one half.
func TestCourse(t *testing.T) {
	r := calctest.Run(t, conformity.Calculations()[0].Call,
		`{"value":"0","until":"1.6","low":"-1","high":"1","u":"0.125","rule":"simple"}`)
	all := r.List("course")
	if len(all) != 81 || all[0].Number("value") != 0 || all[80].Number("value") != 1.6 {
		t.Fatalf("%d values", len(all))
	}
	for _, p := range all {
		x, got := p.Number("value"), p.Number("probability")
		if want := 0.5 * math.Erfc((x-1)/(0.125*math.Sqrt2)); math.Abs(got-want) > 1e-9 {
			t.Errorf("at %g: %g, want %g", x, got, want)
		}
	}
	if _, err := calctest.Try(conformity.Calculations()[0].Call,
		`{"value":"1","until":"1","high":"1","u":"0.1","rule":"simple"}`); err == nil {
		t.Error("a course of no length")
	}
}
