package burst_test

import (
	"math"
	"testing"

	"gaugewright/calc/burst"
)

// 2 psi up to and including 40 psi, 5 % above: ASME Section VIII Division 1, UG-127(a)(1).
func TestTolerance(t *testing.T) {
	for marked, want := range map[float64]float64{10: 2, 40: 2, 41: 2.05, 200: 10} {
		if got := burst.Tolerance(marked, 6894.757293168); math.Abs(got-want) > 1e-9 {
			t.Errorf("%g psi: ± %g psi, want ± %g", marked, got, want)
		}
	}
}

// One-sided factors for 95 % of the lot at 95 % confidence: 4.203 of five, 2.396 of twenty
// (NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.6.3; ISO 16269-6:2014, annex D; from
// memory).
func TestOneSided(t *testing.T) {
	for n, want := range map[int]float64{5: 4.203, 20: 2.396} {
		if got := burst.OneSided(n, 0.95, 0.95); math.Abs(got-want) > 5.1e-4 {
			t.Errorf("%d discs: %.4f, want %.3f", n, got, want)
		}
	}
}

// The burst is where the pressure falls by the fraction and stays down; a single sample that stands
// out is a disturbance of the sensor. Derived in Detect.
func TestDetect(t *testing.T) {
	times, p := []float64{}, []float64{}
	for i := range 40 {
		x := float64(i) * 0.1
		if i >= 30 {
			x = 0
		}
		times, p = append(times, float64(i)*0.1), append(p, x)
	}
	p[10] = 9 // a spike
	f, err := burst.Detect(times, p, burst.Detector{Drop: 0.2, Window: 0.5, Hold: 3, Arm: 1, Spike: 0.5})
	if err != nil || !f.Burst || f.PeakIndex != 29 || math.Abs(f.Peak-2.9) > 1e-12 || f.DropIndex != 30 ||
		f.RawMaximum != 9 {
		t.Errorf("%+v, %v", f, err)
	}
}
