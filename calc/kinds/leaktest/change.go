package leaktest

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/leak"
	"gaugewright/calc/numeric"
	"gaugewright/calc/uncertainty"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// seenAround holds how well the changes of temperature and air pressure over a run are known.
type seenAround struct {
	uT, uB           float64 // of one reading, K and Pa
	driftK, driftPaH float64 // if the change was not measured
	anyAir           bool    // the pressure of the air is a guess
}

// anyAir is how far an unstated air pressure may be from the standard one, as a half-width, Pa.
// Common practice, no source: weather, and a few hundred metres.
const anyAir = 5000

// missingTerms sets why no verdict can be given for a run. The column of a liquid is constant, so a
// change is known without the liquid's density, but an end pressure is not.
func (l *leakWork) missingTerms(r *leakRun) {
	if r.lacks = l.Lacks; l.Liquid && r.form != limitEnd {
		r.lacks = ""
	}
	if !l.HasStandard || r.lacks != "" {
		return
	}
	for _, p := range r.pressures {
		if _, err := l.Source.Terms(p); err != nil {
			r.lacks = "at " + work.Figure(p) + " " + l.Spelling + ": " + document.AsFault(err).Message
			return
		}
	}
}

// unseen returns the terms of a rate that the scatter of the readings does not show.
//
// A constant error of the standard cancels in a slope, and so does the column of a liquid. An error
// that grows with the pressure does not cancel (applied.Source.Gain). If the temperature changed,
// the absolute pressure is divided by it, and a constant error δ looks like a leak of δ ΔT/T. Such
// an error is that of the standard and, for a gauge sensor, that of an air pressure that nobody
// measured.
func (l *leakWork) unseen(r *leakRun, x *leak.Test, f *leak.Fit) []uncertainty.Term {
	last := f.N - 1
	kelvin, compensated, changed := x.ReferenceK, x.Compensated(last), 0.0
	if x.TemperatureC != nil {
		kelvin = x.TemperatureC[0] + units.ZeroCelsius
		changed = math.Abs(x.TemperatureC[last] - x.TemperatureC[0])
	}
	perSecond := x.Volume / f.Elapsed
	byT := float64(math.Sqrt2*r.seen.uT) + r.seen.driftK
	list := leak.Term(nil, "temperature", float64(compensated*byT/kelvin*perSecond))
	list = leak.Term(list, "barometer", float64(math.Sqrt2*r.seen.uB*perSecond)+float64(r.seen.driftPaH/3600*x.Volume))
	if r.stated {
		list = leak.Term(list, "resolution", leak.Step(r.step, x, f))
	}
	offset := 0.0
	if r.seen.anyAir && l.Gauge {
		offset = anyAir / math.Sqrt(3)
	}
	if l.HasStandard && r.lacks == "" {
		typed := r.pressures[last]
		if gains, err := l.Source.Gain(typed, l.Low, l.High); err == nil {
			for _, g := range gains {
				list = leak.Term(list, g.Name, float64(math.Abs(f.Rate)*g.U))
			}
		}
		if terms, err := l.Source.Terms(typed); err == nil {
			square := float64(offset * offset)
			for _, t := range terms {
				u := l.Unit.Interval(t.U)
				square += float64(u * u)
			}
			offset = math.Sqrt(square)
		}
	}
	return leak.Term(list, "absolute", float64(offset*changed/kelvin*perSecond))
}

// change is how far the pressure moved towards that of the room, or for a limit of the end pressure
// where it ended, in the phase's unit.
type change struct {
	work.Amount
	raw float64
}

// change computes the amount that a limit of the change or of the end pressure judges. It uses the
// pressures as they would have been at the first temperature and air pressure, or as read if a rule
// says so.
//
//	u² = 2 s², or step²/6 where the step hides the scatter, + the terms of the rate that the scatter does not show, times the time; of an end pressure also
//	those of the standard
//
// Source:  derived here; two readings of independent scatter.
func (l *leakWork) change(r *leakRun) {
	f, x := &r.fit, &r.test
	last := f.N - 1
	end := r.shown[last]
	raw := r.end
	if r.byRule || x.TemperatureC == nil && x.Absolute[last]-x.P[last] == x.Absolute[0]-x.P[0] {
		end = raw
	}
	fall := func(end float64) float64 {
		if r.rise {
			return end - r.start
		}
		return r.start - end
	}
	r.moved = change{Amount: work.Amount{Value: fall(end), Typed: r.pressures[last]}, raw: fall(raw)}
	if r.form == limitEnd {
		r.moved.Value, r.moved.raw = end, raw
	}
	if r.byRule {
		return
	}
	add := func(name string, u, dof float64) {
		if u > 0 {
			r.moved.Terms = append(
				r.moved.Terms,
				uncertainty.Term{Name: name, U: u, Sensitivity: 1, DOF: dof, Shape: uncertainty.Normal},
			)
		}
	}
	add("noise", r.unit.FromInterval(float64(math.Sqrt2*f.Sigma)), float64(f.N-2))
	for _, t := range f.Terms[2:] {
		add(t.Name, r.unit.FromInterval(float64(t.U/x.Volume*f.Elapsed)), math.Inf(1))
	}
	if r.form != limitEnd || !l.HasStandard || r.lacks != "" {
		return
	}
	if terms, err := l.Source.Terms(r.moved.Typed); err == nil {
		for _, t := range terms {
			add(t.Name+" at the end", r.unit.FromInterval(l.Unit.Interval(t.U)), t.DOF)
		}
	}
}

