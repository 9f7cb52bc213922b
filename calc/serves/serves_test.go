package serves_test

import (
	"math"
	"testing"

	"gaugewright/calc/calctest"
	"gaugewright/calc/document"
	"gaugewright/calc/serves"
	"gaugewright/calc/work"
)

// kinds has one kind that asks for 10 bar, with a limit of 0.04 bar.
func kinds() work.Kinds {
	return work.Kinds{{Name: "plain", Expand: func(in *document.Reader, p *work.Plan) error {
		work.Skim(in.Object("method"))
		work.Skim(in.Object("instrument"))
		p.Step(work.Step{ID: "at", Do: "read", Target: "10", Unit: "bar", Figures: &work.Figures{About: 10, Off: 0.04}})
		return in.Err()
	}}}
}

// The ratio is the limit over the expanded uncertainty (k = 2); 4:1 is required if a method states
// none: common practice, no source.
func TestServes(t *testing.T) {
	for name, tt := range map[string]struct {
		rng, code string
		ratio     float64
	}{
		"just enough": {`{"low":"0","high":"20","unit":"bar","mode":"gauge","absolute":"0.01","k":"2"}`, "", 4},
		"too coarse":  {`{"low":"0","high":"20","unit":"bar","mode":"gauge","absolute":"0.0125","k":"2"}`, "ratio", 3.2},
		"in another unit": {
			`{"low":"0","high":"2000","unit":"kPa","mode":"gauge","absolute":"1","k":"2"}`, "", 4,
		}, // 1 bar = 100 kPa
		"too short":       {`{"low":"0","high":"9","unit":"bar","mode":"gauge","absolute":"0.001","k":"2"}`, "high", 0},
		"the other mode":  {`{"low":"0","high":"20","unit":"bar","mode":"absolute","absolute":"0.01","k":"2"}`, "mode", 4},
		"in knots":        {`{"low":"0","high":"250","unit":"kt","absolute":"0.5","k":"2"}`, "kind", 0},
		"of no statement": {`{"low":"0","high":"20","unit":"bar","mode":"gauge"}`, "no_specification", 0},
	} {
		r := calctest.Run(
			t, serves.Calculations(kinds())[0].Call,
			`{"method":{"kind":"plain"},"instrument":{"unit":"bar","mode":"gauge"},"range":`+tt.rng+`}`,
		)
		got := ""
		for _, o := range r.List("objections") {
			got += o.Text("code")
		}
		if got != tt.code || r.Flag("serves", false) != (tt.code == "") {
			t.Errorf("%s: objections %q, want %q", name, got, tt.code)
		}
		worst, ok := r.OptionalObject("worst")
		if ok != (tt.ratio > 0) || ok && math.Abs(worst.Number("ratio")-tt.ratio) > 1e-9 {
			t.Errorf("%s: worst ratio is there: %t; want %g", name, ok, tt.ratio)
		}
	}
}
