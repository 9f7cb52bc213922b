package gauge

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"
)

// classMet returns the best class or grade of the same rule whose own conditions the readings meet;
// "" if there is none.
//
// The decision rule accepts every reading with the limits of the class, and tapping changes no
// reading by more than the class allows. EN 837-1 and GB/T 1226 also require a rise and a fall
// whose readings lie no further apart than the permissible error, and EN 837-1 as many test points
// as the class asks for.
func (t *Task) classMet(out *Result, list []cycle) string {
	table := t.Limit.table()
	for i := range table {
		l := t.Limit
		l.take(&table[i])
		if t.meets(out, list, &l) {
			return l.class
		}
	}
	return ""
}

func (t *Task) meets(out *Result, list []cycle, l *Limit) bool {
	if max(t.Planned, len(out.Points)) < l.leastPoints() {
		return false
	}
	judged := false
	for i := range out.Points {
		p := &out.Points[i]
		limit, ok := l.At(p.Point, p.Point)
		worst := out.nearest[i]
		if !ok || worst == nil {
			continue
		}
		judged = true
		if math.Abs(worst.off) > float64(1.000001*limit.Float()) && t.Rule != conformity.Managed { // rules out most classes
			return false
		}
		if zone := t.zone(p, limit); zone.Verdict(worst.deviation, worst.off) != conformity.Pass {
			return false
		}
	}
	if !judged || l.turns() && !turned(list) {
		return false
	}
	for i := range out.Points {
		if t.apart(l, &out.Points[i], list, i) || t.tapped(l, &out.Points[i]) != nil {
			return false
		}
	}
	return true
}

// turns reports whether a rule asks for rising and falling readings and limits their difference.
func (l *Limit) turns() bool { return l.rule == ruleEN837 || l.rule == ruleGB }

func turned(list []cycle) bool {
	for i := range list {
		if list[i].up != nil && list[i].down != nil {
			return true
		}
	}
	return false
}

// apart reports whether rising and falling readings at a point lie further apart than the
// permissible error, in the mean over the cycles.
//
// Source:  EN 837-1, from memory; JJG 52-1999, published, restated.
func (t *Task) apart(l *Limit, p *PointResult, list []cycle, i int) bool {
	limit, ok := l.At(p.Point, p.Point)
	if !ok || !l.turns() || !p.HasHysteresis || p.Hysteresis < float64(0.999999*limit.Float()) {
		return false
	}
	sum, n := numeric.ExactInt(0), 0
	for _, c := range list {
		if c.up != nil && c.down != nil && c.up[i] != nil && c.down[i] != nil {
			sum = sum.Add(c.down[i].deviation.Sub(c.up[i].deviation).Abs())
			n++
		}
	}
	return sum.Cmp(limit.Mul(numeric.ExactInt(n))) > 0
}

// tapped returns a reading at a point that tapping changes by more than the rule allows, or for
// grade 4A one that is outside before tapping; nil if there is none.
func (t *Task) tapped(l *Limit, p *PointResult) *Reading {
	if !p.HasFriction {
		return nil
	}
	limit, ok := l.At(p.Point, p.Point)
	if !ok {
		return nil
	}
	allowed, has := l.tapping()
	for _, r := range p.readings {
		if !r.HasTap {
			continue
		}
		before := r.deviation.Add(r.BeforeTap.Sub(r.Indicated))
		if has && r.BeforeTap.Sub(r.Indicated).Abs().Cmp(allowed) > 0 || l.rule == ruleB40 && !has &&
			before.Abs().Cmp(limit) > 0 {
			return r
		}
	}
	return nil
}

// conditions checks a gauge against what its class requires besides the errors. A requirement from
// a published text fails the gauge; one from memory leaves the verdict open.
func (t *Task) conditions(out *Result, list []cycle) {
	worst := conformity.Undecided
	if t.Limit.rule == ruleGB {
		worst = conformity.Fail
	}
	spoil := func(p *PointResult, code, field, reason string) {
		out.warn(code, field, reason)
		if worse(p.Verdict, worst) != p.Verdict {
			p.Verdict, p.Reason = worst, reason
		}
		if worse(out.Verdict, worst) != out.Verdict {
			out.Verdict, out.Reason = worst, reason
		}
	}
	for i := range out.Points {
		p := &out.Points[i]
		if !p.Limited {
			continue
		}
		at, _ := p.Point.Text(12)
		if t.apart(&t.Limit, p, list, i) {
			spoil(p, "hysteresis", "readings", "at "+at+" rising and falling readings differ by more than the permissible error, which the class does not allow")
		}
		if r := t.tapped(&t.Limit, p); r != nil {
			spoil(
				p, "friction", r.where(),
				"at "+at+" tapping changes the reading by more than the class or grade allows",
			)
		}
	}
	t.warm(out)
}

// warm warns if the temperature is not noted, or so far from the reference that by EN 837-1 the
// indication may change by more than a tenth of the class's limit.
func (t *Task) warm(out *Result) {
	if t.Limit.rule != ruleEN837 {
		return
	}
	if !t.Around.HasTemperature {
		out.warn(
			"class_temperature", "surroundings.temperature_c",
			"the temperature is not noted: the limits of EN 837-1 hold at "+text(t.Reference)+" °C",
		)
		return
	}
	d := math.Abs(t.Around.TemperatureC - t.Reference)
	if more := float64(enTemperature * d); more > float64(0.1*exact(t.Limit.class).Float()) {
		out.warn("class_temperature", "surroundings.temperature_c", "the limits of EN 837-1 hold at "+text(t.Reference)+" °C; at "+text(t.Around.TemperatureC)+
			" °C the indication may move by another "+text(more)+" % of span, which the verdict does not allow for")
	}
}

func text(x float64) string {
	e, _ := numeric.ExactOf(numeric.RoundSignificant(x, 4))
	s, _ := e.Text(12)
	return s
}
