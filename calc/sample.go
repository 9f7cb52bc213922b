package calc

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// The sample documents of expand and evaluate, for the tests that compare machines.

func sampleMethod(w *document.Writer, d *document.Draws) (pointerSet bool) {
	w.BeginObject("method")
	w.Text("kind", "gauge")
	w.BeginObject("points")
	w.Whole("count", 6)
	w.End()
	w.Whole("cycles", 1+d.Below(2))
	w.Whole("exercise", d.Below(3))
	w.Flag("tap", d.Below(2) == 0)
	w.Number("hold_s", 30)
	pointerSet = d.Below(2) == 0
	if pointerSet {
		w.Text("way", "pointer-set")
	}
	w.BeginObject("decision")
	w.Text("rule", []string{"simple", "guarded", "guarded-four"}[d.Below(3)])
	w.End()
	w.End()
	w.BeginObject("instrument")
	w.Text("low", "0")
	w.Text("high", "10")
	w.Text("unit", []string{"bar", "kPa", "psi"}[d.Below(3)])
	w.Text("resolution", "0.02")
	w.BeginObject("limit")
	w.Text("rule", "en837")
	w.Text("class", "1.6")
	w.End()
	w.End()
	return pointerSet
}

// sheetSamples make the sheets of the other kinds of work, with their captures or as room expand takes them. Every second document is one of theirs.
var sheetSamples = []func(seed uint64, captures bool) []byte{
	airSheetSample,
	workSheetSample,
}

func expandSample(seed uint64) []byte {
	if seed%2 == 0 {
		return sheetSamples[seed/2%uint64(len(sheetSamples))](seed, false)
	}
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	sampleMethod(w, &d)
	w.End()
	return w.Bytes()
}

func evaluateSample(seed uint64) []byte {
	if seed%2 == 0 {
		return sheetSamples[seed/2%uint64(len(sheetSamples))](seed, true)
	}
	return gaugeSheetSample(seed)
}

func gaugeSheetSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	of := "indicated"
	if sampleMethod(w, &d) {
		of = "applied"
	}
	unit := unitOf(document.Draws(seed))
	w.BeginObject("standard")
	w.Number("u", d.Between(0.001, 0.02))
	w.End()
	w.BeginList("captures")
	for i := range 6 {
		for _, side := range []string{"up", "down"} {
			if d.Below(12) == 0 {
				continue
			}
			w.Begin()
			w.Text("step", "s1."+side+"."+string(rune('0'+i)))
			w.Text("of", of)
			w.Text("value", numeric.FormatDecimals(float64(2*i)+d.Between(-0.2, 0.2), 2))
			w.Text("unit", unit)
			w.End()
		}
	}
	w.EndList()
	w.Flag("complete", d.Below(2) == 0)
	w.End()
	return w.Bytes()
}

// unitOf repeats the draws of sampleMethod up to its unit.
func unitOf(d document.Draws) string {
	for _, n := range []int{2, 3, 2, 2, 3} {
		d.Below(n)
	}
	return []string{"bar", "kPa", "psi"}[d.Below(3)]
}

func reverseSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", []string{"bar", "kPa", "psi"}[d.Below(3)])
	certified := seed%3 == 0 // the later points then reach over a part of the range only
	for i, name := range []string{"before", "after"} {
		w.BeginObject(name)
		if !certified {
			w.Number("u", d.Between(0.001, 0.3))
			w.End()
			continue
		}
		w.Raw("ranges", []byte(`[{"low":-100,"high":2000,"of_span_percent":"0.001"}]`))
		w.BeginObject("certificate")
		w.BeginList("points")
		for _, p := range [3]float64{float64(float64(i)*d.Between(1, 40)) - 100, 60, 2000 - float64(float64(i)*d.Between(1, 1900))} {
			w.Begin()
			w.Number("applied", p)
			w.Number("error", d.Between(-0.2, 0.2))
			w.Number("expanded", 0.02)
			w.End()
		}
		w.EndList()
		w.End()
		w.End()
	}
	w.BeginList("affected")
	for range 1 + d.Below(3) {
		w.Begin()
		w.Raw("sheet", gaugeSheetSample(seed+uint64(d.Below(1000))))
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}

func methodsSample(seed uint64) []byte {
	if seed%4 == 0 {
		return []byte(`{"list":true}`)
	}
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("name", readyMethods[seed%uint64(len(readyMethods))].name)
	w.End()
	return w.Bytes()
}
