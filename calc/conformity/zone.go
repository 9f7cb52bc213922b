package conformity

import (
	"math"

	"gaugewright/calc/numeric"
)

// Zone judges errors against one limit on both sides. It uses floats where they decide beyond
// doubt, and exact fractions near a limit, so that its verdicts are those of Decide.
type Zone struct {
	Guard      float64
	Empty      bool // the guard band leaves no acceptance zone
	limit      numeric.Exact
	limitFloat float64
	accept     float64
	u          float64
	k, factor  numeric.Exact
	rule       Rule
	least      float64
	dof        float64
	deviation  numeric.Student
}

// doubt is the distance from a limit below which floats do not decide, relative to the sizes
// compared: some thousand times their rounding.
const doubt = 1e-12

// NewZone prepares a limit.
//
// Takes:   the limit ≥ 0, standard uncertainty u ≥ 0, k and guard factor, rule, least probability
// and degrees of freedom as for Decide.
func NewZone(limit numeric.Exact, u float64, k, factor numeric.Exact, rule Rule, least, dof float64) Zone {
	z := Zone{
		limit: limit, limitFloat: limit.Float(), u: u, k: k, factor: factor,
		rule: rule, least: least, dof: dof, deviation: deviation(dof),
	}
	switch rule {
	case Guarded, GuardedFour:
		z.Guard = float64(factor.Float() * float64(k.Float()*u))
	case Managed:
		expanded := float64(k.Float() * u)
		z.Guard = float64(expanded * ManagedGuard(z.limitFloat/expanded))
		if u == 0 {
			z.Guard = 0
		}
	case Simple, Probability:
	}
	z.accept = z.limitFloat - z.Guard
	if margin := float64(doubt * (z.limitFloat + z.Guard)); z.Guard > 0 && z.accept <= margin {
		z.Empty = z.accept < -margin || z.Decide(numeric.ExactInt(0)).Verdict == Undecided
	}
	return z
}

// Risk returns the risk of a wrong acceptance for an error just at the acceptance limit, or 1 − the
// least probability.
func (z *Zone) Risk() float64 {
	switch {
	case z.rule == Probability:
		return 1 - z.least
	case z.u > 0:
		return z.deviation.CDF(-z.Guard / z.u)
	}
	return 0
}

// Decide judges an error wholly by exact fractions.
func (z *Zone) Decide(e numeric.Exact) Decided {
	u, _ := numeric.ExactOf(z.u)
	return Decide(
		e, u, z.k, z.factor, Limits{Low: z.limit.Neg(), High: z.limit, HasLow: true, HasHigh: true},
		z.rule, z.least, z.dof,
	)
}

// Verdict judges an error.
//
// Takes:   the error, exact and as the nearest float64.
// Gives:   the verdict that Decide gives.
func (z *Zone) Verdict(e numeric.Exact, near float64) string {
	a := math.Abs(near)
	if z.Empty {
		far := z.limitFloat + float64(z.k.Float()*z.u)
		switch {
		case math.Abs(a-far) <= float64(doubt*(far+a)):
			return z.Decide(e).Verdict
		case a > far:
			return Fail
		}
		return Undecided
	}
	if z.rule == Probability {
		p := z.Probability(near)
		if math.Abs(p-z.least) <= doubt {
			return z.Decide(e).Verdict
		}
		if p > z.least {
			return Pass
		}
		return Fail
	}
	margin := float64(doubt * (z.limitFloat + math.Abs(z.Guard) + a))
	reject := z.limitFloat + z.Guard
	switch {
	case math.Abs(a-z.accept) <= margin || z.rule == GuardedFour && (math.Abs(a-z.limitFloat) <= margin || math.Abs(a-reject) <= margin):
		return z.Decide(e).Verdict
	case a < z.accept:
		return Pass
	case z.rule == GuardedFour && a < z.limitFloat:
		return ConditionalPass
	case z.rule == GuardedFour && a < reject:
		return ConditionalFail
	}
	return Fail
}

// Probability returns the probability that the true error lies within the limits: Conformance of
// the nearest floats.
func (z *Zone) Probability(e float64) float64 {
	return within(-z.limitFloat-e, z.limitFloat-e, z.u, &z.deviation)
}
