package rounds_test

import (
	"fmt"

	"gaugewright/calc/rounds"
)

// A method of one kind fits instruments of that kind, and a programme fits every instrument.
func ExampleFits() {
	fmt.Println(rounds.Fits("gauge", "gauge"), rounds.Fits("gauge", "leak"), rounds.Fits("programme", "leak"))
	// Output: true false true
}
