package applied_test

import (
	"math"
	"testing"

	"gaugewright/calc/applied"
	"gaugewright/calc/head"
	"gaugewright/calc/standard"
)

// A standard that shows 2 mbar too much at 5 bar, 10 m above the instrument in a line full of
// water: ρ g h = 998.2 kg/m³ · 9.80665 m/s² · 10 m, less the air of 1.2 kg/m³ over the same height,
// 97 772 Pa (hydrostatics, as in EURAMET cg-17 version 4.1, section 6.2; from memory).
func source() applied.Source {
	return applied.Source{
		Standard: &standard.Standard{
			Ranges: []standard.Range{{Low: 0, High: 20, OfSpan: 0.05, K: 2}},
			Points: []standard.Point{
				{Applied: 0, Error: 0, Expanded: 0.001, K: 2},
				{Applied: 10, Error: 0.004, Expanded: 0.001, K: 2},
			},
		},
		Site: &head.Site{
			Column:     head.Column{StandardAboveM: 10, Gravity: 9.80665, Density: 998.2, AirDensity: 1.2},
			HalfWidthM: 0.05,
		},
		Pascals: 1e5,
	}
}

func TestPressure(t *testing.T) {
	s := source()
	p, ok := s.Pressure(5)
	if want := 5 - 0.002 + 9.80665*10*(998.2-1.2)/1e5; !ok || math.Abs(p-want) > 1e-9 {
		t.Errorf("5 bar at the standard is %.9f bar at the instrument, want %.9f", p, want)
	}
	c := s.At(5)
	if !c.Certified || c.Certificate.Float() != -0.002 || math.Abs(c.Column.Float()-0.977723005) > 5e-10 {
		t.Errorf("certificate %g, column %.9f", c.Certificate.Float(), c.Column.Float())
	}
}

// A rectangular half-width a has the standard uncertainty a/√3: GUM (JCGM 100:2008) 4.3.7.
func TestTerms(t *testing.T) {
	s := source()
	list, err := s.Terms(5)
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{
		"std":  0.01 / 2,                                            // 0.05 % of 20 bar, k = 2
		"cert": 0.001 / 2,                                           // expanded, k = 2
		"head": 0.05 * 9.80665 * (998.2 - 1.2) / 1e5 / math.Sqrt(3), // 5 cm of water
	}
	seen := 0
	for _, term := range list {
		if u, ok := want[term.Name]; ok {
			seen++
			if math.Abs(term.U-u) > 1e-9 {
				t.Errorf("%s: u = %.9f bar, want %.9f", term.Name, term.U, u)
			}
		}
	}
	if seen != len(want) {
		t.Errorf("%d of %d terms: %+v", seen, len(want), list)
	}
	if _, err := s.Terms(25); err == nil {
		t.Error("the standard covers no 25 bar, and there is no fault")
	}
}

// The error of the standard in a change: an error that may go from -a at one end of the range to +a
// at the other has the slope 2a over the range. Derived in Gain.
func TestGain(t *testing.T) {
	s := source()
	s.Standard.Points = nil
	list, err := s.Gain(5, 0, 10)
	if err != nil || len(list) != 1 || list[0].Name != "std" || math.Abs(list[0].U-2*0.01/20/2) > 1e-12 {
		t.Errorf("%+v, %v", list, err)
	}
}
