package gauge

import (
	"math"

	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"
)

// judge gives every reading its verdict, every point the worst of its readings, the gauge the worst of its points.
func (t *Task) judge(out *Result) {
	out.Readings = make([]Judged, len(t.Readings))
	for i := range t.Readings {
		out.Readings[i].Error = t.Readings[i].off
	}
	zones := make([]conformity.Zone, len(out.Points))
	nearest := make([]*Reading, len(out.Points)) // the reading nearest to the limit
	margin := make([]float64, len(out.Points))
	kept := make([]numeric.Exact, len(out.Points))
	for i := range t.Readings {
		r := &t.Readings[i]
		p := &out.Points[r.at]
		limit, limited := t.Limit.At(r.Point, t.read(r.Point, r, false))
		if !limited {
			continue
		}
		first := nearest[r.at] == nil
		zone := zones[r.at]
		if first || limit.Cmp(kept[r.at]) != 0 {
			k := p.kExact
			if !p.HasU {
				k = numeric.ExactInt(2)
			}
			zone = conformity.NewZone(limit, p.U, k, t.Guard, t.Rule, t.Least)
		}
		l := limit.Float()
		if m := l - math.Abs(r.off); first || m < margin[r.at] {
			margin[r.at], nearest[r.at], zones[r.at], kept[r.at] = m, r, zone, limit
		}
		j := &out.Readings[i]
		j.LimitLow, j.LimitHigh, j.Limited, j.Verdict = -l, l, true, zone.Verdict(r.deviation, r.off)
		if p.Verdict == "" || worse(p.Verdict, j.Verdict) != p.Verdict {
			p.Verdict = j.Verdict
		}
		if zone.Empty {
			p.Reason = "the guard band leaves no acceptance zone: the uncertainty is too large for this tolerance"
		}
		if l > 0 {
			j.Fraction = math.Abs(r.off) / l
			if !out.HasWorst || j.Fraction > out.WorstFraction {
				out.HasWorst, out.WorstFraction, out.WorstPoint, out.WorstUp = true, j.Fraction, r.Point.Float(), r.Up
			}
		}
	}
	for i := range zones {
		if zones[i].Empty {
			out.warn("guard_band", "decision", "the guard band is wider than the limit: it leaves no acceptance zone, at one point or more")
			break
		}
	}
	open := false
	for i := range out.Points {
		p := &out.Points[i]
		if p.Verdict == "" {
			open = true
			continue
		}
		if p.HasU {
			z := &zones[i]
			p.Probability, p.Guard = z.Probability(nearest[i].off), z.Guard
			p.Risk = 1 - p.Probability
			if p.Verdict == conformity.Fail || p.Verdict == conformity.ConditionalFail {
				p.Risk = p.Probability
			}
			out.RiskAtLimit = max(out.RiskAtLimit, z.Risk)
		}
		if out.Verdict == "" || worse(out.Verdict, p.Verdict) != out.Verdict {
			out.Verdict, out.Reason = p.Verdict, ""
			if p.Verdict == conformity.Undecided {
				out.Reason = p.Reason
			}
		}
	}
	if open {
		out.warn("not_judged", "readings", "below 10 % of the range the class of a gauge with a stop pin does not hold: the readings there are not judged")
	}
	if out.Verdict == "" {
		out.Verdict, out.Reason = conformity.Undecided, "no reading lies where the limit holds"
	}
}

// classMet returns the best class or grade of the same rule within which every reading lies, by simple acceptance; "" if there is none.
func (t *Task) classMet() string {
	var worst [3]numeric.Exact
	judged := false
	for i := range t.Readings {
		r := &t.Readings[i]
		zone, ok := t.Limit.zone(r.Point)
		if !ok {
			continue
		}
		judged = true
		if e := r.deviation.Abs(); e.Cmp(worst[zone]) > 0 {
			worst[zone] = e
		}
	}
	if !judged {
		return ""
	}
	for _, z := range t.Limit.table() {
		within := true
		for i, s := range [3]string{z.Lower, z.Middle, z.Upper} {
			within = within && worst[i].Cmp(percent(exact(s).Mul(t.Limit.span))) <= 0
		}
		if within {
			return z.Name
		}
	}
	return ""
}

// excess warns of what a class forbids beside errors: rising and falling readings further apart than the permissible error (EN 837-1, from memory;
// JJG 52-1999, published, restated), and more change on tapping than is allowed. The verdict is of the errors alone.
func (t *Task) excess(out *Result, list []cycle) {
	tapping, tapped := t.Limit.tapping()
	for i := range out.Points {
		p := &out.Points[i]
		if !p.Limited {
			continue
		}
		limit, _ := t.Limit.At(p.Point, p.Point)
		if t.Limit.rule == ruleEN837 || t.Limit.rule == ruleGB {
			sum, n := numeric.ExactInt(0), 0
			for _, c := range list {
				if c.up != nil && c.down != nil && c.up[i] != nil && c.down[i] != nil {
					sum = sum.Add(c.down[i].deviation.Sub(c.up[i].deviation).Abs())
					n++
				}
			}
			if sum.Cmp(limit.Mul(numeric.ExactInt(n))) > 0 {
				at, _ := p.Point.Text(12)
				out.warn("hysteresis", "readings", "at "+at+" rising and falling readings differ by more than the permissible error; the class may not allow that, whatever the verdict of the errors")
			}
		}
		if !p.HasFriction {
			continue
		}
		for _, r := range p.readings {
			if !r.HasTap {
				continue
			}
			before := r.deviation.Add(r.BeforeTap.Sub(r.Indicated))
			if tapped && r.BeforeTap.Sub(r.Indicated).Abs().Cmp(tapping) > 0 || t.Limit.rule == ruleB40 && !tapped && before.Abs().Cmp(limit) > 0 {
				out.warn("friction", r.where(), "tapping changes the reading by more than the class or grade allows, whatever the verdict of the errors")
			}
		}
	}
}
