package gauge_test

import (
	"fmt"

	"gaugewright/calc/gauge"
)

// Indications at 0, 5 and 10 bar: the line through the end points misses the middle by 0.02 bar,
// the best line halves that.
func ExampleStraight() {
	l := gauge.Straight([]float64{0, 5, 10}, []float64{0, 5.02, 10})
	fmt.Printf("terminal ± %.3f bar, best ± %.3f bar\n", l.Terminal.MaxDeviation, l.Best.MaxDeviation)
	// Output: terminal ± 0.020 bar, best ± 0.010 bar
}
