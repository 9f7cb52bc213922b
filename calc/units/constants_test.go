package units_test

import (
	"testing"

	"gaugewright/calc/units"
)

// TestConstants: a constant equals what its definition gives, to the last bit of a float64.
func TestConstants(t *testing.T) {
	for name, c := range map[string][2]float64{
		// SI, 2019: k = 1.380649e-23 J/K and N_A = 6.02214076e23 /mol, both exact
		"molar gas":  {units.MolarGas, 1.380649e-23 * 6.02214076e23},
		"ten digits": {units.MolarGasShort, 8.314462618},
		// NIST SP 811, appendix B.8: 3.785412 E-03 m³, 3.386389 E+03 Pa
		// and 5.144444 E-01 m/s, each rounded there; here by definition.
		"gallon":       {units.Gallon, 3.785411784e-3},
		"inch mercury": {units.InchMercury, 13595.1 * 9.80665 * 0.0254},
		"knot":         {units.Knot, 0.51444444444444444444},
		"atmosphere":   {units.StandardAtmosphere, 1013.25 * 100},
	} {
		if c[0] != c[1] {
			t.Errorf("%s: %v, by its definition %v", name, c[0], c[1])
		}
	}
	// A unit's factor equals its constant.
	for name, want := range map[string]float64{"atm": units.StandardAtmosphere, "inHg": units.InchMercury,
		"kt": units.Knot, "ft": units.Foot, "in": units.Inch, "lb": units.Pound} {
		if u, ok := units.Find(name); !ok || u.Factor != want {
			t.Errorf("%s: %v, want %v", name, u.Factor, want)
		}
	}
	if u, _ := units.Find("degC"); u.Shift != units.ZeroCelsius || units.ZeroCelsius != 273.15 {
		t.Errorf("degC: shifted by %v", u.Shift)
	}
}