// meanOf returns a term for the mean of two runs by one standard and one sensor: at most the mean
// of the two terms.
func meanOf(_ string, x, y float64) float64 { return float64((x + y) / 2) }

// judged judges an amount by the method's rule if it states one.
func (l *leakWork) judged(a *work.Amount, within work.Limits, u, k, dof float64) conformity.Decided {
	if l.Rule.HasK {
		k = l.Rule.K.Float()
	}
	if math.IsInf(dof, 1) {
		dof = 0
	}
	ux, _ := numeric.ExactOf(u)
	kx, _ := numeric.ExactOf(k)
	w := conformity.Limits{
		Low: numeric.Twelve(within.Low), High: numeric.Twelve(within.High), HasLow: within.HasLow,
		HasHigh: within.HasHigh,
	}
	return conformity.Decide(numeric.Twelve(a.Value), ux, kx, l.Rule.Guard, w, l.Rule.Rule, l.Rule.Least, dof)
}

// changeLimits returns the limits of a change or of an end pressure.
func (r *leakRun) changeLimits() work.Limits {
	if r.form == limitEnd && !r.rise {
		return work.Limits{Low: r.leakPhase.limit, HasLow: true}
	}
	return work.Limits{High: r.leakPhase.limit, HasHigh: true}
}

// weighChange returns the uncertainty of a change at the method's confidence.
func (l *leakWork) weighChange(r *leakRun) (uncertainty.Budget, error) {
	if len(r.moved.Terms) == 0 {
		return uncertainty.Budget{K: 2, DOF: math.Inf(1)}, nil
	}
	coverage := 0.0
	if l.confidence != 0.95 {
		coverage = l.confidence
	}
	return uncertainty.Combine(r.moved.Terms, nil, coverage)
}

// decideChange compares a change or an end pressure with its limit: it passes or fails if it is at
// least U away from the limit, or by the method's rule if it states one.
func (l *leakWork) decideChange(r *leakRun) {
	b, err := l.weighChange(r)
	if err != nil {
		r.verdict, r.reason = conformity.Undecided, document.AsFault(err).Message
		return
	}
	w := r.changeLimits()
	a := &r.moved.Amount
	if l.Ruled && !r.byRule {
		d := l.judged(a, w, b.U, b.K, b.DOF)
		r.verdict, r.reason = d.Verdict, d.Reason
	} else {
		beyond := a.Value - w.High // how far outside
		if w.HasLow {
			beyond = w.Low - a.Value
		}
		small := float64(1e-12 * max(math.Abs(r.leakPhase.limit), math.Abs(r.pressure)))
		switch {
		case beyond+b.Expanded <= small:
			r.verdict, r.reason = conformity.Pass, ""
		case beyond-b.Expanded > small:
			r.verdict = conformity.Fail
		default:
			r.verdict, r.reason = conformity.Undecided, "the limit lies within the uncertainty of the change: "+largest(r.moved.Terms)
		}
	}
	if r.verdict == conformity.Fail {
		r.reason = "the change is larger than its limit"
		if r.form == limitEnd {
			r.reason = "the end pressure is beyond its limit"
		}
	}
}

// largest names in words the largest term of an uncertainty.
func largest(terms []uncertainty.Term) string {
	most := -1
	for i := range terms {
		if most < 0 || terms[i].U > terms[most].U {
			most = i
		}
	}
	if most < 0 {
		return "measure it better"
	}
	switch terms[most].Name {
	case "temperature":
		return "read the temperature before and after, or more finely"
	case "barometer":
		return "read the barometer before and after"
	case "resolution":
		return "read the pressure more finely"
	case "noise":
		return "the readings scatter"
	}
	return "the standard is not good enough for it"
}
