package pitotstatic_test

import (
	"fmt"

	"gaugewright/calc/calctest"
	"gaugewright/calc/kinds/pitotstatic"
	"gaugewright/calc/work"
)

// The plan of an altimeter's scale names what it may show at 20 000 ft.
func ExampleKinds() {
	r, err := calctest.Try(work.Kinds(pitotstatic.Kinds()).ExpandMethod, `{`+altimeter+`}`)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range r.List("steps") {
		if s.Text("id") == "scale.20000" {
			fmt.Println(s.Text("low"), "to", s.Text("high"), s.Text("unit"))
		}
	}
	// Output: 19870 to 20130 ft
}
