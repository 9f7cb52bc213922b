package bursttest_test

import (
	"math"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/kinds/bursttest"
	"gaugewright/calc/work"
)

var kinds = work.Kinds{bursttest.Kind()}

func sheet(marked, peak, burst string) string {
	return `{"method":{"kind":"burst","discs":1,"rate":"1","temperature":"none"},"complete":true,
		"instrument":{"low":"0","high":"400","unit":"psi","mode":"gauge","resolution":"0.01","particulars":{"marked":"` + marked + `"}},
		"captures":[{"step":"ready","of":"answer","value":"yes"},{"step":"d1.disc","of":"answer","value":"A-1"},{"step":"d1.shield","of":"answer","value":"yes"},
		{"step":"d1","of":"applied","value":"` + peak + `","unit":"psi"},{"step":"d1.burst","of":"answer","value":"` + burst + `"}]}`
}

// 2 psi up to and including 40 psi, 5 % above: ASME Section VIII Division 1, UG-127(a)(1).
func TestTolerance(t *testing.T) {
	for _, tt := range []struct {
		marked, peak string
		tolerance    float64
		want         string
	}{
		{"30", "32", 2, "pass"}, {"30", "32.01", 2, "fail"}, {"40", "38", 2, "pass"},
		{"200", "210", 10, "pass"}, {"200", "210.01", 10, "fail"}, {"200", "189.99", 10, "fail"},
	} {
		r := calctest.Run(t, kinds.EvaluateSheet, sheet(tt.marked, tt.peak, "yes"))
		if got := r.Text("verdict"); got != tt.want {
			t.Errorf("%s psi for %s psi: %s (%s), want %s", tt.peak, tt.marked, got, r.TextOr("reason", ""), tt.want)
		}
		if got := r.Object("burst").Number("tolerance"); math.Abs(got-tt.tolerance) > 1e-9 {
			t.Errorf("%s psi: tolerance %g psi, want %g", tt.marked, got, tt.tolerance)
		}
	}
}

func TestNoBurstIsNoVerdict(t *testing.T) {
	if r := calctest.Run(t, kinds.EvaluateSheet, sheet("30", "30", "no")); r.Text("verdict") != "undecided" {
		t.Errorf("a disc that did not burst: %s", r.Text("verdict"))
	}
}

// A disc bursts once: an identity that another disc of the visit has is refused.
func TestDiscTwice(t *testing.T) {
	doc := `{"method":{"kind":"burst","discs":2,"rate":"1"},"instrument":{"low":"0","high":"400","unit":"psi","mode":"gauge","particulars":{"marked":"30"}}}`
	kept := []work.Entry{{Step: "d1.disc", Of: "answer", Text: "a 1"}}
	for identity, want := range map[string]int{"A1": 1, "A2": 0} {
		got, err := bursttest.Kind().Doubts(
			calctest.Open(t, doc), &work.Entry{Step: "d2.disc", Of: "answer", Text: identity}, kept,
		)
		if err != nil || len(got) != want || want > 0 && got[0].Level != work.LevelRefuse {
			t.Errorf("%s: %+v, %v", identity, got, err)
		}
	}
}
