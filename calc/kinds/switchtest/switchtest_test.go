package switchtest_test

import (
	"math"
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/kinds/switchtest"
	"gaugewright/calc/work"
)

var kinds = work.Kinds{switchtest.Kind()}

const pressureSwitch = `"method":{"kind":"switch","cycles":2},"instrument":{"low":"0","high":"4","unit":"bar","mode":"gauge","resolution":"0.001",
	"particulars":{"contacts":[{"name":"K1","acts":"rising","nominal":"2","tolerance":"0.02","dead_band":{"low":"0.05","high":"0.3"}}]}}`

func sheet(second string) string {
	return `{` + pressureSwitch + `,"complete":true,"captures":[{"step":"ready","of":"answer","value":"yes"},
		{"step":"c1.k1.set","of":"applied","value":"2.01","unit":"bar"},{"step":"c1.k1.reset","of":"applied","value":"1.85","unit":"bar"},
		{"step":"c2.k1.set","of":"applied","value":"` + second + `","unit":"bar"},{"step":"c2.k1.reset","of":"applied","value":"1.84","unit":"bar"}]}`
}

// The dead band is set point less reset point; the verdict is that of the worst cycle. Common
// practice (as in IEC 60947-5-9's differential travel; from memory).
func TestSetPointAndDeadBand(t *testing.T) {
	for second, want := range map[string]string{"2.02": "pass", "2.021": "fail"} {
		r := calctest.Run(t, kinds.EvaluateSheet, sheet(second))
		if got := r.Text("verdict"); got != want {
			t.Errorf("%s bar: %s (%s), want %s", second, got, r.TextOr("reason", ""), want)
		}
	}
	contact := calctest.Run(t, kinds.EvaluateSheet, sheet("2.02")).Object("switch").List("contacts")[0]
	cycles := contact.List("cycles")
	for i, want := range []float64{0.16, 0.18} {
		if band := cycles[i].Number("dead_band"); math.Abs(band-want) > 1e-12 {
			t.Errorf("cycle %d: dead band %g bar, want %g", i+1, band, want)
		}
	}
}

// Ramps of 1 % of the set point a second in a window of 10 % about it: MIL-DTL-28788C 4.7.4.1.
func TestRampIsSlow(t *testing.T) {
	ramps := 0
	for _, s := range calctest.Run(t, kinds.ExpandMethod, `{`+pressureSwitch+`}`).List("steps") {
		if s.Text("do") == "ramp" {
			ramps++
			if rate := s.Text("rate"); rate != "0.02" {
				t.Errorf("%s: %s bar/s, want 0.02", s.Text("id"), rate)
			}
		}
	}
	if ramps != 4 {
		t.Errorf("%d ramps in two cycles of one contact", ramps)
	}
}

// A failure of a safety function cannot be repeated away.
func TestSafetyFunctionIsNotRepeated(t *testing.T) {
	doc := strings.Replace(
		`{`+pressureSwitch+`,"label":"repeat"}`, `"name":"K1"`, `"name":"K1","safety_function":true`, 1,
	)
	if _, err := calctest.Try(kinds.ExpandMethod, doc); err == nil ||
		!strings.Contains(err.Error(), "safety function") {
		t.Errorf("a safety function may be repeated: %v", err)
	}
}
