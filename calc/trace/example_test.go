package trace_test

import (
	"fmt"

	"gaugewright/calc/trace"
)

// Look says what a logger's file seems to hold; a person confirms it before it is read.
func ExampleLook() {
	v, err := trace.Look([]byte("time s;pressure bar\n0,0;5,012\n0,5;5,011\n1,0;5,009\n"), true)
	fmt.Printf(
		"separator %c, decimal %c, %d rows, data from line %d, %v\n", v.Separator, v.Decimal, v.Rows,
		v.FirstLine, err,
	)
	// Output: separator ;, decimal ,, 3 rows, data from line 2, <nil>
}
