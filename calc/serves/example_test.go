package serves_test

import (
	"fmt"

	"gaugewright/calc/calctest"
	"gaugewright/calc/serves"
)

// A standard of ± 0.0125 bar for a limit of ± 0.04 bar: the ratio is 3.2, but 4 is required.
func ExampleCalculations() {
	r, err := calctest.Try(serves.Calculations(kinds())[0].Call, `{"method":{"kind":"plain"},
		"instrument":{"unit":"bar","mode":"gauge"},
		"range":{"low":"0","high":"20","unit":"bar","mode":"gauge","absolute":"0.0125","k":"2"}}`)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("serves: %t, because of its %s of %.2f\n",
		r.Flag("serves", false), r.List("objections")[0].Text("code"), r.Object("worst").Number("ratio"))
	// Output: serves: false, because of its ratio of 3.20
}
