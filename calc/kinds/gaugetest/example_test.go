package gaugetest_test

import (
	"fmt"

	"gaugewright/calc/calctest"
)

// A gauge of class 1.6 and 10 bar may be off by 0.16 bar; at 5 bar it shows 5.17 bar.
func ExampleKind() {
	r, err := calctest.Try(kinds.EvaluateSheet, `{`+gauge+`,"complete":true,"captures":[
		{"step":"s1.up.0","of":"indicated","value":"0","unit":"bar"},
		{"step":"s1.up.1","of":"indicated","value":"5.17","unit":"bar"},
		{"step":"s1.up.2","of":"indicated","value":"10","unit":"bar"}]}`)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, %.4f of the limit\n", r.Text("verdict"), r.Object("worst").Number("fraction"))
	// Output: fail, 1.0625 of the limit
}
