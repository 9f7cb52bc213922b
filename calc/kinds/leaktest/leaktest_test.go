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

// A phase that was never at its test pressure says nothing of the leak there.
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

// A barometer of no place is refused before it is kept; the reading of a run is not.
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
