package after_test

import (
	"fmt"

	"gaugewright/calc/after"
)

// A leak-tight system that failed is not adjusted; the other ways on are offered.
func ExampleCalculations() {
	reply := after.Calculations()[0].Run([]byte(`{"kind":"leak","found":"fail"}`), "1")
	fmt.Println(string(reply))
	// Output: {"failed":true,"asked":true,"open":true,"ways":["replaced","left_in_service","taken_out"],"bypasses_unsettled":0,"bypasses_in":0,"calc":"1"}
}
