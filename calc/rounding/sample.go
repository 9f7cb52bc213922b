package rounding

import "gaugewright/calc/document"

// Samples returns a maker of valid documents for the calculation figures.
func Samples() []document.Sample { return []document.Sample{{Calculation: "figures", Make: sample}} }

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("results")
	for range 1 + d.Below(5) {
		w.Begin()
		w.Number("value", d.Between(-20, 20))
		if d.Below(2) == 0 {
			w.Number("expanded", d.Between(0, 0.5))
		}
		if d.Below(2) == 0 {
			w.Number("limit_low", d.Between(-20, 0))
			w.Number("limit_high", d.Between(0, 20))
		}
		w.Text("unit", []string{"bar", "%"}[d.Below(2)])
		w.End()
	}
	w.EndList()
	w.BeginObject("instrument")
	w.Text("unit", "bar")
	w.Text("high", "40")
	w.Text("resolution", []string{"", "0.5", "0.02"}[d.Below(3)])
	w.End()
	w.End()
	return w.Bytes()
}
