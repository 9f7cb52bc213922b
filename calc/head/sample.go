package head

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "head", Make: sample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	mode := "gauge"
	if seed%3 == 0 {
		mode = "absolute"
	}
	w.Text("mode", mode)
	w.Number("standard_above_m", d.Between(-5, 5))
	w.Number("gravity_m_s2", d.Between(9.78, 9.84))
	if seed%2 == 0 {
		w.Number("fluid_density_kg_m3", d.Between(600, 1300))
	} else {
		w.Text("gas", "nitrogen")
		w.Number("temperature_c", d.Between(0, 40))
		w.Number("pressure_pa", d.Between(1e5, 2e7))
	}
	w.End()
	return w.Bytes()
}
