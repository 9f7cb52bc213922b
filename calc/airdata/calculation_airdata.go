package airdata

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// readStatic reads the altitude or the static pressure, whichever is given.
func readStatic(m *Model, in *document.Reader) (metres, static float64, err error) {
	field := given(in, "altitude_ft", "altitude_m", "static_pa")
	if in.Err() != nil {
		return 0, 0, in.Err()
	}
	switch field {
	case "altitude_ft":
		metres = float64(in.Number(field) * units.Foot)
	case "altitude_m":
		metres = in.Number(field)
	case "static_pa":
		static = in.Number(field)
	default:
		return 0, 0, document.Refuse(
			document.CodeMissing, in.Path("altitude_ft"), "an altitude or a static pressure is needed",
		)
	}
	if err = in.Err(); err != nil {
		return 0, 0, err
	}
	if field == "static_pa" {
		metres, err = m.Altitude(static)
	} else {
		static, err = m.Pressure(metres)
	}
	if err != nil {
		err = refusedAt(in, field, err)
	}
	return metres, static, err
}

// readImpact reads the airspeed, in any of its forms, as impact pressure and calibrated airspeed;
// both are 0 if no airspeed is given.
func readImpact(m *Model, in *document.Reader, static float64) (impact, knots float64, err error) {
	field := given(in, "cas_kt", "mach", "impact_pa", "total_pa")
	if field == "" || in.Err() != nil {
		return 0, 0, in.Err()
	}
	x := in.Number(field)
	if err = in.Err(); err != nil {
		return 0, 0, err
	}
	switch field {
	case "cas_kt":
		if !(x >= 0 && x <= highestKnots) {
			return 0, 0, document.Refuse(
				document.CodeRange, in.Path(field),
				"must be from 0 to 3000 kt; pitot below static is told by impact_pa or total_pa",
			)
		}
		return m.Impact(x), x, nil
	case "mach":
		if !(x >= 0 && x < machCap) {
			return 0, 0, document.Refuse(document.CodeRange, in.Path(field), "must be from 0 to 1000")
		}
		impact = ImpactOfMach(x, static)
	case "impact_pa":
		impact = x
	case "total_pa":
		impact = x - static
	}
	if impact < -static {
		return 0, 0, document.Refuse(
			document.CodeRange, in.Path(field), "the total pressure must be absolute and not below zero",
		)
	}
	if impact > m.Impact(highestKnots) {
		return 0, 0, document.Refuse(
			document.CodeRange, in.Path(field), "the impact pressure belongs to more than 3000 kt",
		)
	}
	if impact > 0 {
		knots, _ = m.CAS(impact)
	}
	return impact, knots, nil
}

func calculateAirdata(in *document.Reader, out *document.Writer) error {
	m := iso
	if in.ChoiceOr("model", "iso", "ussa1976") == "ussa1976" {
		m = ussa
	}
	metres, static, err := readStatic(m, in)
	if err != nil {
		return err
	}
	impact, knots, err := readImpact(m, in, static)
	if err != nil {
		return err
	}
	kelvin := m.Kelvin(metres)
	if c, ok := in.Optional("temperature_c"); ok {
		if kelvin = c + units.ZeroCelsius; in.Err() == nil && !(c >= -150 && c <= 200) {
			in.Fail(
				document.CodeRange, "temperature_c", "must be from -150 to 200 degC, the static temperature of the air",
			)
		}
	}
	climb, rate, err := readRates(m, in, static, impact)
	if err != nil {
		return err
	}
	out.Number("altitude_ft", metres/units.Foot)
	out.Number("altitude_m", metres)
	if err := settings(m, in, out, static); err != nil {
		return err
	}
	out.Number("static_pa", static)
	out.Number("static_inhg", static/units.InchMercury)
	out.Number("temperature_k", kelvin)
	out.Number("density_kg_m3", m.Density(static, kelvin))
	out.Number("sound_m_s", m.SoundSpeed(kelvin))
	out.Number("impact_pa", impact)
	out.Number("total_pa", static+impact)
	if impact >= 0 {
		mach, _ := Mach(impact, static)
		if !(mach < machCap) {
			return refuseMach("")
		}
		out.Number("cas_kt", knots)
		out.Number("mach", mach)
		out.Number("tas_kt", m.TAS(mach, kelvin))
		out.Number("eas_kt", m.EAS(mach, static))
	}
	perFoot := m.slopePerFoot(static, metres)
	staticRate, impactRate := -float64(perFoot*climb)/60, 0.0
	if rate != 0 {
		impactRate = m.ImpactRate(knots, rate)
	}
	out.Number("climb_ft_min", climb)
	out.Number("static_rate_pa_s", staticRate)
	out.Number("impact_rate_pa_s", impactRate)
	out.Number("total_rate_pa_s", staticRate+impactRate)
	out.Number("static_pa_per_ft", perFoot)
	if impact >= 0 {
		out.Number("impact_pa_per_kt", m.ImpactSlope(knots))
	}
	out.Text("state", State(impact))
	return nil
}

// readRates reads the climb, in ft/min or as a rate of static pressure, and the rate of airspeed.
func readRates(m *Model, in *document.Reader, static, impact float64) (climb, rate float64, err error) {
	switch given(in, "climb_ft_min", "static_rate_pa_s") {
	case "climb_ft_min":
		climb = in.Number("climb_ft_min")
	case "static_rate_pa_s":
		if climb, err = m.Climb(static, in.Number("static_rate_pa_s")); err != nil {
			return 0, 0, err
		}
	}
	rate = in.NumberOr("cas_rate_kt_min", 0)
	if in.Err() == nil && impact < 0 && rate != 0 {
		in.Fail(
			document.CodeConflict, "cas_rate_kt_min", "pitot is below static: there is no airspeed that could change",
		)
	}
	return climb, rate, in.Err()
}

// settings writes what an altimeter shows at a subscale setting, and what follows from the measured
// field pressure.
func settings(m *Model, in *document.Reader, out *document.Writer, static float64) error {
	if q, ok := in.Optional("setting_pa"); ok && in.Err() == nil {
		feet, err := m.Indicated(static, q)
		if err != nil {
			return refusedAt(in, "setting_pa", err)
		}
		out.Number("indicated_ft", feet)
	}
	field, hasField := in.Optional("field_pa")
	elevation, hasElevation := in.Optional("elevation_ft")
	if in.Err() == nil && hasElevation && !hasField {
		in.Fail(document.CodeMissing, "field_pa", "an elevation needs the field pressure to give the setting")
	}
	if err := in.Err(); err != nil || !hasField {
		return err
	}
	h, err := m.Feet(field)
	if err != nil {
		return refusedAt(in, "field_pa", err)
	}
	above, err := m.Indicated(static, field)
	if err != nil {
		return refusedAt(in, "field_pa", err)
	}
	out.Number("field_altitude_ft", h)
	out.Number("above_field_ft", above)
	if hasElevation {
		q, err := m.Setting(field, elevation)
		if err != nil {
			return refusedAt(in, "elevation_ft", err)
		}
		out.Number("qnh_pa", q)
	}
	return nil
}
