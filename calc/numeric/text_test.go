package numeric_test

import (
	"math"
	"testing"

	"gaugewright/calc/numeric"
)

// TestNumbersInText: rounded by hand, half away from zero.
func TestNumbersInText(t *testing.T) {
	for _, c := range []struct {
		x           float64
		places, sig string // with three digits after the point, with four significant ones
	}{
		{0, "0", "0"}, {2.4996, "2.5", "2.5"}, {-1.0005, "-1.001", "-1.001"}, {1234567, "1234567", "1235000"}, {0.00012345, "0", "0.0001235"},
		{0.00001, "0", "1e-05"}, {12345678, "12345678", "1.235e+07"}, {9999999, "9999999", "1e+07"}, {0.1 + 0.2, "0.3", "0.3"},
		{math.NaN(), "0", "0"}, {math.Inf(1), "0", "+Inf"},
	} {
		if got := numeric.Places(c.x, 3); got != c.places {
			t.Errorf("%v with three places: %s, want %s", c.x, got, c.places)
		}
		if got := numeric.Significant(c.x, 4); got != c.sig {
			t.Errorf("%v with four digits: %s, want %s", c.x, got, c.sig)
		}
	}
	for text, want := range map[string]float64{"20": 1, "20.5": 0.1, "20.50": 0.01, "205e-1": 0.1, "2.05e1": 0.1, "0.0000000000000001": 1e-12} {
		if got := numeric.LastDigit(numeric.DecimalPlaces(text)); math.Abs(got/want-1) > 1e-15 {
			t.Errorf("a step of %s: %v, want %v", text, got, want)
		}
	}
}

// TestSlopeFit: two groups about their own means, by hand: Σdx² = 4, Σdx·dy = 8 of slope 2 with
// residuals ±0.5.
func TestSlopeFit(t *testing.T) {
	slope, sxx, rest := numeric.SlopeFit([]float64{-1, 1, -1, 1}, []float64{-2.5, 2.5, -1.5, 1.5})
	if slope != 2 || sxx != 4 || len(rest) != 4 || rest[0] != -0.5 || rest[1] != 0.5 || rest[2] != 0.5 ||
		rest[3] != -0.5 {
		t.Errorf("%v %v %v", slope, sxx, rest)
	}
	if slope, _, _ := numeric.SlopeFit([]float64{0, 0}, []float64{1, -1}); !math.IsNaN(slope) {
		t.Errorf("a slope of no run: %v", slope)
	}
}
