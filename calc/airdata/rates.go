package airdata

import "gaugewright/calc/units"

// slopePerFoot returns −dPs/dH in Pa/ft at a static pressure: ρ·g0·0.3048 with the standard
// temperature of its pressure altitude.
func (m *Model) slopePerFoot(static, metres float64) float64 {
	return float64(m.Density(static, m.Kelvin(metres)) * float64(units.Gravity*units.Foot))
}

// PerFoot returns by how many pascals the static pressure falls per foot of climb at a static
// pressure.
//
// Takes:   pascals, absolute.
// Gives:   Pa/ft, positive.
// Refuses: a pressure outside the atmosphere.
// Source:  the hydrostatic equation, ICAO Doc 7488/3.
func (m *Model) PerFoot(static float64) (float64, error) {
	h, err := m.Altitude(static)
	if err != nil {
		return 0, err
	}
	return m.slopePerFoot(static, h), nil
}

// StaticRate returns the rate of static pressure during a climb, converted at the current pressure.
//
//	dPs/dt = −g0·Ps/(R·T)·(0.3048/60)·ROC, T standard at the pressure altitude, whatever the air's temperature
//
// Takes:   pascals absolute; feet per minute, up positive.
// Gives:   Pa/s.
// Refuses: a pressure outside the atmosphere.
// Source:  the hydrostatic equation, ICAO Doc 7488/3.
func (m *Model) StaticRate(static, climb float64) (float64, error) {
	s, err := m.PerFoot(static)
	return -float64(s*climb) / 60, err
}

// Climb returns the climb in feet per minute for a rate of static pressure, the inverse of
// StaticRate.
//
// Source: as StaticRate.
func (m *Model) Climb(static, rate float64) (float64, error) {
	s, err := m.PerFoot(static)
	if err != nil {
		return 0, err
	}
	return -float64(60*rate) / s, nil
}

// ImpactRate returns the rate of impact pressure in Pa/s for a rate of calibrated airspeed in
// kt/min.
//
// Source: derived here: the chain rule over ImpactSlope.
func (m *Model) ImpactRate(casKnots, perMinute float64) float64 {
	return float64(m.ImpactSlope(casKnots)*perMinute) / 60
}
