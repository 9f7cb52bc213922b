package reverse_test

import (
	"fmt"

	"gaugewright/calc/calctest"
	"gaugewright/calc/reverse"
)

// A standard was assumed to show 0.01 bar too much at 10 bar, but showed 0.01 bar too little: the
// verdict at 5 bar changes.
func ExampleCalculations() {
	r, err := calctest.Try(reverse.Calculations(kinds())[0].Call, `{"unit":"bar",
		"before":`+standardOf("10", "0.01")+`,"after":`+standardOf("10", "-0.01")+`,
		"affected":[{"id":"a","sheet":{"method":{"kind":"plain"},"instrument":{"unit":"bar"}}}]}`)
	if err != nil {
		fmt.Println(err)
		return
	}
	one := r.List("sheets")[0]
	fmt.Println(one.Object("before").Text("verdict"), one.Object("after").Text("verdict"), one.Flag("changed", false))
	// Output: pass fail true
}
