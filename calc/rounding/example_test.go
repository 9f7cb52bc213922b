package rounding_test

import (
	"fmt"

	"gaugewright/calc/rounding"
)

// An error of 0.160 4 bar, known to ± 0.012 bar, on a gauge with a limit of 0.16 bar: rounded to
// two digits of its uncertainty it would lie on the limit, so it gets one digit more.
func ExampleText() {
	expanded, limit := 0.012, 0.16
	f := rounding.Figure{Value: 0.1604, Expanded: &expanded, Places: -1}
	fmt.Println(rounding.Text(&f), "±", rounding.Uncertainty(expanded))
	f.High = &limit
	fmt.Println(rounding.Text(&f), "±", rounding.Uncertainty(expanded))
	// Output:
	// 0.160 ± 0.012
	// 0.1604 ± 0.012
}
