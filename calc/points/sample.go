package points

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "points", Make: pointsSample},
	}
}

func pointsSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	low := d.Between(-10, 10)
	w.Text("low", numeric.FormatDecimals(low, d.Below(4)))
	w.Text("high", numeric.FormatDecimals(low+2+d.Between(0, 1000), d.Below(4)))
	w.Text("unit", "bar")
	if d.Below(2) == 0 {
		w.Whole("count", 2+d.Below(20))
	} else {
		w.BeginList("percents")
		for i := range 2 + d.Below(9) {
			w.NumberItem(float64(10 * i))
		}
		w.EndList()
	}
	w.Text("directions", []string{"up", "up-down"}[d.Below(2)])
	w.Whole("cycles", 1+d.Below(4))
	w.End()
	return w.Bytes()
}
