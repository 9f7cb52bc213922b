package points_test

import (
	"fmt"

	"gaugewright/calc/numeric"
	"gaugewright/calc/points"
)

// Five points over 0 to 1.6 bar, visited rising and falling.
func ExampleVisits() {
	low, _ := numeric.ParseExact("0")
	high, _ := numeric.ParseExact("1.6")
	at := points.Equal(low, high, 5)
	for _, s := range points.Visits(len(at), "up-down", "up", 1) {
		fmt.Print(s.Direction, " ", at[s.Point], "  ")
	}
	// Output: up 0  up 0.4  up 0.8  up 1.2  up 1.6  down 1.6  down 1.2  down 0.8  down 0.4  down 0
}
