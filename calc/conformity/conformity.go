package conformity

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
)

// Rule is a decision rule.
type Rule string

// The rules: three of ILAC-G8:09/2019, the managed guard band of ANSI/NCSL Z540.3, and a least
// conformance probability (JCGM 106).
const (
	Simple      Rule = "simple"
	Guarded     Rule = "guarded"
	GuardedFour Rule = "guarded-four"
	Managed     Rule = "managed"
	Probability Rule = "probability"
)

// The verdicts.
const (
	Pass            = "pass"
	Fail            = "fail"
	ConditionalPass = "conditional-pass"
	ConditionalFail = "conditional-fail"
	Undecided       = "undecided"
)

// Limits are the tolerance limits; one of them may be absent.
type Limits struct {
	Low, High       numeric.Exact
	HasLow, HasHigh bool
}

// Decided is a verdict with what led to it.
type Decided struct {
	Verdict     string
	Reason      string  // why the verdict is undecided
	Probability float64 // that the true value lies within the limits
	Guard       float64
	Acceptance  Limits
	HasZone     bool    // the rule has an acceptance zone
	Risk        float64 // probability of being out of tolerance for a value just at the acceptance limit
}

// Decide judges a value.
//
// Everything that is compared is compared as exact fractions of the decimals given, so that a value
// that equals a limit is inside.
//
//	guard w = factor · k · u;  acceptance zone low + w … high − w;  "guarded-four" adds the bands of width w on both sides of each limit
//	managed: w = k u · M2(TUR), TUR = half the tolerance over k u;  probability: pass if F((high−y)/u) − F((low−y)/u) reaches the least one,
//	F normal, or Student's t where the degrees of freedom are limited
//
// Takes:   value, standard uncertainty u ≥ 0, coverage factor k and guard factor as exact decimals;
// limits; least probability for the rule that uses one; the degrees of freedom of u, 0 if not
// limited.
// Gives:   the decision; if the acceptance zone is empty, "fail" for a value further than k u
// beyond a limit, else "undecided" with the reason.
// Source:  ILAC-G8:09/2019 clauses 4.2.1, 4.2.2; JCGM 106:2012 (formulas from memory); M2 as in
// ManagedGuard.
func Decide(value, u, k, factor numeric.Exact, limits Limits, rule Rule, least, dof float64) Decided {
	d := Decided{Probability: Conformance(value, u, limits, dof)}
	guard := numeric.ExactInt(0)
	switch rule {
	case Guarded, GuardedFour:
		guard = factor.Mul(k).Mul(u)
	case Managed:
		half, _ := limits.High.Sub(limits.Low).Div(numeric.ExactInt(2))
		u95 := u.Mul(k)
		w := float64(u95.Float() * ManagedGuard(half.Float()/u95.Float()))
		guard, _ = numeric.ExactOf(w)
	case Simple, Probability:
	}
	if rule == Probability {
		d.Verdict = Fail
		if d.Probability >= least {
			d.Verdict = Pass
		}
		d.Risk = 1 - least
		return d
	}
	d.Guard = guard.Float()
	d.Risk = atLimit(guard, u, dof)
	d.Acceptance, d.HasZone = shrink(limits, guard), true
	if limits.HasLow && limits.HasHigh && guard.Sign() > 0 && d.Acceptance.Low.Cmp(d.Acceptance.High) >= 0 {
		d.HasZone = false
		if !inside(value, shrink(limits, k.Mul(u).Neg())) { // so far outside that no uncertainty of this size explains it
			d.Verdict = Fail
			return d
		}
		d.Verdict, d.Reason = Undecided, "the guard band leaves no acceptance zone: the uncertainty is too large for this tolerance"
		return d
	}
	switch {
	case inside(value, d.Acceptance):
		d.Verdict = Pass
	case rule == GuardedFour && inside(value, limits):
		d.Verdict = ConditionalPass
	case rule == GuardedFour && inside(value, shrink(limits, guard.Neg())):
		d.Verdict = ConditionalFail
	default:
		d.Verdict = Fail
	}
	return d
}

func shrink(l Limits, by numeric.Exact) Limits {
	return Limits{Low: l.Low.Add(by), High: l.High.Sub(by), HasLow: l.HasLow, HasHigh: l.HasHigh}
}

func inside(x numeric.Exact, l Limits) bool {
	return !(l.HasLow && x.Cmp(l.Low) < 0) && !(l.HasHigh && x.Cmp(l.High) > 0)
}

// deviation is the distribution of the deviation in standard uncertainties: Student's t of limited
// degrees of freedom (dof above 0), else the normal one (GUM G.3).
func deviation(dof float64) numeric.Student {
	if dof > 0 {
		return numeric.NewStudent(dof)
	}
	return numeric.NewStudent(math.Inf(1))
}

