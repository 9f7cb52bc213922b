package history_test

import (
	"fmt"

	"gaugewright/calc/history"
)

// A gauge gains about 0.01 bar a year; the limit is 0.05 bar.
func ExampleFollow() {
	d, err := history.Follow([]history.Result{
		{Day: 0, Error: 0, U: 0.002}, {Day: 365, Error: 0.011, U: 0.002}, {Day: 731, Error: 0.019, U: 0.002}, {Day: 1096, Error: 0.031, U: 0.002},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	next, _ := d.At(1461)
	fmt.Printf("%.4f bar a year, %.3f bar in a year's time\n", d.SlopePerYear, next)
	// Output: 0.0101 bar a year, 0.040 bar in a year's time
}
