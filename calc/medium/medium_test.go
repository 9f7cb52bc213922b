package medium_test

import (
	"math"
	"testing"

	"gaugewright/calc/medium"
)

// Normal gravity of WGS 84: 9.7803253359 m/s² at the equator and 9.8321849378 m/s² at a pole (NIMA
// TR8350.2, third edition, 2000, table 3.4). It falls by some 3.086 µm/s² each metre up.
func TestNormalGravity(t *testing.T) {
	for latitude, want := range map[float64]float64{0: 9.7803253359, 90: 9.8321849378, -90: 9.8321849378} {
		if g, err := medium.NormalGravity(medium.WGS84, latitude, 0); err != nil || math.Abs(g-want) > 5e-10 {
			t.Errorf("latitude %g°: %.10f m/s², %v, want %.10f", latitude, g, err, want)
		}
	}
	low, _ := medium.NormalGravity(medium.WGS84, 45, 0)
	high, _ := medium.NormalGravity(medium.WGS84, 45, 1000)
	if fall := (low - high) / 1000; math.Abs(fall-3.086e-6) > 2e-9 {
		t.Errorf("gravity falls by %g m/s² each metre", fall)
	}
}

// Water at one atmosphere: 999.8428, 999.9750, 998.2067 and 997.0470 kg/m³ at 0, 4, 20 and 25 °C
// (M. Tanaka et al., Metrologia 38 (2001) 301-309, table 4; from memory).
func TestWater(t *testing.T) {
	for celsius, want := range map[float64]float64{0: 999.8428, 4: 999.9750, 20: 998.2067, 25: 997.0470} {
		if rho, err := medium.Water(celsius, 101325); err != nil || math.Abs(rho-want) > 1e-4 {
			t.Errorf("%g °C: %.4f kg/m³, %v, want %.4f", celsius, rho, err, want)
		}
	}
	if _, err := medium.Water(41, 101325); err == nil {
		t.Error("water of 41 °C is beyond the formula")
	}
}

// The molar volume of an ideal gas at 0 °C and 101.325 kPa is 22.413 969 54 L/mol (CODATA 2018):
// nitrogen of 28.0134 g/mol has 1.24982 kg/m³.
func TestIdealGas(t *testing.T) {
	if rho := medium.IdealGas(0.0280134, 101325, 0); math.Abs(rho-28.0134/22.41396954) > 1e-6 {
		t.Errorf("%.6f kg/m³", rho)
	}
}
