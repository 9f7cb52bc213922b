package history

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each room of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Room: "interval", Make: sample},
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
