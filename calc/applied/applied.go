// Package applied turns a standard's reading into the pressure at the instrument: it gives the
// corrections and their uncertainty.
package applied

import (
	"math"
	"strconv"

	"gaugewright/calc/head"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/uncertainty"
)

// Source is a standard with the column between it and the instrument; each may be absent.
type Source struct {
	Standard *standard.Standard
	Site     *head.Site
	Pascals  float64 // pascals in one unit of the instrument

	known []Correction
}

// Correction is added to a reading of the standard, in its unit.
type Correction struct {
	Certificate numeric.Exact // minus the error of the standard's certificate
	Certified   bool          // the certificate gives a correction other than zero
	HeadPa      float64       // of the column
	Column      numeric.Exact
	Stands      bool // the column is possible: a gas has none below zero absolute

	typed float64
}

// mostKnown bounds the number of corrections kept for pressures seen before.
const mostKnown = 24

// At returns the corrections at a reading, as decimals of twelve significant digits.
func (s *Source) At(typed float64) *Correction {
	for i := range s.known {
		if s.known[i].typed == typed {
			return &s.known[i]
		}
	}
	one := Correction{typed: typed}
	certificate, column, stands := s.both(typed)
	if certificate != 0 {
		one.Certificate, one.Certified = numeric.Twelve(certificate), true
	}
	if one.HeadPa, one.Stands = column, stands; stands && column != 0 {
		one.Column = numeric.Twelve(column / s.Pascals)
	}
	if len(s.known) == mostKnown {
		s.known = s.known[:0]
	}
	s.known = append(s.known, one)
	return &s.known[len(s.known)-1]
}

// both returns the correction of the certificate in the instrument's unit and that of the column in
// Pa.
func (s *Source) both(typed float64) (certificate, column float64, stands bool) {
	if s.Standard != nil {
		if x, ok := s.Standard.Correction(typed); ok {
			certificate = x
		}
	}
	if s.Site != nil {
		column, stands = s.Site.At(float64(typed * s.Pascals))
	}
	return certificate, column, stands
}

// Pressure returns the pressure at the instrument for a sample of a record; ok is false if no
// column is possible.
func (s *Source) Pressure(typed float64) (pressure float64, ok bool) {
	certificate, column, stands := s.both(typed)
	if s.Site != nil && !stands {
		return typed + certificate, false
	}
	return typed + certificate + column/s.Pascals, true
}

// Origin names the document's field that a part of the standard's uncertainty comes from.
func Origin(code string, index int) string {
	switch {
	case code == "std" && index >= 0:
		return "standard.ranges[" + strconv.Itoa(index) + "]"
	case code == "std":
		return "standard.u"
	case code == "cert" || code == "interp":
		return "standard.certificate"
	case code == "step" && index >= 0:
		return "standard.ranges[" + strconv.Itoa(index) + "].resolution"
	case code == "drift":
		return "standard.drift_per_year"
	}
	return "standard"
}

// Terms returns the uncertainty terms of the pressure at the instrument, in its unit: those of the
// standard ("std", "step", "cert", "interp", "drift"), and of the column the difference of level
// ("head"), gravity ("grav") and density ("dens").
//
// Refuses: Fault range if the standard says nothing about the pressure.
func (s *Source) Terms(typed float64) ([]uncertainty.Term, error) {
	var list []uncertainty.Term
	add := func(name string, u, dof float64, shape uncertainty.Shape) {
		if u > 0 {
			list = append(list, uncertainty.Term{Name: name, U: u, Sensitivity: 1, DOF: dof, Shape: shape})
		}
	}
	if s.Standard != nil {
		parts, _, err := s.Standard.Parts(typed)
		if err != nil {
			return nil, err
		}
		for _, p := range parts {
			add(p.Code, p.Value/p.Divisor, p.DOF, p.Shape)
		}
	}
	if s.Site != nil {
		if correction, ok := s.Site.At(float64(typed * s.Pascals)); ok {
			doubt := s.Site.Unsure(float64(typed*s.Pascals), correction)
			add("head", doubt.Level/s.Pascals/math.Sqrt(3), math.Inf(1), uncertainty.Rectangular)
			add("grav", doubt.Gravity/s.Pascals/math.Sqrt(3), math.Inf(1), uncertainty.Rectangular)
			add("dens", doubt.Density/s.Pascals/math.Sqrt(3), math.Inf(1), uncertainty.Rectangular)
		}
	}
	return list, nil
}

// Gain returns the relative standard uncertainties by which a small change of pressure, as the
// standard shows it, may be wrong: a constant error of the standard falls out of a change, one that
// grows with the pressure does not.
//
//	specification: of reading + ppm, and 2 a/(high − low) of what is stated of span or absolute, whose error may go from −a at one end to +a at the other
//	certificate: √(u1² + u2²)/(p2 − p1) of the points about the pressure;  drift: 2 a/(high − low);  an uncertainty given directly: 2 u/(high − low)
//	column: of a gas, half-width of level or gravity over its own: M g h/(R T) in proportion; of a liquid none, it is constant
//
// Takes:   a reading in the unit; low and high of the instrument, where the standard states no
// range.
// Gives:   terms relative to the change.
// Refuses: Fault range if the standard says nothing about the pressure.
// Source:  derived here.
func (s *Source) Gain(typed, low, high float64) ([]uncertainty.Term, error) {
	var list []uncertainty.Term
	add := func(name string, u float64) {
		if u > 0 {
			list = append(
				list, uncertainty.Term{Name: name, U: u, Sensitivity: 1, DOF: math.Inf(1), Shape: uncertainty.Normal},
			)
		}
	}
	if s.Standard != nil {
		parts, index, err := s.Standard.Parts(typed)
		if err != nil {
			return nil, err
		}
		of := s.Standard.For(typed)
		for _, p := range parts {
			u := float64(2*p.Value) / (high - low)
			switch {
			case p.Code == "cert":
				u = of.SlopeUncertainty(typed)
			case p.Code == "interp":
				u = of.SlopeStep(typed)
			case index >= 0:
				r := &of.Ranges[index]
				u = float64(2*p.Value) / (r.High - r.Low)
				if p.Code == "std" {
					flat := float64(r.OfSpan/100*(r.High-r.Low)) + r.Absolute
					u = r.OfReading/100 + float64(r.StabilityPPM*1e-6) + float64(2*flat)/(r.High-r.Low)
				}
			}
			add(p.Code, u/p.Divisor)
		}
	}
	if s.Site != nil && s.Site.FollowsPoint {
		if correction, ok := s.Site.At(float64(typed * s.Pascals)); ok {
			doubt := s.Site.Unsure(float64(typed*s.Pascals), correction)
			if p := float64(typed*s.Pascals) + s.Site.Ambient; p > 0 {
				add("head", doubt.Level/math.Sqrt(3)/p)
				add("grav", doubt.Gravity/math.Sqrt(3)/p)
				add("dens", doubt.Density/math.Sqrt(3)/p)
			}
		}
	}
	return list, nil
}
