package leak

import (
	"math"

	"gaugewright/calc/numeric"
	"gaugewright/calc/uncertainty"
)

// The rules that can give a decision, as in Decision.By.
const (
	ByPlanned = "planned end" // the one planned look
	ByEarly   = "early"       // a look before it
	ByLate    = "late"        // a look after a planned end that decided nothing
)

// ManyDegrees is a number of degrees of freedom beyond which nothing depends on them.
const ManyDegrees = 1e6

// FirstLook is the number of readings of the first look that may decide early. With fewer, the
// scatter itself is hardly known.
const FirstLook = 8

// The shares of the risk 1 − coverage, on each side, for all looks before the planned end and for
// all after it. The planned look uses half.
const (
	earlyShare = 0.1
	lateShare  = 0.4
)

// settlingTimes multiplies the change of slope that unsettled readings allow, before that is added
// to the rate and compared with the limit. A transient with time constant T adds T/τ times the
// change of its own slope to the mean slope over the time τ, so a factor of five covers T up to
// five times τ. Derived here.
const settlingTimes = 5

// Decision is the verdict against a permissible rate, with the rule that gave it, or how long a
// verdict may still take.
type Decision struct {
	Verdict string
	By      string
	Certain bool    // decided, by any rule
	Margin  float64 // distance from the limit that the rule requires, Pa·m³/s
	NeededS float64 // further seconds; 0 if decided
	Known   bool    // NeededS was estimated
	Bound   string  // what limits the decision: "noise", "volume", "readings" (unseen terms) or "settling"
}

// coverage is the two-sided probability of the expanded uncertainty.
func (x *Test) coverage() float64 {
	if x.Coverage > 0 {
		return x.Coverage
	}
	return uncertainty.TwoSigma
}

// Over reports whether the planned time is over: up to half an interval may be missing.
func (x *Test) Over() bool {
	n := len(x.T)
	return x.Planned <= 0 || n > 0 && x.T[n-1]-x.T[0] >= x.Planned-float64(x.Every*0.5)
}

// closing returns the readings of the planned time alone.
func (x *Test) closing() Test {
	if x.Planned <= 0 {
		return *x
	}
	n := len(x.T)
	for n > LeastSamples && x.T[n-1]-x.T[0] > x.Planned+float64(x.Every*0.5) {
		n--
	}
	c := *x
	c.T, c.P, c.Absolute = x.T[:n], x.P[:n], x.Absolute[:n]
	if x.TemperatureC != nil {
		c.TemperatureC = x.TemperatureC[:n]
	}
	return c
}

// Judge fits a test and judges its rate against a limit. Repeated looks do not raise the total
// risk.
//
// The readings of the planned time are judged once, when that time is over: pass if rate + U ≤
// limit, fail if rate − U > limit. A verdict then closes the test; later readings change nothing.
// Before it, a look at n ≥ 8 readings decides at the one-sided risk α_n = 0.1 (1 − c)/(n H), H = Σ
// 1/m from 8 to the planned number of readings. If the planned look leaves the verdict open, a look
// at n > N readings decides at α_n = 0.4 (1 − c) N/(n (n − 1)). The risks add up to less than 1 − c
// on each side, with half of it for the planned look. If the readings are not settled, nothing is
// decided early, and a pass needs
//
//	rate + U + 5 V·12 max|e|/τ ≤ limit
//
// since a bent line with residuals up to max|e| changes its slope by 12 max|e|/τ over the time.
//
// Takes:   a Test; a limit above zero in Pa·m³/s, or zero for none.
// Gives:   the Fit of the readings that decided, or of all; the Decision.
// Refuses: as Evaluate.
// Source:  guard band after JCGM 106; the union bound over looks is derived here.
func Judge(x Test, limit float64) (Fit, Decision, error) {
	if !x.Over() {
		f, err := Evaluate(x)
		if err != nil || limit <= 0 {
			return f, Decision{Verdict: "undecided"}, err
		}
		d := Decision{Verdict: "undecided", By: ByEarly}
		if f.N >= FirstLook {
			if d, err = f.against(&x, limit, earlyRisk(&x, &f)); err != nil {
				return f, d, err
			}
			d.By = ByEarly
			d.Certain = d.Verdict != "undecided" && !f.Unsettled
			if !d.Certain {
				d.Verdict = "undecided"
			}
		}
		f.further(&x, &d, limit)
		return f, d, nil
	}
	short := x.closing()
	f, err := Evaluate(short)
	if err != nil || limit <= 0 {
		return f, Decision{Verdict: "undecided", By: ByPlanned}, err
	}
	d, err := f.against(&short, limit, float64((1-x.coverage())*0.5))
	if err != nil {
		return f, d, err
	}
	d.By = ByPlanned
	if planned := len(short.T); d.Verdict == "undecided" && planned < len(x.T) {
		if f, err = Evaluate(x); err != nil {
			return f, d, err
		}
		n, first := float64(f.N), float64(planned)
		if d, err = f.against(&x, limit, float64(lateShare*(1-x.coverage())*first)/(n*(n-1))); err != nil {
			return f, d, err
		}
		d.By = ByLate
	}
	if d.Verdict == "pass" && f.Bends(&x, limit, d.Margin) {
		d.Verdict, d.Bound = "undecided", "settling"
	}
	d.Certain = d.Verdict != "undecided"
	f.further(&x, &d, limit)
	return f, d, nil
}

