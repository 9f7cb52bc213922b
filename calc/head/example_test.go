package head_test

import (
	"fmt"

	"gaugewright/calc/head"
)

// The standard is 10 m above the instrument, the line between them full of water: the instrument
// sees about 0.98 bar more, less the air outside over the same height.
func ExampleCorrection() {
	pa := head.Correction(head.Column{StandardAboveM: 10, Gravity: 9.80665, Density: 998.2, AirDensity: 1.2})
	fmt.Printf("%.0f Pa\n", pa)
	// Output: 97772 Pa
}
