package programme_test

import (
	"fmt"

	"gaugewright/calc/programme"
)

// A programme that forgets to vent is refused before anybody connects a pump.
func ExampleCheck() {
	steps, err := programme.Parse("unit bar\nset 5 at 0.5/s\nhold 60 s\nread g from gauge\n")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range programme.Check(steps, programme.Facts{}).Findings {
		fmt.Printf("%s, line %d: %s\n", f.Level, f.Line, f.Message)
	}
	// Output:
	// warning, line 1: it is not said whether pressures are gauge or absolute; they are taken as gauge
	// warning, line 1: neither the instrument nor the standard is known, so no pressure or rate is compared with them
	// error, line 4: the programme can end here without the system being vented and confirmed; put a vent before
}
