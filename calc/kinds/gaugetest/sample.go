package gaugetest

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// The seed decides what a sample is of: most are gauges, some measure absolute pressure by a gauge
// standard and a barometer, some are transmitters.
func isAbsolute(seed uint64) bool    { return seed%14 == 3 }
func isTransmitter(seed uint64) bool { return seed%14 == 5 }

// sampleAirHPa is the pressure of the air beside an absolute instrument.
const sampleAirHPa = 1000

func sampleMethod(w *document.Writer, d *document.Draws, seed uint64) (pointerSet bool) {
	w.BeginObject("method")
	w.Text("kind", "gauge")
	w.BeginObject("points")
	w.Whole("count", 6)
	w.End()
	w.Whole("cycles", 1+d.Below(2))
	w.Whole("exercise", d.Below(3))
	w.Flag("tap", d.Below(2) == 0)
	w.Number("hold_s", 30)
	pointerSet = d.Below(2) == 0 && !isTransmitter(seed)
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
	if isTransmitter(seed) {
		w.Raw("output", []byte(`{"low":"4","high":"20","unit":"mA","resolution":"0.001"}`))
		w.Raw("limit", []byte(`{"rule":"terms","of_span_percent":"0.5"}`))
		w.End()
		return false
	}
	if isAbsolute(seed) {
		w.Text("mode", "absolute")
	}
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
	sampleMethod(w, &d, seed)
	if isAbsolute(seed) {
		w.Whole("air_hpa", sampleAirHPa)
	}
	w.End()
	return w.Bytes()
}

// SheetSample makes a sheet of a gauge's run.
func SheetSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	of := "indicated"
	if sampleMethod(w, &d, seed) {
		of = "applied"
	}
	unit := unitOf(document.Draws(seed))
	w.BeginObject("standard")
	w.Number("u", d.Between(0.001, 0.02))
	w.End()
	from, factor := 0.0, 1.0 // the typed value is from + factor × the pressure at the point
	if isAbsolute(seed) {
		air := sampleAir(w, &d, unit)
		if of == "applied" {
			from = -air
		}
	}
	if isTransmitter(seed) {
		w.BeginObject("meter")
		w.Number("u", d.Between(0.0005, 0.005))
		w.End()
		unit, from, factor = "mA", 4, 1.6
	}
	w.BeginList("captures")
	for i := range 6 {
		for _, side := range []string{"up", "down"} {
			if d.Below(12) == 0 {
				continue
			}
			w.Begin()
			w.Text("step", "s1."+side+"."+string(rune('0'+i)))
			w.Text("of", of)
			w.Text("value", numeric.FormatDecimals(from+float64(factor*(float64(2*i)+d.Between(-0.2, 0.2))), 2))
			w.Text("unit", unit)
			w.End()
		}
	}
	w.EndList()
	w.Flag("complete", d.Below(2) == 0)
	w.End()
	return w.Bytes()
}

// sampleAir writes a barometer with its reading of the air, and returns the reading in the unit.
func sampleAir(w *document.Writer, d *document.Draws, unit string) float64 {
	u, _ := units.Find(unit)
	air := u.FromSI(sampleAirHPa * 100)
	off := float64(d.Between(-0.002, 0.002) * air)
	w.BeginObject("barometer")
	w.BeginList("ranges")
	w.Begin()
	w.Number("low", float64(air*0.8))
	w.Number("high", float64(air*1.1))
	w.Number("of_span_percent", 0.1)
	w.End()
	w.EndList()
	w.BeginObject("certificate")
	w.BeginList("points")
	for _, part := range []float64{0.85, 1.05} {
		w.Begin()
		w.Number("applied", float64(air*part))
		w.Number("error", off)
		w.Number("expanded", float64(air*0.0002))
		w.End()
	}
	w.EndList()
	w.End()
	w.End()
	w.BeginObject("surroundings")
	w.Whole("pressure_hpa", sampleAirHPa)
	w.End()
	return air
}

// unitOf repeats the draws of sampleMethod up to its unit.
func unitOf(d document.Draws) string {
	for _, n := range []int{2, 3, 2, 2, 3} {
		d.Below(n)
	}
	return []string{"bar", "kPa", "psi"}[d.Below(3)]
}