// Bends reports whether unsettled readings allow a rate beyond the limit.
//
// Takes:   the limit, and the distance from it that the rule requires.
func (f *Fit) Bends(x *Test, limit, margin float64) bool {
	return f.Unsettled && f.Rate+margin+float64(settlingTimes*x.Volume*f.Bend) > limit
}

// earlyRisk is the one-sided risk of a look before the planned end.
func earlyRisk(x *Test, f *Fit) float64 {
	every := f.Spacing
	if x.Every > 0 {
		every = min(every, x.Every)
	}
	planned := max(int(x.Planned/every)+1, f.N)
	sum := 0.0
	for m := FirstLook; m <= planned; m++ {
		sum += 1 / float64(m)
	}
	return float64(earlyShare*(1-x.coverage())) / (float64(f.N) * sum)
}

// against judges the rate at a one-sided risk.
func (f *Fit) against(x *Test, limit, risk float64) (Decision, error) {
	d := Decision{Verdict: "undecided", Bound: "noise"}
	b, _, err := f.budget(x, 1-float64(2*risk))
	if err != nil {
		return d, err
	}
	d.Margin = b.Expanded
	switch {
	case f.Rate+d.Margin <= limit:
		d.Verdict = "pass"
	case f.Rate-d.Margin > limit:
		d.Verdict = "fail"
	}
	return d, nil
}

// budget combines the uncertainty that the readings show with the terms that they do not show.
//
//	u_A = V h(p)/t(p, ν), h from the readings with their correlation (noise.half);  u² = u_A² + (Q u_V)² + Σ u_B²;  U = t(p, ν_eff) u
//
// Takes:   the two-sided coverage.
// Gives:   the budget and its terms: "noise", "volume", then those of the Test.
// Source:  GUM G.4.1, Welch–Satterthwaite.
func (f *Fit) budget(x *Test, coverage float64) (uncertainty.Budget, []uncertainty.Term, error) {
	p := float64((1 + coverage) / 2)
	u, dof := f.RateSE, float64(f.N-2)
	if !x.Independent && f.RateSE > 0 {
		if h := float64(x.Volume*f.noise.half(p)) / numeric.StudentTQuantile(p, f.noise.dof); h > u {
			u, dof = h, f.noise.dof
		}
	}
	terms := []uncertainty.Term{{Name: "noise", U: u, Sensitivity: 1, DOF: dof, Shape: uncertainty.Normal},
		{
			Name: "volume", U: float64(math.Abs(f.Rate) * x.VolumeRel), Sensitivity: 1, DOF: math.Inf(1),
			Shape: uncertainty.Normal,
		}}
	terms = append(terms, f.unseen...)
	if coverage == uncertainty.TwoSigma {
		coverage = 0 // k is exactly 2 if the degrees of freedom are not limited
	}
	b, err := uncertainty.Combine(terms, nil, coverage)
	return b, terms, err
}

