package visit_test

import (
	"fmt"

	"gaugewright/calc/visit"
)

// A run that was stopped early and a repeat are not reported.
func ExampleReported() {
	found, left := visit.Reported(false, "", []visit.Pass{
		{Label: visit.AsFound, Closed: true},
		{Label: visit.AsFound, Closed: true, Whole: true},
		{Label: "repeat", Closed: true, Whole: true},
		{Label: visit.AsLeft, Closed: true, Whole: true},
	})
	fmt.Println(found, left)
	// Output: 1 3
}
