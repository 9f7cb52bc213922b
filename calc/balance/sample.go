package balance

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "balance", Make: sample},
	}
}

func sample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("weights")
	for i := 0; i <= d.Below(6); i++ {
		w.Begin()
		w.Number("mass_kg", d.Between(0.01, 10))
		w.Number("density_kg_m3", d.Between(2700, 8500))
		w.Text("kind", []string{"true", "conventional"}[d.Below(2)])
		w.End()
	}
	w.EndList()
	w.Number("area_m2", d.Between(1e-6, 1e-3))
	w.Number("gravity_m_s2", d.Between(9.78, 9.84))
	w.Number("air_density_kg_m3", d.Between(1.1, 1.25))
	w.Number("temperature_c", d.Between(15, 27))
	w.Number("expansion_per_k", 2.2e-5)
	w.Number("distortion_per_pa", d.Between(-1e-12, 5e-12))
	w.Number("surface_tension_n_m", 0.0312)
	w.Number("fluid_density_kg_m3", d.Between(800, 1000))
	w.Number("standard_above_m", d.Between(-1, 1))
	w.End()
	return w.Bytes()
}
