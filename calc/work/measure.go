package work

import (
	"math"

	"gaugewright/calc/applied"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/head"
	"gaugewright/calc/leak"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/uncertainty"
)

// This file has how the kinds leak, switch and burst use the standard, the level and the decision
// rule. The model of a measured pressure is the same as a gauge's.

// measuring holds the sources of a pressure's corrections and uncertainty.
type measuring struct {
	Source      applied.Source
	standard    standard.Standard
	HasStandard bool       // a standard is given
	known       bool       // and its uncertainty is stated
	Rule        gauge.Task // only its decision, surroundings and effect of temperature are used
	Lacks       string     // why a verdict cannot be given, "" if nothing is missing
	Liquid      bool       // only the density of a liquid is missing, whose column cancels in any change
	warned      bool       // the warning of an impossible gas column was given

	Elsewhere *standard.Standard
	Taken     func(typed float64) // called with every pressure that a verdict rests on, as typed; may be nil
}

// readDecision reads the decision of a method. Without one, each value is judged by simple
// acceptance, as for a gauge.
func (w *Layout) readDecision() {
	w.Rule.Rule, w.Rule.Guard, w.Rule.Least = conformity.Simple, numeric.ExactInt(1), 0.95
	if d, ok := w.Method.OptionalObject("decision"); ok {
		gauge.ReadDecision(d, &w.Rule)
		w.Ruled = true
	}
}

// readMeasuring reads the standard, the surroundings and the level of a sheet.
func (w *Layout) readMeasuring() {
	in := w.In
	w.Source.Pascals = w.Unit.Factor
	if d, ok := in.OptionalObject("standard"); ok {
		w.measuring.standard = standard.Read(d)
		w.measuring.standard.Elsewhere = w.Elsewhere
		w.HasStandard, w.Source.Standard = true, &w.measuring.standard
		w.known = !(w.measuring.standard.HasFixed && w.measuring.standard.Fixed == 0)
		if !w.known {
			w.Lacks = "the standard has no uncertainty"
			w.Warn(
				"no_uncertainty", "standard.u",
				"an uncertainty of zero is none: the standard has no part in the budget",
			)
		}
	} else {
		w.Warn("no_standard", "standard", "no standard is given: no uncertainty of the pressures is evaluated")
	}
	w.Rule.Pascals = w.Unit.Factor
	gauge.ReadSurroundings(in, &w.Rule)
	gauge.ReadOwn(w.it, &w.Rule)
	w.readLevel()
}

// readLevel reads the column. A level without the data for the weight of the column leaves the
// verdict open.
func (w *Layout) readLevel() {
	h, ok := w.In.OptionalObject("head")
	if !ok {
		return
	}
	if fluid, bare := h.TextOr("fluid", ""), !h.Has("fluid_density_kg_m3"); bare &&
		h.NumberOr("standard_above_m", 0) != 0 {
		switch {
		case fluid == "oil" || fluid == "other":
			w.Lacks, w.Liquid = "a difference of level is stated and the density of its fluid is not", true
		case fluid == "" && !h.Has("mode"):
			w.Lacks = "a difference of level is stated and its fluid is not"
		}
		if w.Lacks != "" && (fluid == "oil" || fluid == "other" || fluid == "") {
			w.Warn("no_density", h.Path("fluid_density_kg_m3"), w.Lacks)
			Skim(h)
			return
		}
	}
	mode := "absolute"
	if w.Gauge {
		mode = "gauge"
	}
	around := w.Rule.Around
	if !around.HasPressure {
		around.Ambient = w.Ambient
	}
	site := head.ReadSite(h, mode, &around)
	if w.In.Err() != nil {
		return
	}
	if err := site.Holds(w.Unit.ToSI(w.High)); err != nil {
		w.Lacks = document.AsFault(err).Message
		w.Warn("no_gas", h.Path("fluid"), w.Lacks)
		return
	}
	w.Source.Site = &site
	for _, n := range site.Notes {
		w.Warn(n.Code, n.Field, n.Message)
	}
}

// atInstrument returns the pressure at the instrument for one typed at the standard.
func (w *Layout) atInstrument(typed float64, field string) float64 {
	if w.Source.Standard == nil && w.Source.Site == nil {
		return typed
	}
	x, exact := numeric.ExactOf(typed)
	c := w.Source.At(typed)
	if !exact {
		p, _ := w.Source.Pressure(typed)
		return p
	}
	if c.Certified {
		x = x.Add(c.Certificate)
	}
	if w.Source.Site != nil && c.Stands && c.HeadPa != 0 {
		x = x.Add(c.Column)
	}
	w.checkColumn(w.Source.Site == nil || c.Stands, field)
	return x.Float()
}

