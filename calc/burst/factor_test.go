package burst_test

import (
	"math"
	"testing"

	"gaugewright/calc/burst"
)

// TestOneSidedWithFewDiscs: values of scipy.stats.nct and of a numerical integral by
// scipy.integrate.quad at 1e-12, kept from an audit of the tables.
func TestOneSidedWithFewDiscs(t *testing.T) {
	for _, c := range []struct {
		n                       int
		confidence, coverage, k float64
	}{
		{2, 0.99, 0.99, 185.61696}, {2, 0.995, 0.999, 493.12614}, {2, 0.999, 0.99, 1856.23103}, {3, 0.999, 0.99, 75.774049},
	} {
		if k := burst.OneSided(c.n, c.confidence, c.coverage); math.Abs(k/c.k-1) > 1e-7 {
			t.Errorf("n %d, confidence %g, coverage %g: %.6f, want %.6f", c.n, c.confidence, c.coverage, k, c.k)
		}
	}
}
