package history

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "interval", Make: sample},
		{Calculation: "drift", Make: driftSample},
		{Calculation: "due", Make: dueSample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Number("months", d.Between(3, 36))
	w.Number("target", d.Between(0.85, 0.99))
	if d.Below(2) == 0 {
		w.Number("observed", d.Between(0.7, 0.999))
	} else {
		of := 2 + d.Below(60)
		w.Whole("passed", 1+d.Below(of))
		w.Whole("of", of)
	}
	w.End()
	return w.Bytes()
}

func driftSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("history")
	slope := d.Between(-0.02, 0.02)
	level := 0.0
	for year := range 3 + d.Below(6) {
		w.Begin()
		w.Text("date", written(document.DayNumber(2012+year, 1+d.Below(12), 1+d.Below(28))))
		w.BeginList("errors")
		for i := range 3 {
			w.Begin()
			w.Number("point", float64(5*i))
			w.Number("error", level+float64(slope*float64(i*year))+d.Between(-0.01, 0.01))
			w.Number("u", d.Between(0.001, 0.01))
			w.End()
		}
		w.EndList()
		w.Number("limit", 0.1)
		if d.Below(4) == 0 {
			w.Flag("adjusted", true)
			level = d.Between(-0.02, 0.02)
			w.BeginList("left")
			w.Begin()
			w.Number("point", 5)
			w.Number("error", level)
			w.End()
			w.EndList()
		}
		w.End()
	}
	w.EndList()
	w.Text("at", "2022-06-15")
	if d.Below(2) == 0 {
		w.Number("interval_months", float64(3*(1+d.Below(12))))
		w.Number("found_fraction", d.Between(0, 1.2))
	}
	w.End()
	return w.Bytes()
}
