package switchtest_test

import (
	"fmt"

	"gaugewright/calc/calctest"
)

// A contact set at 2 bar ± 0.02 bar that acts at 2.021 bar in its second cycle.
func ExampleKind() {
	r, err := calctest.Try(kinds.EvaluateSheet, sheet("2.021"))
	if err != nil {
		fmt.Println(err)
		return
	}
	cycles := r.Object("switch").List("contacts")[0].List("cycles")
	fmt.Printf("%s, dead band %.3f bar\n", r.Text("verdict"), cycles[1].Number("dead_band"))
	// Output: fail, dead band 0.181 bar
}
