package switches_test

import (
	"fmt"

	"gaugewright/calc/switches"
)

// A switch for 1.5 bar ± 0.06 bar with a dead band of 0.1 to 0.5 bar, over three cycles. The second
// cycle acts too low.
func ExampleJudge() {
	j := switches.Judge([]float64{1.52, 1.40, 1.51}, []float64{1.72, 1.71, 1.70}, 1.5, 0.06, []float64{0.1, 0.5}, false)
	fmt.Println(j.Verdict, j.Reason)
	// Output: fail set point
}
