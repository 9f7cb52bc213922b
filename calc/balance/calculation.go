package balance

import "gaugewright/calc/document"

// Calculations returns the calculation balance.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "balance", Call: calculate}}
}

func within(in *document.Reader, name string, x, low, high float64, unit string) {
	if in.Err() == nil && !(x >= low && x <= high) {
		in.Fail(document.CodeRange, name, "is outside what a real balance has: "+unit)
	}
}

func calculate(in *document.Reader, out *document.Writer) error {
	var s Setting
	for _, r := range in.List("weights") {
		w := Weight{
			Mass: r.Positive("mass_kg"), Density: r.Number("density_kg_m3"),
			Conventional: r.Choice("kind", "true", "conventional") == "conventional",
		}
		within(r, "density_kg_m3", w.Density, 1000, 25000, "1000 to 25000 kg/m³")
		s.Weights = append(s.Weights, w)
	}
	if in.Err() == nil && len(s.Weights) == 0 {
		in.Fail(document.CodeShape, "weights", "at least one weight is needed")
	}
	s.Area = in.Positive("area_m2")
	within(in, "area_m2", s.Area, 1e-8, 1, "1e-8 to 1 m²")
	s.Gravity = in.Number("gravity_m_s2")
	within(in, "gravity_m_s2", s.Gravity, 9, 10, "9 to 10 m/s²")
	absolute := in.ChoiceOr("mode", "gauge", "absolute") == "absolute"
	air, hasAir := in.Optional("air_density_kg_m3")
	residual, hasResidual := in.Optional("residual_pa")
	switch {
	case absolute && hasAir && air != 0:
		in.Fail(
			document.CodeConflict, "air_density_kg_m3",
			"under the bell of an absolute balance there is no air to lift the weights; leave it out",
		)
	case absolute && !hasResidual:
		in.Fail(
			document.CodeMissing, "residual_pa",
			"absolute mode needs the residual pressure under the bell (0 if it is negligible)",
		)
	case !absolute && hasResidual && residual != 0:
		in.Fail(document.CodeConflict, "residual_pa", "a residual pressure belongs to absolute mode")
	case !absolute && !hasAir:
		air = 1.2
	}
	s.AirDensity, s.ResidualPa = air, residual
	within(in, "air_density_kg_m3", air, 0, 2, "0 to 2 kg/m³")
	s.TemperatureC = in.NumberOr("temperature_c", 20)
	within(in, "temperature_c", s.TemperatureC, -20, 80, "-20 to 80 °C")
	s.Expansion = in.NumberOr("expansion_per_k", 0)
	within(in, "expansion_per_k", s.Expansion, 0, 1e-3, "0 to 0.001 per kelvin")
	s.Distortion = in.NumberOr("distortion_per_pa", 0)
	within(in, "distortion_per_pa", s.Distortion, -1e-10, 1e-10, "-1e-10 to 1e-10 per pascal")
	s.SurfaceTension = in.NumberOr("surface_tension_n_m", 0)
	within(in, "surface_tension_n_m", s.SurfaceTension, 0, 1, "0 to 1 N/m")
	s.Submerged = in.NumberOr("submerged_volume_m3", 0)
	within(in, "submerged_volume_m3", s.Submerged, -1, 1, "-1 to 1 m³")
	density, hasDensity := in.Optional("fluid_density_kg_m3")
	s.StandardAboveM = in.NumberOr("standard_above_m", 0)
	if in.Err() == nil && !hasDensity && (s.Submerged != 0 || s.StandardAboveM != 0) {
		in.Fail(
			document.CodeMissing, "fluid_density_kg_m3",
			"a submerged volume or a difference of level needs the density of the fluid",
		)
	}
	s.FluidDensity = density
	within(in, "fluid_density_kg_m3", density, 0, 20000, "0 to 20000 kg/m³")
	if err := in.Err(); err != nil {
		return err
	}
	r, err := Pressure(s)
	if err != nil {
		return err
	}
	out.Number("pressure_pa", r.Pressure)
	out.Number("pressure_at_instrument_pa", r.AtInstrument)
	out.Whole("iterations", r.Iterations)
	return nil
}
