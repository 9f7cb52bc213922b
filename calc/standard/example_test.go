package standard_test

import (
	"fmt"

	"gaugewright/calc/standard"
)

// A standard of 0 to 20 bar with 0.05 % of span, k = 2, and a certificate: at 5 bar it shows 2 mbar
// too much, so 2 mbar are taken off.
func ExampleStandard_Correction() {
	s := standard.Standard{
		Ranges: []standard.Range{{Low: 0, High: 20, OfSpan: 0.05, K: 2}},
		Points: []standard.Point{
			{Applied: 0, Error: 0, Expanded: 0.001, K: 2},
			{Applied: 10, Error: 0.004, Expanded: 0.001, K: 2},
		},
	}
	c, ok := s.Correction(5)
	u, _, err := s.Uncertainty(5)
	fmt.Printf("correction %+.3f bar (%v), u = %.4f bar, %v\n", c, ok, u, err)
	// Output: correction -0.002 bar (true), u = 0.0051 bar, <nil>
}
