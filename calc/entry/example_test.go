package entry_test

import (
	"fmt"

	"gaugewright/calc/document"
	"gaugewright/calc/entry"
	"gaugewright/calc/work"
)

// A slipped decimal point: 80 bar on a gauge of 10 bar, at a step of 8 bar.
func ExampleCalculations() {
	plan := func(in *document.Reader, p *work.Plan) error {
		work.Skim(in.Object("method"))
		p.Step(work.Step{ID: "at.8", Do: "read", Target: "8", Unit: "bar", Of: "indicated"})
		return in.Err()
	}
	kinds := work.Kinds{{Name: "plain", Expand: plan}}
	reply := entry.Calculations(kinds)[0].Run([]byte(`{"method":{"kind":"plain"},
		"instrument":{"low":"0","high":"10","unit":"bar"},"captures":[],
		"entry":{"step":"at.8","of":"indicated","value":"80","unit":"bar"}}`), "1")
	fmt.Println(string(reply))
	// Output: {"findings":[{"level":"ask","code":"outside_range","message":"this lies outside the instrument's range","suggest":"8"}],"calc":"1"}
}
