package medium

import (
	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// MolarMass returns the molar mass of a gas in kg/mol, if the gas is known.
//
// Source: nitrogen 28.0134, helium 4.002602, argon 39.948, carbon dioxide 44.0095 g/mol: standard
// atomic weights, from memory; dry air 28.96546 g/mol: CIPM-2007 (Picard et al. 2008).
func MolarMass(gas string) (float64, bool) {
	switch gas {
	case "nitrogen":
		return 28.0134e-3, true
	case "air":
		return 28.96546e-3, true
	case "helium":
		return 4.002602e-3, true
	case "argon":
		return 39.948e-3, true
	case "co2":
		return 44.0095e-3, true
	}
	return 0, false
}

// IdealGas returns the density of a gas, ρ = pM/(RT).
//
// Takes:   molar mass in kg/mol, absolute pressure in Pa, temperature in °C.
// Gives:   kg/m³. The real density of nitrogen differs by some 0.02 % at 1 bar and under 1 % to 100
// bar (from memory).
// Source:  equation of state of an ideal gas.
func IdealGas(molarMass, pressurePa, temperatureC float64) float64 {
	return pressurePa * molarMass / (units.MolarGasShort * (temperatureC + units.ZeroCelsius))
}

// Water returns the density of air-free water.
//
// Takes:   temperature 0…40 °C, absolute pressure in Pa.
// Gives:   kg/m³.
// Refuses: a temperature outside the formula's range, a pressure outside 0…20 MPa, where the linear
// compressibility is no longer good (Fault range).
// Source:  M. Tanaka et al., Metrologia 38 (2001) 301–309, equations for density and
// compressibility.
func Water(temperatureC, pressurePa float64) (float64, error) {
	if !(temperatureC >= 0 && temperatureC <= 40) {
		return 0, document.Refuse(document.CodeRange, "temperature_c", "must be from 0 to 40 °C for water")
	}
	if !(pressurePa >= 0 && pressurePa <= 2e7) {
		return 0, document.Refuse(document.CodeRange, "pressure_pa", "must be from 0 to 20000000 Pa, absolute")
	}
	t := temperatureC
	d := t - 3.983035
	rho := float64(999.974950 * (1 - float64(d*d)*(t+301.797)/(522528.9*(t+69.34881))))
	k := 50.74e-11 + float64(-0.326e-11*t) + float64(0.00416e-11*float64(t*t))
	return float64(rho * (1 + float64(k*(pressurePa-units.StandardAtmosphere)))), nil
}

// Mercury returns the density of mercury.
//
// Takes:   temperature −30…100 °C.
// Gives:   kg/m³: the conventional 13595.1 at 0 °C, expanded by 1.818e-4 per kelvin.
// Refuses: another temperature (Fault range).
// Source:  13595.1 kg/m³ is the convention behind the millimetre of mercury; the expansion
// coefficient is from memory.
func Mercury(temperatureC float64) (float64, error) {
	if !(temperatureC >= -30 && temperatureC <= 100) {
		return 0, document.Refuse(document.CodeRange, "temperature_c", "must be from -30 to 100 °C for mercury")
	}
	return 13595.1 / (1 + float64(1.818e-4*temperatureC)), nil
}
