package medium_test

import (
	"fmt"

	"gaugewright/calc/medium"
)

// The air of a laboratory: 101325 Pa, 20 °C, half saturated.
func ExampleMoistAir() {
	a, err := medium.MoistAir(101325, 20, 0.5, 0.0004)
	fmt.Printf("%.4f kg/m³, %v\n", a.Density, err)
	// Output: 1.1993 kg/m³, <nil>
}
