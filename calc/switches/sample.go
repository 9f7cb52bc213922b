package switches

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "switch", Make: sample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", "bar")
	w.Text("acts", "rising")
	nominal := d.Between(1, 20)
	w.Number("nominal", nominal)
	w.Number("tolerance", d.Between(0.01, 0.3))
	w.BeginObject("dead_band")
	w.Number("low", 0.1)
	w.Number("high", d.Between(0.2, 1))
	w.End()
	w.BeginList("cycles")
	for range 1 + d.Below(6) {
		set := nominal + d.Between(-0.2, 0.2)
		w.Begin()
		w.Number("set", set)
		w.Number("reset", set-d.Between(0.05, 0.8))
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
