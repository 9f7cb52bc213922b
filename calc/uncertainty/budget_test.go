package uncertainty_test

import (
	"math"
	"testing"

	"gaugewright/calc/uncertainty"
)

// The calibration of an end gauge: GUM (JCGM 100:2008) example H.1. The terms of table H.1 in nm
// are 25 (18 degrees of freedom), 9.7 (25.6), 2.9 (50) and 16.6 (2); the standard uncertainty is 32
// nm, the effective degrees of freedom are 16.7, of which 16 are used, and k for 99 % is 2.92.
func TestEndGauge(t *testing.T) {
	term := func(u, dof float64) uncertainty.Term {
		return uncertainty.Term{Name: "term", U: u, Sensitivity: 1, DOF: dof, Shape: uncertainty.Normal}
	}
	b, err := uncertainty.Combine(
		[]uncertainty.Term{term(25, 18), term(9.7, 25.6), term(2.9, 50), term(16.6, 2)}, nil, 0.99,
	)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(b.U-32) > 0.5 || math.Abs(b.DOF-16.7) > 0.1 || b.Used != 16 || math.Abs(b.K-2.92) > 0.005 {
		t.Errorf("u = %.2f nm, ν = %.2f, used %g, k = %.3f", b.U, b.DOF, b.Used, b.K)
	}
}

// Half-widths: a/√3, a/√6, a/√2 (GUM 4.3.7, 4.3.9; JCGM 101:2008, 6.4.6.1 for the arcsine).
func TestFromHalfWidth(t *testing.T) {
	for shape, by := range map[uncertainty.Shape]float64{uncertainty.Rectangular: 3, uncertainty.Triangular: 6, uncertainty.Arcsine: 2} {
		if u, ok := uncertainty.FromHalfWidth(1, shape); !ok || math.Abs(u-1/math.Sqrt(by)) > 1e-15 {
			t.Errorf("%s: %g, %t", shape, u, ok)
		}
	}
}

// Two fully correlated terms add, two with correlation −1 cancel: GUM 5.2.2, note 1.
func TestCorrelated(t *testing.T) {
	terms := []uncertainty.Term{
		{Name: "a", U: 3, Sensitivity: 1, DOF: math.Inf(1)},
		{Name: "b", U: 3, Sensitivity: 1, DOF: math.Inf(1)},
	}
	for r, want := range map[float64]float64{1: 6, 0: 3 * math.Sqrt2, -1: 0} {
		b, err := uncertainty.Combine(terms, []uncertainty.Correlation{{A: 0, B: 1, R: r}}, 0)
		if err != nil || math.Abs(b.U-want) > 1e-12 {
			t.Errorf("r = %g: %g, %v, want %g", r, b.U, err, want)
		}
	}
}
