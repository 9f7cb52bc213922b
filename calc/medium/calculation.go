package medium

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// Calculations returns the calculations gravity, air and fluid.
func Calculations() []document.Calculation {
	return []document.Calculation{
		{Name: "gravity", Call: calculateGravity},
		{Name: "air", Call: calculateAir},
		{Name: "fluid", Call: calculateFluid},
	}
}

func calculateGravity(in *document.Reader, out *document.Writer) error {
	latitude := in.Number("latitude_deg")
	height := in.NumberOr("height_m", 0)
	e := WGS84
	if in.ChoiceOr("ellipsoid", "wgs84", "grs80") == "grs80" {
		e = GRS80
	}
	if err := in.Err(); err != nil {
		return err
	}
	g, err := NormalGravity(e, latitude, height)
	if err != nil {
		return err
	}
	out.Number("gravity_m_s2", g)
	return nil
}

func calculateAir(in *document.Reader, out *document.Writer) error {
	p, t, h := in.Number("pressure_pa"), in.Number("temperature_c"), in.Number("humidity")
	co2 := in.NumberOr("co2", 0.0004)
	if err := in.Err(); err != nil {
		return err
	}
	a, err := MoistAir(p, t, h, co2)
	if err != nil {
		return err
	}
	out.Number("density_kg_m3", a.Density)
	out.Number("compressibility", a.Compressibility)
	out.Number("saturation_pa", a.SaturationPa)
	out.Number("vapour_fraction", a.VapourFraction)
	out.BeginList("warnings")
	if a.Outside {
		out.Warn("outside_recommended", "", "CIPM-2007 is recommended for 600 to 1100 hPa and 15 to 27 °C")
	}
	out.EndList()
	return nil
}

func calculateFluid(in *document.Reader, out *document.Writer) error {
	fluid := in.Choice("fluid", "water", "mercury", "nitrogen", "air", "helium", "argon", "co2")
	t, hasT := in.Optional("temperature_c")
	p, hasP := in.Optional("pressure_pa")
	if err := in.Err(); err != nil {
		return err
	}
	if !hasT {
		return document.Refuse(document.CodeMissing, "temperature_c", "a density needs its temperature")
	}
	var rho float64
	var err error
	ideal := false
	switch fluid {
	case "water":
		if !hasP {
			p = units.StandardAtmosphere
		}
		rho, err = Water(t, p)
	case "mercury":
		rho, err = Mercury(t)
	default:
		if !hasP {
			return document.Refuse(
				document.CodeMissing, "pressure_pa", "the density of a gas needs its absolute pressure",
			)
		}
		if !(p > 0) {
			return document.Refuse(document.CodeRange, "pressure_pa", "must be above zero, absolute")
		}
		if !(t > -units.ZeroCelsius) {
			return document.Refuse(document.CodeRange, "temperature_c", "must be above absolute zero")
		}
		m, _ := MolarMass(fluid)
		rho = IdealGas(m, p, t)
		ideal = p > 1e6
	}
	if err != nil {
		return err
	}
	out.Number("density_kg_m3", rho)
	out.BeginList("warnings")
	if ideal {
		out.Warn(
			"ideal_gas", "pressure_pa",
			"the ideal-gas density is used; above 1 MPa the real one may differ by up to some per cent",
		)
	}
	out.EndList()
	return nil
}
