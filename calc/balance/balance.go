// Package balance turns the masses on the piston of a pressure balance into the pressure they make.
package balance

import (
	"math"

	"gaugewright/calc/document"
)

// Weight is one mass on the piston.
type Weight struct {
	Mass         float64 // kg
	Density      float64 // kg/m³
	Conventional bool    // the mass is a conventional one (8000 kg/m³ in air of 1.2 kg/m³)
}

// TrueMass returns the true mass of a weight.
//
//	m = m_c (1 − 1.2/8000)/(1 − 1.2/ρ)
//
// Source: definition of the conventional mass, OIML D 28 (from memory).
func (w Weight) TrueMass() float64 {
	if !w.Conventional {
		return w.Mass
	}
	return w.Mass * (1 - 1.2/8000) / (1 - 1.2/w.Density)
}

// Setting is everything a pressure balance's pressure depends on.
type Setting struct {
	Weights        []Weight
	Area           float64 // m², at 20 °C and no pressure
	Gravity        float64 // m/s²
	AirDensity     float64 // kg/m³; 0 in absolute mode
	TemperatureC   float64 // of piston and cylinder
	Expansion      float64 // 1/K, piston and cylinder together
	Distortion     float64 // 1/Pa
	SurfaceTension float64 // N/m
	Submerged      float64 // m³
	FluidDensity   float64 // kg/m³
	StandardAboveM float64
	ResidualPa     float64 // absolute mode: the pressure left under the bell
}

// Result is the pressure of a balance.
type Result struct {
	Pressure     float64 // Pa at the reference level
	AtInstrument float64 // Pa at the instrument's level
	Iterations   int
}

// MostIterations bounds the iteration over the distortion. Each pass gains a factor λp, under 0.01
// for any real balance.
const MostIterations = 50

// Pressure returns the pressure that the weights make.
//
//	p = [Σ m g (1 − ρa/ρm) + V(ρf − ρa) g + σ C] / [A0 (1 + λp)(1 + α(t − 20))] + residual,  C = 2√(πA0)
//
// Takes:   a Setting.
// Gives:   pascals; gauge, or absolute when the residual pressure is given and the air density is
// 0.
// Refuses: a Fault undecidable if the iteration over λp does not converge.
// Source:  the form of EURAMET cg-3 (from memory).
func Pressure(s Setting) (Result, error) {
	force := 0.0
	for _, w := range s.Weights {
		force += float64(w.TrueMass() * s.Gravity * (1 - s.AirDensity/w.Density))
	}
	force += float64(s.Submerged * (s.FluidDensity - s.AirDensity) * s.Gravity)
	force += float64(s.SurfaceTension * 2 * math.Sqrt(math.Pi*s.Area))
	area := float64(s.Area * (1 + float64(s.Expansion*(s.TemperatureC-20))))
	p := force / area
	n := 0
	if s.Distortion != 0 {
		for {
			n++
			next := force / (area * (1 + float64(s.Distortion*p)))
			small := math.Abs(next-p) <= float64(1e-15*math.Abs(next))
			p = next
			if small {
				break
			}
			if n == MostIterations {
				return Result{}, document.Refuse(
					document.CodeUndecidable, "distortion_per_pa",
					"the iteration over the distortion does not settle; the coefficient is not that of a real balance",
				)
			}
		}
	}
	p += s.ResidualPa
	head := float64((s.FluidDensity - s.AirDensity) * s.Gravity * s.StandardAboveM)
	return Result{Pressure: p, AtInstrument: p + head, Iterations: n}, nil
}
