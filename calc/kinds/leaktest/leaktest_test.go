package leaktest_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/kinds/leaktest"
	"gaugewright/calc/work"
)

var kinds = work.Kinds{leaktest.Kind()}

// system is 10 L under 400 kPa absolute, with a permissible leak in Pa·m³/s.
func system(limit string) string {
	return `"method":{"kind":"leak","temperature":"none","drift_k":0,"phases":[{"name":"pressure","pressure":"400","measure_s":100,"every_s":10,"limit_pa_m3_s":` + limit + `}]},
		"instrument":{"low":"0","high":"700","unit":"kPa","mode":"absolute","resolution":"0.0001","particulars":{"volume_m3":"0.01"}}`
}

// record falls by 1 Pa a second for 100 s, with a scatter of 0.1 Pa.
func record() string {
	var t, p []string
	for i := range 11 {
		t = append(t, strconv.Itoa(10*i))
		p = append(p, strconv.FormatFloat(400-0.01*float64(i)+0.0001*float64(i%2), 'f', 4, 64))
	}
	return `"captures":[{"step":"ready","of":"answer","value":"yes"}],"traces":[{"step":"p1","unit":"kPa","t_s":[` + strings.Join(t, ",") + `],"p":[` + strings.Join(p, ",") + `]}],"complete":true`
}

// A volume V that loses Δp in Δt leaks V Δp/Δt: the pressure change method, EN 1779:1999 (from
// memory). 0.01 m³ · 1 Pa/s = 0.01 Pa·m³/s.
func TestRate(t *testing.T) {
	for limit, want := range map[string]string{"0.011": "pass", "0.009": "fail"} {
		r := calctest.Run(t, kinds.EvaluateSheet, `{`+system(limit)+`,`+record()+`}`)
		if got := r.Text("verdict"); got != want {
			t.Errorf("limit %s: %s (%s), want %s", limit, got, r.TextOr("reason", ""), want)
		}
		phase := r.Object("leak").List("phases")[0]
		if rate := phase.Number("rate_pa_m3_s"); math.Abs(rate-0.01) > 2e-5 {
			t.Errorf("%g Pa·m³/s, want 0.01", rate)
		}
	}
}

// A phase that was never at its test pressure shows nothing about the leak there.
func TestNeverAtPressure(t *testing.T) {
	sheet := strings.Replace(`{`+system("0.011")+`,`+record()+`}`, `"pressure":"400"`, `"pressure":"650"`, 1)
	r := calctest.Run(t, kinds.EvaluateSheet, sheet)
	if got := r.Text("verdict"); got != "undecided" {
		t.Errorf("%s: %s", got, r.TextOr("reason", ""))
	}
}

// A safe plan: the energy, the cautions and the question come before the first pressure.
func TestPlanBeginsSafely(t *testing.T) {
	var ids []string
	for _, s := range calctest.Run(t, kinds.ExpandMethod, `{`+system("0.011")+`}`).List("steps") {
		ids = append(ids, s.Text("id"))
	}
	if got := strings.Join(ids, " "); !strings.HasPrefix(got, "energy cautions ready p1.set") ||
		!strings.HasSuffix(got, "p1.vent") {
		t.Error(got)
	}
}

// An impossible air pressure is refused before it is kept; the reading of a run is not.
func TestDoubts(t *testing.T) {
	kind := leaktest.Kind()
	for _, tt := range []struct {
		step, of string
		x        float64
		want     int
	}{{"p1.t0", "answer", 21, 0}, {"p1.t0", "answer", 2100, 1}, {"p1", "indicated", 400, 0}, {"p1", "indicated", 4, 1}} {
		got, err := kind.Doubts(
			calctest.Open(t, `{`+system("0.011")+`}`),
			&work.Entry{Step: tt.step, Of: tt.of, X: tt.x, Number: true, Unit: "kPa"}, nil,
		)
		if err != nil || len(got) != tt.want {
			t.Errorf("%s %g: %+v, %v", tt.step, tt.x, got, err)
		}
	}
}

// A reading with a slipped decimal point is questioned in any typed unit, and the suggestion is in
// that unit. 1 psi is 6.894757 kPa.
func TestDoubtInAnotherUnit(t *testing.T) {
	kind := leaktest.Kind()
	before := work.Entry{Step: "p1", Of: "indicated", X: 400, Text: "400.0", Number: true, Unit: "kPa"}
	for _, tt := range []struct {
		text, unit, suggest string
		want                int
	}{
		{"58.01", "psi", "", 0}, {"5.801", "psi", "58.01", 1}, {"400.1", "kPa", "", 0}, {"40.01", "kPa", "400.1", 1},
		{"58.01", "kPa", "", 1},
	} {
		x, _ := strconv.ParseFloat(tt.text, 64)
		got, err := kind.Doubts(
			calctest.Open(t, `{`+system("0.011")+`}`),
			&work.Entry{Step: "p1", Of: "indicated", X: x, Text: tt.text, Number: true, Unit: tt.unit}, []work.Entry{before},
		)
		if err != nil || len(got) != tt.want {
			t.Errorf("%s %s: %+v, %v", tt.text, tt.unit, got, err)
		} else if len(got) > 0 && got[0].Suggest != tt.suggest {
			t.Errorf("%s %s: offers %q, wanted %q", tt.text, tt.unit, got[0].Suggest, tt.suggest)
		}
	}
}

// The last digit of a typed reading counts in its own unit: readings to 0.1 psi (0.69 kPa) are
// coarse where 0.1 kPa is not.
func TestStepOfAnotherUnit(t *testing.T) {
	coarse := func(unit string, readings ...string) bool {
		var captures []string
		for i, x := range readings {
			captures = append(captures, `{"step":"p1","of":"indicated","value":"`+x+`","unit":"`+unit+
				`","at":"2026-03-04T08:0`+strconv.Itoa(i)+`:00.000Z"}`)
		}
		sheet := `{` + system("0.4") + `,"captures":[` + strings.Join(captures, ",") + `],"complete":true}`
		sheet = strings.Replace(sheet, `"measure_s":100,"every_s":10`, `"measure_s":120,"every_s":60`, 1)
		r := calctest.Run(t, kinds.EvaluateSheet, sheet)
		for _, w := range r.List("warnings") {
			if w.Text("code") == "coarse" {
				return true
			}
		}
		return false
	}
	if coarse("kPa", "400.0", "399.0", "398.0") {
		t.Error("0.1 kPa of the 4.8 kPa allowed is called coarse")
	}
	if !coarse("psi", "58.0", "57.9", "57.7") {
		t.Error("0.1 psi, 0.69 kPa, of the 4.8 kPa allowed is not called coarse")
	}
}
