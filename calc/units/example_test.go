package units_test

import (
	"fmt"

	"gaugewright/calc/units"
)

// Parse reads a quantity as people type it; Convert gives it in another unit of the same kind.
func ExampleParse() {
	q, err := units.Parse("2.5 bar")
	if err != nil {
		fmt.Println(err)
		return
	}
	psi, _ := units.Find("psi")
	x, ok := units.Convert(q.Exact.Float(), q.Unit, psi)
	fmt.Printf("%.4f psi, %v\n", x, ok)
	// Output: 36.2594 psi, true
}