// atLimit returns F(−w/u), the one-sided risk of ILAC-G8 for a value just accepted; 0 if u is 0.
func atLimit(guard, u numeric.Exact, dof float64) float64 {
	if u.Sign() == 0 {
		return 0
	}
	d := deviation(dof)
	return d.CDF(-guard.Float() / u.Float())
}

// Conformance returns the probability that the true value lies within the limits, for a
// distribution about the value: normal, or Student's t where the degrees of freedom of u are
// limited (dof above 0).
//
// Source: JCGM 106:2012, conformance probability with a flat prior (from memory).
func Conformance(value, u numeric.Exact, limits Limits, dof float64) float64 {
	low, high := math.Inf(-1), math.Inf(1)
	if limits.HasLow {
		low = limits.Low.Sub(value).Float()
	}
	if limits.HasHigh {
		high = limits.High.Sub(value).Float()
	}
	d := deviation(dof)
	return within(low, high, u.Float(), &d)
}

// Wrong returns the probability that a verdict is wrong, from that of the true value being within the
// limits; false for a verdict that does not say where the value is.
//
// Source: JCGM 106:2012, specific risks (from memory).
func Wrong(verdict string, inside float64) (risk float64, says bool) {
	switch verdict {
	case Pass, ConditionalPass:
		return 1 - inside, true
	case Fail, ConditionalFail:
		return inside, true
	}
	return 0, false
}

// within is Conformance for limits counted from the value; an absent limit is infinite.
func within(low, high, u float64, d *numeric.Student) float64 {
	if u == 0 {
		if low <= 0 && high >= 0 {
			return 1
		}
		return 0
	}
	p := 1.0
	if !math.IsInf(high, 1) {
		p = d.CDF(high / u)
	}
	if !math.IsInf(low, -1) {
		p -= d.CDF(low / u)
	}
	return p
}

// ManagedGuard returns M2 = 1.04 − exp(0.38 ln TUR − 0.54), not below zero: the acceptance limit is
// L − 2u·M2.
//
// Source: Harben and Reese, NCSLI Measure 2012, for ANSI/NCSL Z540.3 (formula from memory).
func ManagedGuard(ratio float64) float64 {
	return max(0, 1.04-numeric.Exp(float64(0.38*numeric.Log(ratio))-0.54))
}

// Global holds the risks of a rule over a whole population of instruments.
type Global struct{ FalseAccept, FalseReject, Acceptance float64 }

// Risks returns the global risks: the population's errors are normal about zero with a share in
// tolerance, the measurement normal about the true error with u = L/(2·ratio), the acceptance limit
// is given as a fraction of L.
//
//	false accept = ∫ outside f(x) P(accepted | x) dx;  false reject = ∫ inside f(x) P(rejected | x) dx
//
// Takes:   ratio above 0, share between 0 and 1, acceptance in (0, …).
// Gives:   probabilities to about 1e-10.
// Source:  definition; integrated by Simpson's rule over the width where the integrand is not
// negligible.
func Risks(ratio, share, acceptance float64) Global {
	sigma := 1 / numeric.NormalQuantile(float64((1+share)/2))
	u := 0.5 / ratio
	accepted := func(x float64) float64 {
		return numeric.NormalCDF((acceptance-x)/u) - numeric.NormalCDF((-acceptance-x)/u)
	}
	density := func(x float64) float64 { return numeric.NormalPDF(x/sigma) / sigma }
	reach := float64(12 * u)
	g := Global{Acceptance: acceptance}
	g.FalseAccept = float64(2 * simpson(
		1, 1+max(reach, acceptance-1+reach),
		func(x float64) float64 { return float64(density(x) * accepted(x)) },
	))
	from := max(0, min(1, acceptance-reach))
	g.FalseReject = float64(
		2 * simpson(from, 1, func(x float64) float64 { return float64(density(x) * (1 - accepted(x))) }),
	)
	return g
}

func simpson(a, b float64, f func(float64) float64) float64 {
	const panels = 2000
	if !(b > a) {
		return 0
	}
	h := (b - a) / panels
	sum := f(a) + f(b)
	for i := 1; i < panels; i++ {
		w := 2.0
		if i%2 == 1 {
			w = 4
		}
		sum += float64(w * f(a+float64(float64(i)*h)))
	}
	return float64(sum * h / 3)
}

// decimal reads a number of a document as an exact fraction of the decimals given.
func decimal(in *document.Reader, name string) (numeric.Exact, bool) {
	d, ok := in.OptionalDecimal(name)
	if !ok || in.Err() != nil {
		return numeric.ExactInt(0), ok
	}
	x, good := numeric.ParseExact(d.Text)
	if !good || math.Abs(d.Value) > 1e30 {
		in.Fail(document.CodeRange, name, "is too large or too long to be compared exactly")
	}
	return x, true
}
