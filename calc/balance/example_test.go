package balance_test

import (
	"fmt"

	"gaugewright/calc/balance"
)

// Ten kilograms of steel on a square centimetre, in air.
func ExamplePressure() {
	r, err := balance.Pressure(balance.Setting{
		Weights: []balance.Weight{{Mass: 10, Density: 8000, Conventional: true}},
		Area:    1e-4, Gravity: 9.80665, AirDensity: 1.2, TemperatureC: 20,
	})
	fmt.Printf("%.0f Pa, %v\n", r.Pressure, err)
	// Output: 980518 Pa, <nil>
}
