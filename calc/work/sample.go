package work

import "gaugewright/calc/document"

// MeasuringSample writes a standard and a difference of level, each in one of its forms or not at
// all. One that does not fit the range leaves the verdict open.
func MeasuringSample(w *document.Writer, d *document.Draws) {
	switch d.Below(4) {
	case 0:
		w.Raw("standard", []byte(`{"u":"0.004"}`))
	case 1:
		w.Raw(
			"standard",
			[]byte(`{"ranges":[{"low":"-100","high":"700","of_span_percent":"0.01"}],"certificate":{"points":[{"applied":"-100","error":"0.001","expanded":"0.002"},{"applied":"600","error":"0.012","expanded":"0.02"}]},"drift_per_year":"0.001","years_since":"0.5"}`),
		)
	case 2:
		w.Raw("standard", []byte(`{"ranges":[{"low":"0","high":"20","of_reading_percent":"0.05"}]}`))
	}
	if d.Below(2) == 0 {
		w.Raw("surroundings", []byte(`{"temperature_c":"21.5","pressure_hpa":"1008"}`))
	}
	switch d.Below(4) {
	case 0:
		w.Raw("head", []byte(`{"standard_above_m":"1.5","fluid":"nitrogen","latitude_deg":"47"}`))
	case 1:
		w.Raw("head", []byte(`{"standard_above_m":"-0.4","fluid":"oil"}`))
	}
}

// CapturesSample writes captures one by one.
type CapturesSample struct {
	W *document.Writer
	D *document.Draws
	s int // seconds since the beginning
}

// Put writes a capture some seconds after the one before it. Now and then it leaves the capture
// out.
func (c *CapturesSample) Put(step, of, value, unit string, after int) {
	c.s += after
	if c.D.Below(40) == 0 && of != "indicated" { // left out
		return
	}
	c.W.Begin()
	c.W.Text("step", step)
	c.W.Text("of", of)
	c.W.Text("value", value)
	c.W.Text("unit", unit)
	two := func(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }
	c.W.Text("at", "2026-03-04T"+two(8+c.s/3600)+":"+two(c.s/60%60)+":"+two(c.s%60)+"Z")
	c.W.End()
}

// InstrumentSample begins an instrument, to which particulars can be added.
func InstrumentSample(w *document.Writer, low, high, unit, mode, resolution string) {
	w.BeginObject("instrument")
	w.Text("low", low)
	w.Text("high", high)
	w.Text("unit", unit)
	w.Text("mode", mode)
	if resolution != "" {
		w.Text("resolution", resolution)
	}
}
