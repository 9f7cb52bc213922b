package head

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/medium"
	"gaugewright/calc/units"
)

// Around is the ambient air at the place of work, as far as it was noted.
type Around struct {
	TemperatureC, PressurePa, Humidity          float64 // humidity as a fraction
	HasTemperature, HasPressure, HasHumidity    bool
	Ambient                                     float64 // Pa, absolute: the zero of gauge pressure
	TemperatureField, PressureField, HumidField string  // their fields, for a message
}

// Note states an assumption.
type Note struct{ Code, Field, Message string }

// Assumptions if nothing was noted. Common practice, no source.
const (
	usualAir         = 1.2 // kg/m³
	usualPressure    = units.StandardAtmosphere
	usualTemperature = 20
	usualHumidity    = 0.5
	localGravity     = 5e-4 // m/s²: half-width of true local gravity about that of the ellipsoid (from memory)
	usualLevel       = 0.01 // m: half-width of a difference of level
	usualLevelPart   = 0.02 // as a part of the level, if that is more
	usualDensityPart = 0.01 // half-width of the density of a liquid
	anyGravity       = 0.03 // m/s²: half-width of gravity at sea level about the conventional value
)

// Air returns the density of the ambient air: by CIPM-2007 if temperature and pressure are known,
// else 1.2 kg/m³ with a note.
func (a *Around) Air() (float64, []Note) {
	if !a.HasTemperature || !a.HasPressure {
		return usualAir, []Note{
			{
				"usual_air", "surroundings",
				"temperature or pressure of the air is not noted: its density is taken as 1.2 kg/m³",
			},
		}
	}
	var notes []Note
	humidity := a.Humidity
	if !a.HasHumidity {
		humidity = usualHumidity
		notes = append(notes, Note{"usual_humidity", a.HumidField, "the humidity is not noted and taken as 50 %"})
	}
	air, err := medium.MoistAir(a.PressurePa, a.TemperatureC, humidity, 0.0004)
	if err != nil {
		return usualAir, []Note{
			{
				"usual_air", "surroundings",
				"the air is outside what its equation holds for: its density is taken as 1.2 kg/m³",
			},
		}
	}
	return air.Density, notes
}

// Site is the column between a standard and an instrument at a place of work, with its uncertainty.
type Site struct {
	Column
	Gas          bool // its density follows the pressure at the standard
	FollowsPoint bool // PressurePa must be set for each reading
	Ambient      float64
	HalfWidthM   float64 // half-width of the difference of level, m
	DensityHalf  float64 // half-width of the column's density, kg/m³; for a gas 0 means that of the equation of state
	GravityHalf  float64 // half-width of gravity, m/s²
	GravityFrom  string
	Notes        []Note
}

// ReadSite reads either form of a column: that of calculation head, or the one a visit keeps,
// {standard_above_m, fluid, gravity_m_s2? | latitude_deg?, height_m?}. Both may have half_width_m,
// how far the difference of level may be off, and density_half_width_kg_m3; if they are absent,
// usual values apply.
//
// Takes:   the field's object; the mode of the instrument, "" if not known; the ambient air.
// Gives:   the Site; what was assumed is in Notes.
// Refuses: Fault conflict for a visit's column on a differential instrument, since both of its legs
// have one.
func ReadSite(in *document.Reader, mode string, around *Around) Site {
	var s Site
	if in.Has("fluid") {
		s = readVisit(in, mode, around)
	} else {
		given := in.Has("air_density_kg_m3")
		s.Column = Read(in)
		s.Gas = s.MolarMass > 0
		if in.Err() == nil && !given && !s.Absolute && s.StandardAboveM != 0 && around.HasTemperature &&
			around.HasPressure {
			s.AirDensity, s.Notes = around.Air()
		}
		if in.Err() == nil && (mode == "gauge" && s.Absolute || mode == "absolute" && !s.Absolute) {
			in.Fail(document.CodeConflict, "mode", "the instrument measures "+mode+" pressure")
		}
	}
	if h, ok := in.Optional("half_width_m"); ok {
		s.HalfWidthM = h
		if in.Err() == nil && !(h >= 0 && h <= 1000) {
			in.Fail(document.CodeRange, "half_width_m", "must be from 0 to 1000 m")
		}
	} else if s.StandardAboveM != 0 {
		s.HalfWidthM = max(usualLevel, float64(usualLevelPart*math.Abs(s.StandardAboveM)))
		s.Notes = append(
			s.Notes,
			Note{
				"usual_level", in.Path("standard_above_m"),
				"how well the difference of level is known is not noted: 1 cm or 2 % of it is taken, the larger",
			},
		)
	}
	if w, ok := in.Optional("density_half_width_kg_m3"); ok {
		s.DensityHalf = w
		if in.Err() == nil && !(w >= 0 && w <= 20000) {
			in.Fail(document.CodeRange, "density_half_width_kg_m3", "must be from 0 to 20000 kg/m³")
		}
	} else if s.MolarMass == 0 && s.StandardAboveM != 0 {
		s.DensityHalf = float64(usualDensityPart * s.Density)
		if in.Has("fluid_density_kg_m3") {
			s.Notes = append(
				s.Notes,
				Note{
					"usual_density", in.Path("fluid_density_kg_m3"),
					"how well the density of the column is known is not noted: 1 % of it is taken",
				},
			)
		}
	}
	return s
}

// Holds refuses a gas column that would be a liquid at a pressure, in Pa and in the instrument's
// mode.
func (s *Site) Holds(most float64) error {
	p := s.PressurePa
	if s.FollowsPoint {
		p = most + s.Ambient
	}
	if s.Gas && s.StandardAboveM != 0 && medium.Liquid(s.Fluid, p, s.TemperatureC) {
		return document.Refuse(document.CodeRange, "head.fluid", liquid)
	}
	return nil
}

