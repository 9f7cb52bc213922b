package programmed_test

import (
	"fmt"

	"gaugewright/calc/calctest"
)

// A programme's text becomes the steps of a plan.
func ExampleKind() {
	r, err := calctest.Try(kinds.ExpandMethod, `{`+programme+`}`)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range r.List("steps") {
		fmt.Print(s.Text("do"), " ")
	}
	// Output: set read vent
}
