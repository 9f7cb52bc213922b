package numeric

import (
	"strconv"

	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "quantile", Make: quantileSample},
	}
}

func quantileSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	p := d.Between(1e-6, 0.999999)
	if d.Below(4) == 0 {
		w.Text("distribution", "normal")
	} else {
		w.Text("distribution", "t")
		dof := float64(d.Below(60) + 1)
		if d.Below(3) == 0 {
			dof = d.Between(0.7, 400)
		}
		w.Text("dof", strconv.FormatFloat(dof, 'g', -1, 64))
	}
	w.Number("p", p)
	w.End()
	return w.Bytes()
}
