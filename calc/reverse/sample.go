package reverse

import (
	"bytes"

	"gaugewright/calc/document"
)

// Samples makes documents out of a maker of gauge sheets.
func Samples(sheet func(seed uint64) []byte) []document.Sample {
	return []document.Sample{{Calculation: "reverse", Make: func(seed uint64) []byte { return sample(sheet, seed) }}}
}

func sample(sheet func(seed uint64) []byte, seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Text("unit", []string{"bar", "kPa", "psi"}[d.Below(3)])
	certified := seed%3 == 0 // the later points then cover only a part of the range
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
		one := sheet(seed + uint64(d.Below(1000)))
		for _, as := range []string{"meter", "barometer"} {
			if bytes.Contains(one, []byte(`"`+as+`":`)) {
				w.Text("as", as)
			}
		}
		w.Raw("sheet", one)
		w.End()
	}
	w.EndList()
	w.End()
	return w.Bytes()
}
