package numeric_test

import (
	"fmt"

	"gaugewright/calc/numeric"
)

// A line through four readings.
func ExampleLinearFit() {
	l, ok := numeric.LinearFit([]float64{0, 1, 2, 3}, []float64{1, 3.1, 4.9, 7})
	fmt.Printf("%.2f + %.2f x ± %.3f, %v\n", l.Intercept, l.Slope, l.SlopeError, ok)
	// Output: 1.03 + 1.98 x ± 0.042, true
}
