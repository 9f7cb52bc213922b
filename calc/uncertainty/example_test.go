package uncertainty_test

import (
	"fmt"
	"math"

	"gaugewright/calc/uncertainty"
)

// Two terms of one budget, one of them from five readings: k follows from the effective degrees of
// freedom (GUM G.4.1).
func ExampleCombine() {
	b, err := uncertainty.Combine([]uncertainty.Term{
		{Name: "standard", U: 0.003, Sensitivity: 1, DOF: math.Inf(1)},
		{Name: "repeatability", U: 0.004, Sensitivity: 1, DOF: 4},
	}, nil, 0.95)
	fmt.Printf("u = %.4f, %.0f degrees of freedom, k = %.2f, U = %.4f, %v\n", b.U, b.Used, b.K, b.Expanded, err)
	// Output: u = 0.0050, 9 degrees of freedom, k = 2.26, U = 0.0113, <nil>
}
