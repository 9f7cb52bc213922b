package conformity

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "conformity", Make: conformitySample},
		{Calculation: "risk", Make: riskSample},
	}
}

func conformitySample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Number("value", d.Between(-0.3, 0.3))
	w.Number("u", d.Between(0.001, 0.05))
	w.Number("low", -0.16)
	w.Number("high", 0.16)
	w.Text("rule", []string{"simple", "guarded", "guarded-four", "managed", "probability"}[d.Below(5)])
	if d.Below(3) == 0 {
		w.Number("dof", d.Between(1, 30))
	}
	if seed%16 == 9 {
		w.Number("until", d.Between(0.31, 0.5))
	}
	w.End()
	return w.Bytes()
}

func riskSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Number("ratio", d.Between(1, 12))
	w.Number("in_tolerance", d.Between(0.5, 0.99))
	if d.Below(2) == 0 {
		w.Text("rule", "managed")
	}
	w.End()
	return w.Bytes()
}
