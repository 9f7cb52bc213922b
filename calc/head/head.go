// Package head gives the pressure that a fluid column adds between the level of the standard and
// the level of the instrument.
package head

import (
	"gaugewright/calc/document"
	"gaugewright/calc/medium"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Column is a fluid between the reference levels of a standard and an instrument.
type Column struct {
	Absolute       bool    // absolute mode: no buoyancy of air
	StandardAboveM float64 // height of the standard's level above the instrument's, negative if below
	Gravity        float64 // m/s²
	AirDensity     float64 // kg/m³, for gauge mode
	Density        float64 // kg/m³, for a column of uniform density
	MolarMass      float64 // kg/mol, for a gas column; zero for a uniform one
	Fluid          string  // of a gas column
	TemperatureC   float64 // of a gas column
	PressurePa     float64 // for a gas column: absolute, at the standard
}

// Correction returns the pressure at the instrument minus the pressure at the standard.
//
//	uniform: (ρ − ρ_air) g h        gas: p(exp(M g h/(Z R T)) − 1) − ρ_air g h        absolute mode: ρ_air = 0
//
// Takes:   a Column.
// Gives:   pascals, positive where the instrument is lower.
// Source:  hydrostatics; the gas column is the isothermal barometric formula, with the
// compressibility at the standard (medium.Compressibility). "Source: derived here" for the air term
// of a gas column in gauge mode: both the line and the atmosphere outside change with height, and a
// gauge shows the difference.
func Correction(c Column) float64 {
	air := c.AirDensity
	if c.Absolute {
		air = 0
	}
	if c.MolarMass > 0 {
		z := medium.Compressibility(c.Fluid, c.PressurePa, c.TemperatureC)
		x := c.MolarMass * c.Gravity * c.StandardAboveM / (float64(z*units.MolarGasShort) * (c.TemperatureC + units.ZeroCelsius))
		return float64(c.PressurePa*numeric.Expm1(x)) - float64(air*c.Gravity*c.StandardAboveM)
	}
	return float64((c.Density - air) * c.Gravity * c.StandardAboveM)
}

const liquid = "carbon dioxide is no gas at this pressure and temperature; state the density of the column instead"

// Read reads a Column from the fields of calculation head. Other calculations with a "head" object
// call it too.
func Read(in *document.Reader) Column {
	c := Column{
		Absolute:       in.Choice("mode", "gauge", "absolute") == "absolute",
		StandardAboveM: in.Number("standard_above_m"),
		Gravity:        in.Number("gravity_m_s2"),
	}
	if in.Err() == nil && !(c.Gravity > 9 && c.Gravity < 10) {
		in.Fail(document.CodeRange, "gravity_m_s2", "must be between 9 and 10 m/s²")
	}
	if in.Err() == nil && !(c.StandardAboveM >= -1000 && c.StandardAboveM <= 1000) {
		in.Fail(document.CodeRange, "standard_above_m", "must be from -1000 to 1000 m")
	}
	air, hasAir := in.Optional("air_density_kg_m3")
	switch {
	case c.Absolute && hasAir && air != 0:
		in.Fail(document.CodeConflict, "air_density_kg_m3", "in absolute mode the air outside has no part; leave it out")
	case !c.Absolute && !hasAir:
		air = 1.2
	case hasAir && !(air >= 0 && air < 2):
		in.Fail(document.CodeRange, "air_density_kg_m3", "must be from 0 to 2 kg/m³")
	}
	c.AirDensity = air
	density, uniform := in.Optional("fluid_density_kg_m3")
	gas := in.TextOr("gas", "")
	p, hasP := in.Optional("pressure_pa")
	t, hasT := in.Optional("temperature_c")
	switch {
	case uniform && gas != "":
		in.Fail(document.CodeConflict, "gas", "give the density of the fluid or the gas, not both")
	case uniform:
		if in.Err() == nil && !(density >= 0 && density <= 20000) {
			in.Fail(document.CodeRange, "fluid_density_kg_m3", "must be from 0 to 20000 kg/m³")
		}
		c.Density = density
	case gas != "":
		m, ok := medium.MolarMass(gas)
		if !ok {
			in.Fail(document.CodeRange, "gas", "is not one of: nitrogen, air, helium, argon, co2")
		}
		if !hasT {
			in.Fail(document.CodeMissing, "temperature_c", "a gas column needs its temperature")
		}
		if !hasP {
			in.Fail(document.CodeMissing, "pressure_pa", "a gas column needs the absolute pressure at the standard")
		}
		if in.Err() == nil && (!(p > 0) || !(t > -200 && t < 500)) {
			in.Fail(document.CodeRange, "pressure_pa", "needs a pressure above zero and a temperature from -200 to 500 °C")
		}
		if in.Err() == nil && medium.Liquid(gas, p, t) {
			in.Fail(document.CodeRange, "gas", liquid)
		}
		c.Fluid, c.MolarMass, c.PressurePa, c.TemperatureC = gas, m, p, t
	default:
		in.Fail(
			document.CodeMissing, "fluid_density_kg_m3",
			"the density of the fluid, or the gas and its temperature, is missing",
		)
	}
	return c
}
