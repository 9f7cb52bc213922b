package calc_test

import (
	"fmt"
	"math"
	"testing"

	"gaugewright/calc/leak"
)

// TestReadingsOfOnePointTogether: ±0.1 with u = 0.01 and k = 2, four readings at one point. Of the
// normal distribution q(1 − 0.02275/4) = 2.530, q(1 − 0.02275·2/4) = 2.277, q(1 − 0.02275·3/4) =
// 2.121 and 2 (scipy.stats.norm): one of four readings at 2.4 u beyond does not fail, two do; one
// at 2.6 u fails, and so do four at 2.05 u.
func TestReadingsOfOnePointTogether(t *testing.T) {
	for _, c := range []struct {
		beyond []float64 // beyond the limit, in u
		want   string
	}{
		{[]float64{2.4, 0, 0, 0}, "conditional-fail"},
		{[]float64{2.6, 0, 0, 0}, "fail"},
		{[]float64{2.4, 2.4, 0, 0}, "fail"},
		{[]float64{2.2, 2.2, 0, 0}, "conditional-fail"},
		{[]float64{2.2, 2.2, 2.2, 0}, "fail"},
		{[]float64{2.05, 2.05, 2.05, 1.9}, "conditional-fail"},
		{[]float64{2.05, 2.05, 2.05, 2.05}, "fail"},
		{[]float64{2.2}, "fail"},
		{[]float64{2.4, -22.4, 0, 0}, "conditional-fail"}, // one on each side is not two on one side
	} {
		var readings []doc
		for _, x := range c.beyond {
			readings = append(readings, doc{
				"series": "1", "direction": "up", "point": "5", // repeated readings: no spread enters U
				"indicated": fmt.Sprintf("%.6f", 5.1+0.01*x),
			})
		}
		in := doc{
			"unit": "bar", "low": 0, "high": 10, "limit": doc{"rule": "terms", "absolute": "0.1"},
			"standard": doc{"u": "0.01"}, "decision": doc{"rule": "guarded-four"}, "readings": readings,
		}
		out := call(t, "gauge", in)
		if out["error"] != nil {
			t.Fatal(out["error"])
		}
		p := out["points"].([]any)[0].(doc)
		if p["verdict"] != c.want {
			t.Errorf("%v: %v (U %v), want %s", c.beyond, p["verdict"], p["expanded"], c.want)
		}
	}
}

// TestThreeReadings: evenly spaced, the widest φ (0.98) has √(3·1.98/2.02) = 1.7148 times the
// standard error of the plain line, and t(1 − 1.5·0.02275; 1) = tan(π(0.5 − 0.034125)) = 9.2925.
func TestThreeReadings(t *testing.T) {
	x := leak.Test{
		Volume: 1e-3, ReferenceK: 293.15, T: []float64{0, 10, 20}, P: []float64{6e5, 6e5 - 3, 6e5 - 4},
		Absolute: []float64{6e5, 6e5 - 3, 6e5 - 4},
	}
	f, err := leak.Evaluate(x)
	if err != nil {
		t.Fatal(err)
	}
	want := 1.7148 * math.Tan(math.Pi*(0.5-1.5*0.0227501319)) * f.RateSE
	if math.Abs(f.Expanded/want-1) > 1e-4 {
		t.Errorf("U is %g, want %g", f.Expanded, want)
	}
}
