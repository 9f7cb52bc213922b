package gauge

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "gauge", Make: sample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", []string{"bar", "kPa", "psi", "mbar"}[d.Below(4)])
	w.Text("low", "0")
	w.Text("high", "10")
	w.Text("resolution", "0.02")
	w.BeginObject("limit")
	if d.Below(2) == 0 {
		w.Text("rule", "en837")
		w.Text("class", Classes[d.Below(len(Classes))])
	} else {
		w.Text("rule", "b40.100")
		w.Text("grade", Grades[d.Below(len(Grades))].Name)
	}
	w.End()
	w.BeginObject("standard")
	w.Number("u", d.Between(0.0005, 0.01))
	w.End()
	w.BeginObject("decision")
	w.Text("rule", []string{"simple", "guarded", "guarded-four", "managed", "probability"}[d.Below(5)])
	w.End()
	w.BeginList("readings")
	shift, scale := d.Between(-0.05, 0.05), d.Between(0.99, 1.01)
	for cycle := range 1 + d.Below(3) {
		for _, up := range []bool{true, false} {
			for i := range 6 {
				p := float64(2 * i)
				if !up {
					p = 10 - p
				}
				w.Begin()
				w.Whole("series", cycle)
				w.Text("direction", direction(up))
				w.Number("point", p)
				w.Number("indicated", numeric.RoundDecimals(shift+float64(scale*p)+d.Between(-0.03, 0.03), 2))
				w.End()
			}
		}
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
