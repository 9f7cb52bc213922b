package formula_test

import (
	"fmt"

	"gaugewright/calc/formula"
)

// The pressure under 10 m of water of 998.2 kg/m³, in Pa.
func ExampleParse() {
	f, used, err := formula.Parse("rho * g * h", []string{"rho", "g", "h", "t"})
	if err != nil {
		fmt.Println(err)
		return
	}
	stack := make([]float64, f.Depth())
	fmt.Printf("%.0f %v\n", f.Value([]float64{998.2, 9.80665, 10, 20}, stack), used)
	// Output: 97890 [true true true false]
}
