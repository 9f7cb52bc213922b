package airdata

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

const (
	rootFive   = 2.23606797749978969640917366873
	rootOneTwo = 1.09544511501033222691393956560
	// rayleigh is K of the supersonic pitot formula, 6⁶/5^(7/2) = 166.9215800931683.
	rayleigh = 46656 / (125 * rootFive)
	// sonicRatio is F(1) = 1.2^(7/2); the branches meet here in value and slope.
	sonicRatio = 1.728 * rootOneTwo
	// sonicImpact is F(1) − 1 = 0.89292915873785…; the branch is chosen against it, never against a
	// Mach number already rounded.
	sonicImpact = sonicRatio - 1
	// farRatio is K/7^(5/2): for large M, F(M) ≈ farRatio·(M² + 5/14).
	farRatio = rayleigh / 129.641814242164837847
	// machCap keeps Newton's method and the powers of M well inside float64.
	machCap = 1000.0
	// iterationCap is never met: the property test finds at most 4 iterations up to Mach 3.
	iterationCap = 20
)

// impactRatio returns F(M) − 1, impact pressure over static pressure, for M ≥ 0 without loss near
// 0.
//
//	M ≤ 1: F = (1 + M²/5)^(7/2);  M > 1: F = K·M⁷/(7M² − 1)^(5/2)
//
// Below Mach 1 with u = M²/5 and P = (1+u)⁷ − 1 (all terms positive): F − 1 = P/(1 + √(1+P)), which
// needs no logarithm.
//
// Source: AFFTC-TIH-99-01, 4.6 to 4.8; above Mach 1 the Rayleigh pitot formula (NACA TR 1135).
func impactRatio(mach float64) float64 {
	if mach <= 1 {
		u := float64(mach*mach) / 5
		p := 7 + u
		p = 21 + float64(u*p)
		p = 35 + float64(u*p)
		p = 35 + float64(u*p)
		p = 21 + float64(u*p)
		p = 7 + float64(u*p)
		p = float64(u * p)
		return p / (1 + math.Sqrt(1+p))
	}
	return supersonic(mach) - 1
}

// supersonic returns F(M) for M ≥ 1.
func supersonic(mach float64) float64 {
	s := float64(mach * mach)
	d := float64(7*s) - 1
	return float64(rayleigh*float64(float64(s*s)*float64(s*mach))) / float64(float64(d*d)*math.Sqrt(d))
}

// impactSlope returns dF/dM.
//
//	M ≤ 1: (7/5)·M·(1 + M²/5)^(5/2);  M > 1: F·7(2M² − 1)/(M(7M² − 1))
//
// Source: derived here from impactRatio; both give 2.2084173518608298 at M = 1.
func impactSlope(mach float64) float64 {
	s := float64(mach * mach)
	if mach <= 1 {
		y := 1 + s/5
		return float64(float64(1.4*mach) * float64(float64(y*y)*math.Sqrt(y)))
	}
	return float64(supersonic(mach)*float64(7*(float64(2*s)-1))) / float64(mach*(float64(7*s)-1))
}

// machOfRatio returns M of F(M) − 1 = q ≥ 0 and the Newton iterations it took, 0 below Mach 1.
//
// Above Mach 1 Newton's method starts from the subsonic formula up to F = 2.2 and from the far
// expansion M² = F/farRatio − 5/14 beyond; F is convex there, so that the steps close in from above
// after the first one. It stops when a step is below 1e-8 of M: the next would be about its square.
//
// Source: derived here.
func machOfRatio(q float64) (mach float64, iterations int) {
	if q <= sonicImpact || q <= 1.2 {
		mach = math.Sqrt(float64(5 * numeric.Expm1(float64(2*numeric.Log1p(q))/7)))
		if q <= sonicImpact {
			return mach, 0
		}
	} else {
		mach = math.Sqrt((1+q)/farRatio - 5.0/14)
	}
	for iterations < iterationCap {
		iterations++
		step := (supersonic(mach) - 1 - q) / impactSlope(mach)
		mach -= step
		if mach < 1 {
			mach = 1
		}
		if math.Abs(step) < float64(1e-8*mach) {
			break
		}
	}
	return mach, iterations
}

// Impact returns the impact pressure qc = Pt − Ps of a calibrated airspeed.
//
//	qc = P0·[F(CAS/a0) − 1]
//
// Takes:   knots, 0 or more.
// Gives:   pascals.
// Source:  AFFTC-TIH-99-01, 4.6 to 4.8.
func (m *Model) Impact(casKnots float64) float64 {
	return float64(units.StandardAtmosphere * impactRatio(casKnots/m.sound0))
}

// ImpactSlope returns dqc/dCAS in Pa/kt.
//
// Source: derived here from Impact.
func (m *Model) ImpactSlope(casKnots float64) float64 {
	return float64(units.StandardAtmosphere*impactSlope(casKnots/m.sound0)) / m.sound0
}

// CAS returns the calibrated airspeed of an impact pressure, and the Newton iterations taken (0
// while qc/P0 is subsonic).
//
// Takes:   pascals, 0 or more; a negative impact pressure has no airspeed, see State.
// Gives:   knots.
// Source:  Impact solved for CAS.
func (m *Model) CAS(impact float64) (knots float64, iterations int) {
	c, n := machOfRatio(impact / units.StandardAtmosphere)
	return float64(c * m.sound0), n
}

// Mach returns the Mach number of an impact pressure at a static pressure; its branch is chosen by
// qc/Ps, independently of the branch of CAS.
//
// Takes:   pascals, impact 0 or more, static above 0.
// Source:  F(M) = Pt/Ps solved for M, AFFTC-TIH-99-01, 4.6 to 4.8.
func Mach(impact, static float64) (mach float64, iterations int) { return machOfRatio(impact / static) }

// ImpactOfMach returns the impact pressure at a Mach number and a static pressure.
//
// Source: as Mach.
func ImpactOfMach(mach, static float64) float64 { return float64(static * impactRatio(mach)) }

// TAS returns the true airspeed in knots, Mach·a(T).
//
// Source: the definition of the Mach number.
func (m *Model) TAS(mach, kelvin float64) float64 {
	return float64(mach*m.SoundSpeed(kelvin)) / units.Knot
}

// EAS returns the equivalent airspeed in knots.
//
//	EAS = TAS·√(ρ/ρ0) = M·a0·√(Ps/P0), because ρ/ρ0 = (Ps/P0)·(T0/T): the temperature cancels
//
// Source: derived here from the definition of equivalent airspeed.
func (m *Model) EAS(mach, static float64) float64 {
	return float64(float64(mach*m.sound0) * math.Sqrt(static/units.StandardAtmosphere))
}

// The states of a pair of pressures.
const (
	StateNormal   = "normal"
	StateReversed = "reversed" // pitot below static: there is no airspeed, and an indicator can be damaged
)

// State returns StateReversed for an impact pressure below zero, else StateNormal.
func State(impact float64) string {
	if impact < 0 {
		return StateReversed
	}
	return StateNormal
}

func refuseMach(field string) error {
	return document.Refuse(document.CodeRange, field, "the Mach number must stay below 1000")
}
