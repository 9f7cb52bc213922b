// Package energy gives the energy stored in a pressurised volume and the heat of filling it, for
// the cautions before the first pressure step.
package energy

import (
	"gaugewright/calc/numeric"
)

// Gas is a rigid volume of compressed gas.
type Gas struct {
	VolumeM3  float64
	Pressure  float64 // Pa, absolute
	Ambient   float64 // Pa, absolute
	HeatRatio float64 // ratio of specific heats
}

// Energies holds the stored energy of a gas by four published formulas, in joules.
type Energies struct{ Brode, Isentropic, Isothermal, Availability float64 }

// Stored returns the stored energy of a compressed gas.
//
//	Brode (p − pa)V/(k − 1) · isentropic pV/(k − 1)[1 − (pa/p)^((k−1)/k)] · isothermal pV ln(p/pa) · availability pV[ln(p/pa) − (1 − pa/p)]
//
// Takes:   a Gas with pressure and ambient above zero and a heat ratio above 1.
// Gives:   joules. Below ambient pressure Brode's is negative and the others describe the gas only:
// see Implosion for a vacuum.
// Source:  D. A. Crowl, Understanding Explosions (2003), appendix B.
func Stored(g Gas) Energies {
	pv := float64(g.Pressure * g.VolumeM3)
	k1 := g.HeatRatio - 1
	ratio := g.Ambient / g.Pressure
	ln := -numeric.Log(ratio)
	return Energies{
		Brode:        (g.Pressure - g.Ambient) * g.VolumeM3 / k1,
		Isentropic:   float64(pv / k1 * -numeric.Expm1(float64(-ln*(k1/g.HeatRatio)))),
		Isothermal:   float64(pv * ln),
		Availability: float64(pv * (ln - (1 - ratio))),
	}
}

// Exclusion is the outcome of the exclusion-distance rule.
type Exclusion struct {
	EnergyJ, TNTkg               float64
	DistanceM, FloorM, RequiredM float64
	BeyondFloors                 bool // above 271 MJ only the equation counts
}

// The gas that the distance rule is written for: diatomic, as air and nitrogen, with 101 kPa
// outside.
const (
	ruleHeats   = 1.4
	ruleAmbient = 101000 // Pa
)

// PCC2Applies reports whether the distance rule is written for a gas at a pressure.
//
// Takes:   the ratio of heats as given, compared to the last bit; absolute pressure in Pa.
func PCC2Applies(heatRatio, pressure float64) bool {
	return heatRatio == ruleHeats && pressure > ruleAmbient
}

// PCC2 returns the energy and the distance that the pneumatic-test rule of ASME PCC-2 asks for.
//
//	E = 2.5 p V [1 − (101000/p)^0.286],  TNT = E/4266920 kg,  R = 20 (2 TNT)^(1/3) m; at least 30 m to 135.5 MJ, 60 m to 271 MJ
//
// Takes:   volume in m³, absolute pressure in Pa above 101000.
// Gives:   joules, kilograms of TNT, metres. The rule is meant for the test of plant with air or
// nitrogen, not for a hand pump.
// Source:  ASME PCC-2-2008, article 5.1, appendices II and III; the factor 2 of TNT from a later
// restatement (the larger, safer form); the scaled distance of 20 m/kg^(1/3) from memory.
func PCC2(volumeM3, pressure float64) Exclusion {
	x := Exclusion{
		EnergyJ: float64(2.5 * pressure * volumeM3 * -numeric.Expm1(float64(0.286*numeric.Log(ruleAmbient/pressure)))),
	}
	x.TNTkg = x.EnergyJ / 4266920
	if x.TNTkg > 0 {
		x.DistanceM = float64(20 * numeric.Exp(numeric.Log(float64(2*x.TNTkg))/3))
	}
	switch {
	case x.EnergyJ <= 135.5e6:
		x.FloorM = 30
	case x.EnergyJ <= 271e6:
		x.FloorM = 60
	default:
		x.BeyondFloors = true
	}
	x.RequiredM = max(x.DistanceM, x.FloorM)
	return x
}

// Liquid returns the strain energy of a compressed liquid, E = p²V/(2B).
//
// Takes:   volume in m³, gauge pressure and bulk modulus in Pa.
// Gives:   joules. The vessel's own strain is left out.
// Source:  linear compressibility (from memory).
func Liquid(volumeM3, gaugePressure, bulkModulus float64) float64 {
	return gaugePressure * gaugePressure * volumeM3 / (2 * bulkModulus)
}

// Implosion returns the work the atmosphere does on an evacuated volume, E = (pa − p)V: 101.3 J for
// each litre of vacuum.
//
// Takes:   volume in m³, absolute pressure inside and ambient, Pa.
// Source:  work at constant outer pressure.
func Implosion(volumeM3, pressure, ambient float64) float64 {
	return float64((ambient - pressure) * volumeM3)
}

// Filled is a vessel just after a quick fill.
type Filled struct{ TemperatureK, AfterCoolingPa float64 }

// Fill returns the temperature after a fast adiabatic fill of a rigid vessel and the pressure left
// when it has cooled.
//
//	T2 = k T0 p2/(p2 + (k − 1) p1);  p after cooling = p2 T0/T2
//
// Takes:   pressures before and after in Pa absolute (to ≥ from > 0), the temperature of gas and
// vessel in K, the heat ratio.
// Source:  derived here: energy balance of a rigid adiabatic vessel filled from a supply at T0,
// ideal gas with constant heats: cv(n2T2 − n1T0) = cp(n2 − n1)T0 with n = pV/RT.
func Fill(from, to, temperatureK, heatRatio float64) Filled {
	t2 := heatRatio * temperatureK * to / (to + float64((heatRatio-1)*from))
	return Filled{TemperatureK: t2, AfterCoolingPa: to * temperatureK / t2}
}
