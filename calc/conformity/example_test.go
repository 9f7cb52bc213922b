package conformity_test

import (
	"fmt"

	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"
)

// A gauge shows 0.08 bar too much; U is 0.04 bar, the limit 0.1 bar. The guarded rule accepts no
// more than 0.06 bar, so it fails a value that probably lies inside.
func ExampleDecide() {
	exact := func(s string) numeric.Exact {
		x, _ := numeric.ParseExact(s)
		return x
	}
	limits := conformity.Limits{Low: exact("-0.1"), High: exact("0.1"), HasLow: true, HasHigh: true}
	d := conformity.Decide(exact("0.08"), exact("0.02"), exact("2"), exact("1"), limits, conformity.Guarded, 0, 0)
	fmt.Printf("%s: accepted to %.2f bar, within the limits with a probability of %.3f\n",
		d.Verdict, d.Acceptance.High.Float(), d.Probability)
	// Output: fail: accepted to 0.06 bar, within the limits with a probability of 0.841
}
