package gaugetest

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

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

// MethodSample makes a document of a gauge's plan.
func MethodSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	sampleMethod(w, &d)
	w.End()
	return w.Bytes()
}

// SheetSample makes a sheet of a gauge's run.
func SheetSample(seed uint64) []byte {
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
