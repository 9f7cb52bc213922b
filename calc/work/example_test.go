package work_test

import (
	"fmt"

	"gaugewright/calc/work"
)

// The value probably meant by one that is far off: the decimal point one place off, or the other
// sign.
func ExampleSlipped() {
	fmt.Println(work.Slipped("80.2", 8, 0.5), work.Slipped("-0.4", 0.4, 0.01), work.Slipped("6", 8, 0.5) == "")
	// Output: 8.02 0.4 true
}