// checkColumn warns once of an impossible column of gas.
func (w *Layout) checkColumn(ok bool, field string) {
	if ok || w.warned {
		return
	}
	w.warned = true
	w.Lacks = "a difference of level is stated, and there is no column of gas at a pressure below zero"
	w.Warn(
		"no_head", field,
		"there is no column of gas at a pressure below zero: the difference of level is not corrected here",
	)
}

// Amount is a pressure, or a difference of two, with its uncertainty terms.
type Amount struct {
	Value, Typed float64
	Terms        []uncertainty.Term
	half         float64 // hard half-width, as between two samples; it also has a term
	Lacks        string
}

// Rectangular appends a term of a half-width if it is not zero.
func Rectangular(list []uncertainty.Term, name string, half float64) []uncertainty.Term {
	if !(half > 0) {
		return list
	}
	u, _ := uncertainty.FromHalfWidth(half, uncertainty.Rectangular)
	return append(
		list,
		uncertainty.Term{Name: name, U: u, Sensitivity: 1, DOF: math.Inf(1), Shape: uncertainty.Rectangular},
	)
}

// AmountOf returns a pressure with its terms: the standard's, level and gravity, the resolution of
// the reading, the instrument's temperature, and half the distance between the two samples around
// it.
func (w *Layout) AmountOf(value, typed, step, half float64) Amount {
	a := Amount{Value: value, Typed: typed, half: half, Lacks: w.Lacks}
	list, err := w.Source.Terms(typed)
	if err != nil {
		a.Lacks = "at " + Figure(typed) + " " + w.Spelling + ": " + document.AsFault(err).Message
	}
	list = Rectangular(list, "res", float64(step*0.5))
	if t := &w.Rule; t.Around.HasTemperature {
		list = Rectangular(
			list, "temp",
			float64(t.Coefficient/100*math.Abs(t.Around.TemperatureC-t.Reference)*(w.High-w.Low)),
		)
	}
	a.Terms = Rectangular(list, "sampling", half)
	if w.Taken != nil {
		w.Taken(typed)
	}
	return a
}

// Apart returns the difference of two pressures. The two readings of one standard count as
// uncorrelated, which can only overstate the uncertainty. Level and gravity belong to the same
// column and enter by their difference, the temperature not at all.
func Apart(a, b *Amount) Amount {
	d := Amount{
		Value: math.Abs(a.Value - b.Value), Typed: math.Abs(a.Typed - b.Typed), half: a.half + b.half,
		Lacks: a.Lacks,
	}
	if d.Lacks == "" {
		d.Lacks = b.Lacks
	}
	d.Terms = Together(a.Terms, b.Terms, func(name string, x, y float64) float64 {
		switch name {
		case "head", "grav", "dens":
			return math.Abs(x - y)
		case "temp":
			return 0
		}
		return math.Sqrt(float64(x*x) + float64(y*y))
	})
	return d
}

// Together combines the terms of two amounts by their names.
func Together(a, b []uncertainty.Term, by func(name string, x, y float64) float64) []uncertainty.Term {
	of := func(list []uncertainty.Term, name string) (uncertainty.Term, bool) {
		for _, t := range list {
			if t.Name == name {
				return t, true
			}
		}
		return uncertainty.Term{}, false
	}
	var list []uncertainty.Term
	add := func(t uncertainty.Term, x, y float64) {
		if t.U = by(t.Name, x, y); t.U > 0 {
			list = append(list, t)
		}
	}
	for _, t := range a {
		other, _ := of(b, t.Name)
		add(t, t.U, other.U)
	}
	for _, t := range b {
		if _, there := of(a, t.Name); !there {
			add(t, 0, t.U)
		}
	}
	return list
}

// Weighed is an amount with its uncertainty and its verdict.
type Weighed struct {
	U, K, Expanded, DOF float64 // DOF 0 if not limited
	Terms               []uncertainty.Term
	Contributions       []float64
	Verdict, Reason     string
	probability         float64
}

// Limits are the limits of an amount.
type Limits struct {
	Low, High       float64
	HasLow, HasHigh bool
}