// further estimates how long an open decision may take, from the scatter, which falls as τ^(−3/2),
// and from the unseen terms, which fall as 1/τ.
func (f *Fit) further(x *Test, d *Decision, limit float64) {
	if d.Certain {
		d.Known = true
		return
	}
	if d.Bound == "" {
		d.Bound = "noise"
	}
	risk := float64((1 - x.coverage()) * 0.5)
	if d.By == ByLate {
		risk = float64(lateShare * (1 - x.coverage()) / float64(f.N))
	}
	k := numeric.StudentTQuantile(1-risk, float64(f.N-2))
	margin := math.Abs(f.Rate - limit)
	volume, unseen := 0.0, 0.0
	for i := range f.Terms {
		switch t := &f.Terms[i]; t.Name {
		case "noise":
		case "volume":
			volume = float64(k * t.U)
		default:
			unseen += square(t.U)
		}
	}
	unseen = float64(k * math.Sqrt(unseen))
	if volume >= margin {
		d.Bound = "volume"
		return
	}
	if d.Bound == "settling" {
		return
	}
	noise := float64(k * f.Factor)
	need := cubeRoot(float64(12 * f.Spacing * square(noise*f.Sigma*x.Volume/(margin-volume))))
	if unseen > 0 {
		if unseen > float64(noise*f.RateSE) {
			d.Bound = "readings"
		}
		need = f.wait(x, noise, margin-volume, unseen)
	}
	need = max(need, x.Planned)
	d.NeededS, d.Known = max(need-f.Elapsed, f.Spacing), true
}

// wait returns the time after which kσV√(12Δt/τ³) and the unseen part, which falls as 1/τ, are
// together below a margin.
func (f *Fit) wait(x *Test, k, margin, unseen float64) float64 {
	above := func(t float64) bool {
		noise := float64(k * f.Sigma * x.Volume * math.Sqrt(12*f.Spacing/(t*t*t)))
		return noise+float64(unseen*f.Elapsed/t) > margin
	}
	low, high := 0.0, f.Elapsed
	for range 60 {
		if !above(high) {
			break
		}
		low, high = high, float64(2*high)
	}
	for range 50 {
		middle := float64((low + high) / 2)
		if above(middle) {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// Drift returns the terms of unmeasured changes: of temperature without a thermometer, and of air
// pressure without a barometer.
//
//	u = p ΔT/(T τ) V, with ΔT the standard uncertainty of the change over the time;  u = (weather an hour)/3600 V
//
// Takes:   the absolute pressure at the end in Pa, the temperature in K, the time in s, the volume;
// the drifts as standard uncertainties, in K over the time and in Pa an hour, 0 for none.
// Gives:   the terms, standard uncertainties of the rate.
// Source:  ideal gas. The usual sizes, UsualDriftK and UsualDriftPaH: common practice, no source.
func Drift(pressure, temperatureK, elapsed, volume, driftK, driftPaH float64) []uncertainty.Term {
	return append(
		Term(nil, "temperature", float64(pressure*driftK/temperatureK/elapsed*volume)),
		Term(nil, "barometer", float64(driftPaH/3600*volume))...,
	)
}

// Term appends a term of a rate to a list if it is not zero.
func Term(list []uncertainty.Term, name string, u float64) []uncertainty.Term {
	if !(u > 0) {
		return list
	}
	return append(list, uncertainty.Term{Name: name, U: u, Sensitivity: 1, DOF: math.Inf(1), Shape: uncertainty.Normal})
}

// Step returns what a sensor's resolution adds to the uncertainty of a rate if the scatter is too
// small to show it: the first and the last reading may each be off by half a step.
func Step(step float64, x *Test, f *Fit) float64 {
	if !(f.Sigma < step/2) {
		return 0
	}
	return float64(step / math.Sqrt(6) / f.Elapsed * x.Volume)
}

// Unmeasured changes for a method that states none, as standard uncertainties. Common practice, no
// source: steel in a hall, quiet weather.
const (
	UsualDriftK   = 0.2 // over the measuring time
	UsualDriftPaH = 100 // per hour
)
