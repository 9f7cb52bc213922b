package bursttest_test

import (
	"fmt"

	"gaugewright/calc/calctest"
)

// A disc marked 200 psi bursts at 210.01 psi, where 5 % is permitted.
func ExampleKind() {
	r, err := calctest.Try(kinds.EvaluateSheet, sheet("200", "210.01", "yes"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Text("verdict"), r.Object("burst").Number("tolerance"), "psi")
	// Output: fail 10 psi
}
