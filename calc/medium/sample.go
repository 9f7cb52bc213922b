package medium

import (
	"gaugewright/calc/document"
)

// Samples returns a maker of valid documents for each calculation of this package.
func Samples() []document.Sample {
	return []document.Sample{
		{Calculation: "gravity", Make: gravitySample},
		{Calculation: "air", Make: airSample},
		{Calculation: "fluid", Make: fluidSample},
	}
}

func sample(fields ...func(w *document.Writer)) []byte {
	w := document.NewWriter(nil)
	w.Begin()
	for _, f := range fields {
		f(w)
	}
	w.End()
	return w.Bytes()
}

func number(name string, x float64) func(w *document.Writer) {
	return func(w *document.Writer) { w.Number(name, x) }
}

func word(name, s string) func(w *document.Writer) {
	return func(w *document.Writer) { w.Text(name, s) }
}

func gravitySample(seed uint64) []byte {
	d := document.Draws(seed)
	e := "wgs84"
	if seed%2 == 1 {
		e = "grs80"
	}
	return sample(
		number("latitude_deg", d.Between(-90, 90)), number("height_m", d.Between(0, 9000)), word("ellipsoid", e),
	)
}

func airSample(seed uint64) []byte {
	d := document.Draws(seed)
	return sample(
		number("pressure_pa", d.Between(5e4, 1.2e5)), number("temperature_c", d.Between(-5, 40)),
		number("humidity", d.Between(0, 1)),
	)
}

func fluidSample(seed uint64) []byte {
	d := document.Draws(seed)
	fluids := []string{"water", "mercury", "nitrogen", "air", "helium", "argon", "co2"}
	f := fluids[seed%uint64(len(fluids))]
	return sample(
		word("fluid", f), number("temperature_c", d.Between(0, 40)), number("pressure_pa", d.Between(1e3, 2e7)),
	)
}
