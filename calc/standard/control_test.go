package standard_test

import (
	"math"
	"slices"
	"testing"

	"gaugewright/calc/standard"
)

// The flow rates and limits are the worked example of the NIST/SEMATECH e-Handbook of Statistical
// Methods, 6.3.2.2 "Individuals Control Charts": centre 50.81, upper 55.8041, lower 45.8159. The
// numbers are from memory; the printed limits have four decimals.
func TestControlOfThePublishedExample(t *testing.T) {
	x := []float64{49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1}
	c, ok := standard.Control(x, len(x))
	if !ok {
		t.Fatal("no chart")
	}
	for _, pair := range [][2]float64{{c.Centre, 50.81}, {c.High, 55.8041}, {c.Low, 45.8159}} {
		if math.Abs(pair[0]-pair[1]) > 5e-5 {
			t.Errorf("%v, want %v", pair[0], pair[1])
		}
	}
	if slices.Contains(c.Out, true) || slices.Contains(c.Run, true) {
		t.Errorf("%+v", c)
	}
}

// By hand: the first six values make centre 0 and, with moves of 2, limits ± 3 × 2 / 1.128 = ± 5.319.
func TestControlJudgesLaterValues(t *testing.T) {
	x := []float64{1, -1, 1, -1, 1, -1, 5.3, 5.4, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0}
	c, ok := standard.Control(x, 6)
	if !ok || c.Centre != 0 || math.Abs(c.High-5.31915) > 1e-5 {
		t.Fatalf("%v %+v", ok, c)
	}
	for i := range x {
		if out := i == 7; c.Out[i] != out {
			t.Errorf("value %d out: %v", i, c.Out[i])
		}
		// From 5.3 on all lie above the centre line: the eighth is the one before the last.
		if run := i == 13; c.Run[i] != run {
			t.Errorf("value %d ends a run: %v", i, c.Run[i])
		}
	}
	for _, base := range []int{5, 16} {
		if _, ok := standard.Control(x, base); ok {
			t.Errorf("limits of %d values", base)
		}
	}
}

// By hand: at 5 the certificate says +0.002 with U 0.003; the check found 0.007 with U 0.004:
// En = 0.005 / 0.005 = 1.
func TestAgreement(t *testing.T) {
	s := standard.Standard{
		Ranges: []standard.Range{{Low: 0, High: 10, Absolute: 1e-12, K: 2}},
		Points: []standard.Point{{Applied: 5, Error: 0.002, Expanded: 0.003, K: 2}},
	}
	expected, own, en, ok := s.Agreement(5, 0.007, 0.004)
	if !ok || math.Abs(expected-0.002) > 1e-9 || math.Abs(own-0.003) > 1e-9 || math.Abs(en-1) > 1e-6 {
		t.Errorf("%v %v %v %v", expected, own, en, ok)
	}
	if _, _, _, ok := s.Agreement(11, 0, 0); ok {
		t.Error("a check outside the range agreed")
	}
}
