package applied_test

import (
	"fmt"

	"gaugewright/calc/applied"
	"gaugewright/calc/head"
)

// A standard 10 m above the instrument, the line between them full of water, shows 5 bar: at the
// instrument there is nearly 1 bar more.
func ExampleSource_Pressure() {
	s := applied.Source{
		Site:    &head.Site{Column: head.Column{StandardAboveM: 10, Gravity: 9.80665, Density: 998.2, AirDensity: 1.2}},
		Pascals: 1e5,
	}
	p, ok := s.Pressure(5)
	fmt.Printf("%.3f bar %t\n", p, ok)
	// Output: 5.978 bar true
}
