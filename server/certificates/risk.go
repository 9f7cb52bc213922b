package certificates

import (
	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"
	"gaugewright/server/plant"
)

// leastRisk is the smallest probability that is written as a number; see percent. Below it, no result
// is named as the most doubtful one.
const leastRisk = 0.0001

// risk states, for each run by name, the risks that the calculation found for the rule, and the
// largest probability that the verdict of a point or of a line of its table is wrong.
func (in *Input) risk() string {
	text, t := "", in.tongue()
	for _, p := range in.parts() {
		when, f := t.word(p.when), p.run.Finding
		if r := f.Gauge.Decision.RiskAtLimit; r != nil {
			text = joined(" ", text, t.say("{}: of an error only just accepted the probability that it lies outside the limit "+
				"all the same is {}.", when, t.percent(*r)))
		}
		switch worst, at, found := in.doubtful(p.run); {
		case !found:
		case worst < leastRisk:
			text = joined(" ", text, t.say("{}: the largest probability of a wrong verdict in these results is {}.", when, t.percent(worst)))
		default:
			text = joined(" ", text, t.say("{}: the largest probability of a wrong verdict in these results is {}, at {}.",
				when, t.percent(worst), at))
		}
	}
	return text
}

// doubtful returns the largest probability of a wrong verdict in a run, and where that is. A point
// fails by its worst reading; a reading beside it that passed may be the more doubtful one.
func (in *Input) doubtful(run *plant.Run) (worst float64, at string, found bool) {
	unit, t := in.Visit.Item.Range.Unit, in.tongue()
	for _, p := range run.Finding.Points {
		if p.Risk != nil && (!found || *p.Risk > worst) {
			worst, at, found = *p.Risk, t.number(minusText(plainPoint(p.Point)))+" "+unit, true
		}
	}
	r := gather(run, &in.Visit.Item)
	for i := range r.readings {
		if x, ok := r.risk(i); ok && (!found || x > worst) {
			worst, at, found = x, t.number(r.applied[i])+" "+unit, true
			switch r.readings[i].Direction {
			case "up":
				at += ", " + t.say("rising")
			case "down":
				at += ", " + t.say("falling")
			}
		}
	}
	return worst, at, found
}

// risk returns the probability that the verdict of a reading is wrong; false if it has none that was
// judged with an uncertainty.
//
// Source: JCGM 106:2012, conformance probability with a flat prior (from memory).
func (r *results) risk(i int) (float64, bool) {
	reading := &r.readings[i]
	p := r.points[i]
	if p == nil || reading.Error == nil || reading.LimitLow == nil || reading.LimitHigh == nil {
		return 0, false
	}
	expanded, k, dof := ofReading(p)
	if expanded == nil || k == nil || !(*k > 0) {
		return 0, false
	}
	freedom := 0.0
	if dof != nil {
		freedom = *dof
	}
	value, ok := numeric.ExactOf(*reading.Error)
	u, ok2 := numeric.ExactOf(*expanded / *k)
	low, ok3 := numeric.ExactOf(*reading.LimitLow)
	high, ok4 := numeric.ExactOf(*reading.LimitHigh)
	if !ok || !ok2 || !ok3 || !ok4 {
		return 0, false
	}
	inside := conformity.Conformance(value, u, conformity.Limits{Low: low, High: high, HasLow: true, HasHigh: true}, freedom)
	return conformity.Wrong(reading.Verdict, inside)
}
