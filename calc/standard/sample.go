package standard

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "standard", Make: sample},
		{Calculation: "certificate", Make: certificateSample},
		{Calculation: "changes", Make: changesSample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", []string{"bar", "kPa", "psi", "mbar"}[d.Below(4)])
	w.BeginList("ranges")
	for i := range 1 + d.Below(3) {
		w.Begin()
		w.Number("low", 0)
		w.Number("high", float64(8+8*i))
		w.Number("of_reading_percent", d.Between(0.005, 0.05))
		w.Number("of_span_percent", d.Between(0, 0.05))
		w.Number("stability_ppm", d.Between(0, 50))
		w.End()
	}
	w.EndList()
	if d.Below(2) == 0 {
		w.BeginObject("certificate")
		w.BeginList("points")
		for i := range 5 {
			w.Begin()
			w.Number("applied", float64(4*i))
			w.Number("error", d.Between(-0.004, 0.004))
			w.Number("expanded", d.Between(0.001, 0.004))
			w.End()
		}
		w.EndList()
		w.End()
		w.Number("drift_per_year", d.Between(0, 0.003))
		w.Number("years_since", d.Between(0, 2))
	}
	w.BeginList("points")
	for i := range 6 {
		w.NumberItem(float64(2 * i))
	}
	w.EndList()
	w.Number("limit", d.Between(0.01, 0.2))
	switch d.Below(3) {
	case 0:
		w.Number("needed_ratio", d.Between(1, 10))
	case 1:
		w.Number("max_false_accept", d.Between(0.005, 0.03))
	}
	w.End()
	return w.Bytes()
}

func certificateSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", []string{"bar", "kPa"}[d.Below(2)])
	w.BeginList("ranges")
	w.Begin()
	w.Number("low", -1)
	w.Number("high", 20)
	w.Number("of_span_percent", d.Between(0.01, 0.1))
	w.Number("k", 2)
	w.End()
	w.EndList()
	w.BeginObject("certificate")
	w.BeginList("points")
	for i := range 4 {
		w.Begin()
		w.Number("applied", float64(6*i))
		w.Number("error", d.Between(-0.08, 0.08))
		w.Number("expanded", d.Between(0.001, 0.05))
		w.End()
	}
	w.EndList()
	w.End()
	w.Text("calibrated", []string{"2025-03-01", "2026-12-01"}[d.Below(2)])
	w.Text("due", []string{"2026-12-02", "2027-03-01"}[d.Below(2)])
	w.Text("today", []string{"2026-06-01", "2026-12-03"}[d.Below(2)])
	w.End()
	return w.Bytes()
}

func changesSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	for _, name := range []string{"before", "after"} {
		w.BeginObject(name)
		w.BeginList("points")
		at := d.Between(-1, 0)
		for range 1 + d.Below(6) {
			w.Begin()
			w.Number("applied", at)
			w.Number("error", d.Between(-0.01, 0.01))
			w.Number("expanded", d.Between(0.001, 0.01))
			w.Number("k", d.Between(1.9, 2.3))
			w.End()
			at += d.Between(0.5, 4)
		}
		w.EndList()
		w.End()
	}
	w.End()
	return w.Bytes()
}