func readVisit(in *document.Reader, mode string, around *Around) Site {
	var s Site
	s.StandardAboveM = in.Number("standard_above_m")
	s.Absolute = mode == "absolute"
	fluid := in.Choice("fluid", "air", "nitrogen", "helium", "argon", "co2", "water", "mercury", "oil", "other")
	density, given := in.Optional("fluid_density_kg_m3")
	s.gravity(in)
	if in.Err() == nil && !(s.StandardAboveM >= -1000 && s.StandardAboveM <= 1000) {
		in.Fail(document.CodeRange, "standard_above_m", "must be from -1000 to 1000 m")
	}
	if in.Err() == nil && given && !(density >= 0 && density <= 20000) {
		in.Fail(document.CodeRange, "fluid_density_kg_m3", "must be from 0 to 20000 kg/m³")
	}
	if in.Err() != nil || s.StandardAboveM == 0 {
		s.Notes = nil // on one level the column has no effect
		return s
	}
	if mode == "differential" {
		in.Fail(
			document.CodeConflict, "standard_above_m",
			"both legs of a differential measurement have a column; note the pressures at the instrument",
		)
		return s
	}
	if !s.Absolute {
		air, notes := around.Air()
		s.AirDensity, s.Notes = air, append(s.Notes, notes...)
	}
	t := around.TemperatureC
	assumed := func() {
		if !around.HasTemperature {
			t = usualTemperature
			s.Notes = append(
				s.Notes,
				Note{
					"usual_temperature", in.Path("fluid"),
					"the temperature is not noted: the fluid is taken as being at 20 °C",
				},
			)
		}
	}
	var err error
	switch m, gas := medium.MolarMass(fluid); {
	case given:
		s.Density = density
	case gas:
		assumed()
		s.Gas, s.FollowsPoint, s.Fluid, s.MolarMass, s.TemperatureC = true, true, fluid, m, t
		if !s.Absolute {
			s.Ambient = around.Ambient
		}
	case fluid == "water":
		assumed()
		s.Density, err = medium.Water(t, usualPressure)
	case fluid == "mercury":
		assumed()
		s.Density, err = medium.Mercury(t)
	default:
		in.Fail(document.CodeMissing, "fluid_density_kg_m3", "the density of this fluid must be given")
	}
	if err != nil && in.Err() == nil {
		in.Fail(document.CodeRange, "fluid", document.AsFault(err).Message)
	}
	return s
}

// gravity reads a measured value, or takes that of the ellipsoid at a latitude, or the conventional
// one, each with its half-width.
func (s *Site) gravity(in *document.Reader) {
	g, measured := in.Optional("gravity_m_s2")
	latitude, placed := in.Optional("latitude_deg")
	height := in.NumberOr("height_m", 0)
	switch {
	case in.Err() != nil:
	case measured && placed:
		in.Fail(document.CodeConflict, "latitude_deg", "give gravity or the latitude, not both")
	case measured:
		s.Gravity = g
		if !(g > 9 && g < 10) {
			in.Fail(document.CodeRange, "gravity_m_s2", "must be between 9 and 10 m/s²")
		}
	case placed:
		normal, err := medium.NormalGravity(medium.WGS84, latitude, height)
		if err != nil {
			f := document.AsFault(err)
			in.Fail(f.Code, f.Field, f.Message)
		}
		s.Gravity, s.GravityHalf, s.GravityFrom = normal, localGravity, "head.latitude_deg"
	default:
		s.Gravity, s.GravityHalf, s.GravityFrom = medium.StandardGravity, anyGravity, "head"
		s.Notes = append(
			s.Notes,
			Note{
				"usual_gravity", in.Path("gravity_m_s2"),
				"neither gravity nor latitude is noted: 9.80665 m/s² is taken",
			},
		)
	}
}

// At returns the correction for a reading: the pressure at the instrument minus that at the
// standard.
//
// Takes:   the pressure at the standard in Pa, in the instrument's mode.
// Gives:   pascals.
// Refuses: ok is false for a gas column below absolute zero pressure.
func (s *Site) At(pressure float64) (correction float64, ok bool) {
	c := s.Column
	if s.FollowsPoint {
		c.PressurePa = pressure + s.Ambient
		if c.PressurePa < 0 {
			return 0, false
		}
	}
	return Correction(c), true
}

// Doubt is how far a correction may be off, as half-widths in Pa.
type Doubt struct{ Level, Gravity, Density float64 }

// Unsure returns how far a correction at a pressure may be off because of the difference of level,
// gravity and the density of the column. Each counts in proportion.
func (s *Site) Unsure(pressure, correction float64) Doubt {
	var d Doubt
	if s.StandardAboveM == 0 {
		return d
	}
	d.Level = math.Abs(correction / s.StandardAboveM * s.HalfWidthM)
	d.Gravity = math.Abs(correction / s.Gravity * s.GravityHalf)
	if s.MolarMass == 0 {
		d.Density = math.Abs(float64(s.DensityHalf * s.Gravity * s.StandardAboveM))
		return d
	}
	c := s.Column
	if s.FollowsPoint {
		c.PressurePa = pressure + s.Ambient
	}
	part := medium.CompressibilityHalf(c.Fluid, c.PressurePa, c.TemperatureC)
	if s.DensityHalf > 0 {
		part = s.DensityHalf / medium.IdealGas(c.MolarMass, c.PressurePa, c.TemperatureC)
	}
	c.AirDensity = 0
	d.Density = math.Abs(float64(part * Correction(c)))
	return d
}
