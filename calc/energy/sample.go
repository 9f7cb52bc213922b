package energy

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "energy", Make: energySample},
		{Calculation: "fill", Make: fillSample},
	}
}

func energySample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Number("volume_m3", d.Between(1e-5, 10))
	w.Number("pressure_pa", d.Between(2e5, 2e7))
	if d.Below(4) == 0 {
		w.BeginObject("liquid")
		w.Number("bulk_modulus_pa", 2.2e9)
		w.End()
	} else {
		w.Number("ambient_pa", d.Between(8e4, 1.04e5))
		w.Number("ratio_of_heats", []float64{1.4, 5.0 / 3, 1.3}[d.Below(3)])
	}
	w.End()
	return w.Bytes()
}

func fillSample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.Number("from_pa", d.Between(100, 2e5))
	w.Number("to_pa", d.Between(2e5, 2e6))
	w.Number("temperature_k", d.Between(270, 310))
	w.End()
	return w.Bytes()
}
