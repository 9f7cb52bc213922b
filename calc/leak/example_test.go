package leak_test

import (
	"fmt"

	"gaugewright/calc/leak"
)

// A volume of 50 L loses 2 Pa in each ten seconds while its temperature does not change.
func ExampleEvaluate() {
	x := leak.Test{Volume: 0.05, ReferenceK: 293.15}
	for i := range 7 {
		p := 500_000 - float64(2*i)
		x.T, x.P, x.Absolute = append(x.T, float64(10*i)), append(x.P, p), append(x.Absolute, p)
		x.TemperatureC = append(x.TemperatureC, 20)
	}
	f, err := leak.Evaluate(x)
	fmt.Printf("%.3f Pa/s, %.3f Pa·m³/s, %v\n", f.Slope, f.Rate, err)
	// Output: -0.200 Pa/s, 0.010 Pa·m³/s, <nil>
}
