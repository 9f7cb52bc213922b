package units

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "units", Make: unitsSample},
	}
}

func unitsSample(seed uint64) []byte {
	d := document.Draws(seed)
	from := &table[d.Below(len(table))]
	to := &table[d.Below(len(table))]
	for to.Kind != from.Kind {
		to = &table[d.Below(len(table))]
	}
	x := d.Between(0, 1e4)
	if from.Kind != Temperature && d.Below(2) == 0 {
		x = -x
	}
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("quantity", numeric.FormatDecimals(x, d.Below(6))+" "+from.Name)
	w.Text("to", to.Name)
	w.End()
	return w.Bytes()
}
