package energy_test

import (
	"math"
	"testing"

	"gaugewright/calc/energy"
)

// 1 m³ of air at twice the ambient pressure, by hand: Brode (p - p0) V/(k - 1) = p0 V · 2.5;
// isothermal p V ln(p/p0) = 2 p0 V ln 2; isentropic p V/(k - 1) (1 - (p0/p)^((k-1)/k)) = 5 p0 V (1
// - 2^(-2/7)). The formulas: Center for Chemical Process Safety, Guidelines for Vapor Cloud
// Explosion, Pressure Vessel Burst, 2010, 7.3 (from memory).
func TestStored(t *testing.T) {
	e := energy.Stored(energy.Gas{VolumeM3: 1, Pressure: 2e5, Ambient: 1e5, HeatRatio: 1.4})
	for name, v := range map[string][2]float64{
		"Brode":      {e.Brode, 2.5e5},
		"isothermal": {e.Isothermal, 2e5 * math.Ln2},
		"isentropic": {e.Isentropic, 5e5 * (1 - math.Pow(2, -2.0/7))},
	} {
		if math.Abs(v[0]/v[1]-1) > 1e-12 {
			t.Errorf("%s: %g J, want %g J", name, v[0], v[1])
		}
	}
}

// The distance is at least 30 m, and at least 60 m for an energy above 135.5 MJ: ASME PCC-2-2008,
// article 5.1. E = 2.5 p V (1 - (101000/p)^0.286).
func TestDistance(t *testing.T) {
	for _, tt := range []struct{ volume, least float64 }{{0.01, 30}, {110, 60}} {
		x := energy.PCC2(tt.volume, 1.101e6)
		want := 2.5 * 1.101e6 * tt.volume * (1 - math.Pow(101000/1.101e6, 0.286))
		if math.Abs(x.EnergyJ/want-1) > 1e-12 || math.Abs(x.TNTkg-want/4266920) > 1e-9*want || x.RequiredM < tt.least {
			t.Errorf("%g m³: %+v, want %g J and %g m or more", tt.volume, x, want, tt.least)
		}
	}
}

// A liquid holds p² V/(2 K): 1 m³ of water (K = 2.2 GPa) at 10 MPa holds 22.7 kJ, some two
// hundredths of what gas would.
func TestLiquid(t *testing.T) {
	if e := energy.Liquid(1, 1e7, 2.2e9); math.Abs(e-1e14/4.4e9) > 1e-6 {
		t.Errorf("%g J", e)
	}
}