// Weigh combines the terms of an amount and judges it by the method's rule. An amount is undecided
// if its half-width crosses a limit, if it lacks a term, or if the rule needs an uncertainty and
// none is known.
func (w *Layout) Weigh(a *Amount, l Limits, failed string) Weighed {
	r := Weighed{Terms: a.Terms}
	u, k := 0.0, 2.0
	if w.HasStandard && w.known && a.Lacks == "" && len(a.Terms) > 0 {
		b, err := uncertainty.Combine(a.Terms, nil, w.Rule.Coverage)
		if err != nil {
			a.Lacks = document.AsFault(err).Message
		} else {
			u, k = b.U, b.K
			r.Contributions = b.Contributions
			if b.DOF < leak.ManyDegrees {
				r.DOF = b.DOF
			}
			if w.Rule.HasK {
				k = w.Rule.K.Float()
			}
			r.U, r.K, r.Expanded = u, k, float64(k*u)
		}
	}
	if !l.HasLow && !l.HasHigh {
		return r
	}
	undecided := func(reason string) Weighed {
		r.Verdict, r.Reason = conformity.Undecided, reason
		return r
	}
	within := conformity.Limits{
		Low: numeric.Twelve(l.Low), High: numeric.Twelve(l.High), HasLow: l.HasLow, HasHigh: l.HasHigh,
	}
	value := numeric.Twelve(a.Value)
	rule := w.Rule.Rule
	switch {
	case a.Lacks != "":
		return undecided(a.Lacks)
	case rule != conformity.Simple && u == 0:
		return undecided("this decision rule rests on the uncertainty, and the standard is not given")
	case crosses(a, l):
		return undecided(
			"between the two samples around it the pressure crosses the limit: sample faster, or change it more slowly",
		)
	case rule == conformity.Managed && !(l.HasLow && l.HasHigh && within.Low.Cmp(within.High) < 0):
		return undecided("the managed guard band needs two different limits")
	}
	ux, _ := numeric.ExactOf(u)
	kx, _ := numeric.ExactOf(k)
	if w.Rule.HasK {
		kx = w.Rule.K
	}
	d := conformity.Decide(value, ux, kx, w.Rule.Guard, within, rule, w.Rule.Least, r.DOF)
	r.Verdict, r.Reason, r.probability = d.Verdict, d.Reason, d.Probability
	if r.Verdict == conformity.Fail || r.Verdict == conformity.ConditionalFail {
		r.Reason = failed
	}
	return r
}

// crosses reports whether a limit lies inside the width of an amount.
func crosses(a *Amount, l Limits) bool {
	if !(a.half > 0) {
		return false
	}
	inside := func(limit float64) bool {
		rounding := float64(1e-12 * max(math.Abs(limit), math.Abs(a.Value)))
		return math.Abs(a.Value-limit) < a.half-rounding
	}
	return l.HasLow && inside(l.Low) || l.HasHigh && inside(l.High)
}

// Give puts the result into a figure of the finding.
func (v *Weighed) Give(r *Result, l Limits) {
	r.Low, r.High, r.HasLow, r.HasHigh = l.Low, l.High, l.HasLow, l.HasHigh
	r.Verdict, r.Reason = v.Verdict, v.Reason
	r.state(v.U, v.K, v.Expanded, v.DOF, v.Terms, v.Contributions)
}

// state puts an uncertainty and its terms into a figure.
func (r *Result) state(u, k, expanded, dof float64, terms []uncertainty.Term, contributions []float64) {
	if !(u > 0) {
		return
	}
	r.U, r.K, r.Expanded, r.DOF = u, k, expanded, dof
	for i := range terms {
		if contributions[i] > 0 {
			r.Budget = append(r.Budget, BudgetPart{Term: terms[i].Name, U: contributions[i]})
		}
	}
}

// WriteDecision writes the rule that the figures were judged by, and whether the method states it.
func (w *Layout) WriteDecision(out *document.Writer) {
	out.BeginObject("decision")
	out.Text("rule", string(w.Rule.Rule))
	out.Flag("stated", w.Ruled)
	switch w.Rule.Rule {
	case conformity.Guarded, conformity.GuardedFour:
		out.Number("guard_factor", w.Rule.Guard.Float())
	case conformity.Probability:
		out.Number("min_probability", w.Rule.Least)
	}
	out.End()
}

// WorseVerdict reports whether a verdict is worse than another.
func WorseVerdict(a, b string) bool {
	rank := func(v string) int {
		for i, s := range []string{conformity.Pass, conformity.ConditionalPass, conformity.Undecided, conformity.ConditionalFail, conformity.Fail} {
			if s == v {
				return i
			}
		}
		return 0
	}
	return rank(a) > rank(b)
}
