package pitotstatic_test

import (
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/kinds/pitotstatic"
	"gaugewright/calc/work"
)

const altimeter = `"method":{"kind":"altimeter","pitot":"none","tests":["scale"],"scale":[{"ft":"0"},{"ft":"20000"}],"limits_read":{"clause":"table I","by":"A. Reader"}},
	"instrument":{"low":"-1000","high":"20000","unit":"ft","mode":"absolute","particulars":{"max_rate_ft_min":5000,"field_elevation_ft":0}}`

// At 20 000 ft the scale may be off by 130 ft: 14 CFR Part 43 Appendix E, Table I.
func TestScaleLimits(t *testing.T) {
	kinds := work.Kinds(pitotstatic.Kinds())
	found := false
	for _, s := range calctest.Run(t, kinds.ExpandMethod, `{`+altimeter+`}`).List("steps") {
		if s.Text("id") != "scale.20000" {
			continue
		}
		found = true
		if low, high := s.Text("low"), s.Text("high"); low != "19870" || high != "20130" {
			t.Errorf("the plan allows %s to %s ft", low, high)
		}
	}
	if !found {
		t.Fatal("the plan does not read at 20000 ft")
	}
	for reading, want := range map[string]string{"20130": "pass", "20131": "fail", "19870": "pass", "19869": "fail"} {
		r := calctest.Run(t, kinds.EvaluateSheet, `{`+altimeter+`,"complete":true,"captures":[
			{"step":"ready.lines","of":"answer","value":"yes"},{"step":"field","of":"answer","value":"1013.2"},
			{"step":"scale.0","of":"indicated","value":"0","unit":"ft"},{"step":"scale.20000","of":"indicated","value":"`+reading+`","unit":"ft"},
			{"step":"end.static","of":"answer","value":"1013.2"},{"step":"end.restored","of":"answer","value":"yes"}]}`)
		if got := r.Text("verdict"); got != want {
			t.Errorf("%s ft: %s (%s), want %s", reading, got, r.TextOr("reason", ""), want)
		}
	}
}

// Pitot below static can damage an airspeed indicator: no plan leads there.
func TestPitotStaysAboveStatic(t *testing.T) {
	kinds := work.Kinds(pitotstatic.Kinds())
	_, err := calctest.Try(kinds.ExpandMethod, `{"method":{"kind":"airspeed","points":[{"kt":"-10","tolerance_kt":"2"}]},
		"instrument":{"low":"-20","high":"250","unit":"kt","mode":"differential"}}`)
	if err == nil {
		t.Error("a plan leads to -10 kt")
	}
}
