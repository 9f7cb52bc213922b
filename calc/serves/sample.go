package serves

import "gaugewright/calc/document"

// Samples makes documents from a maker of documents for a plan.
func Samples(plan func(seed uint64) []byte) []document.Sample {
	return []document.Sample{
		{Calculation: "serves", Make: func(seed uint64) []byte { return servesSample(plan(seed), seed) }},
	}
}

// servesSample puts a standard's range beside a plan's document.
func servesSample(plan []byte, seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginObject("range")
	kind := d.Below(4)
	switch {
	case seed%28 == 3:
		w.Number("low", 800)
		w.Number("high", 1100)
		w.Text("unit", "hPa")
		w.Text("mode", "absolute")
		w.Number("absolute", d.Between(0.1, 1))
	case seed%28 == 5:
		w.Number("low", 0)
		w.Number("high", 24)
		w.Text("unit", "mA")
		w.Number("of_reading_percent", d.Between(0.01, 0.1))
	case kind == 0:
		w.Number("low", -2000)
		w.Number("high", 50000)
		w.Text("unit", "ft")
		w.Text("mode", "absolute")
		w.Number("absolute", d.Between(2, 9))
		w.Text("k", "2")
	case kind == 1:
		w.Number("low", 0)
		w.Number("high", 450)
		w.Text("unit", "kt")
		w.Text("mode", "differential")
		w.Number("absolute", d.Between(0.2, 0.9))
	default:
		w.Number("low", -1)
		w.Number("high", d.Between(2, 30))
		w.Text("unit", "bar")
		w.Text("mode", []string{"gauge", "absolute"}[d.Below(2)])
		w.Number("of_span_percent", d.Between(0.01, 0.1))
		w.Number("drift_per_year", d.Between(0, 0.002))
		w.BeginList("points")
		for i := range 5 {
			w.Begin()
			w.Number("applied", float64(8*i)-1)
			w.Number("error", d.Between(-0.004, 0.004))
			w.Number("expanded", d.Between(0.001, 0.004))
			w.End()
		}
		w.EndList()
	}
	w.End()
	w.Number("years_since", d.Between(0, 1))
	switch seed % 28 { // of an absolute instrument, of a transmitter
	case 3:
		w.Flag("barometer", true)
	case 5:
		w.Flag("meter", true)
	}
	w.End()
	own := w.Bytes()
	return append(append(own[:len(own)-1:len(own)-1], ','), plan[1:]...)
}
