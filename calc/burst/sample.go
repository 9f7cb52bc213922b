package burst

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "burst", Make: burstSample},
		{Calculation: "lot", Make: lotSample},
		{Calculation: "tolerance_factor", Make: factorSample},
	}
}

func burstSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", []string{"psi", "bar", "kPa", "MPa"}[d.Below(4)])
	w.Number("marked", 100)
	w.Number("ramp_rate_per_s", 2)
	w.BeginObject("trace")
	n := 60 + d.Below(30)
	at := d.Between(90, 110)
	var p []float64
	for i := range n {
		x := float64(float64(i) * 2)
		if x >= at {
			x = d.Between(0, 5)
		}
		p = append(p, x+d.Between(-0.3, 0.3))
	}
	w.BeginList("t_s")
	for i := range n {
		w.NumberItem(float64(i))
	}
	w.EndList()
	w.BeginList("p")
	for _, x := range p {
		w.NumberItem(x)
	}
	w.EndList()
	w.End()
	w.Number("window_s", 3)
	w.End()
	return w.Bytes()
}

func lotSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", "bar")
	w.Number("marked", 10)
	w.BeginList("values")
	for range 2 + d.Below(12) {
		w.NumberItem(d.Between(9.4, 10.6))
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

func factorSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Whole("n", 2+d.Below(60))
	w.Number("confidence", d.Between(0.8, 0.99))
	w.Number("coverage", d.Between(0.8, 0.99))
	w.Whole("sided", 1+d.Below(2))
	w.End()
	return w.Bytes()
}
