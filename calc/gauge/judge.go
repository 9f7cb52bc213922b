package gauge

import (
	"math"
	"slices"

	"gaugewright/calc/conformity"
	"gaugewright/calc/numeric"
)

// judge gives every reading its verdict, every point the worst of its readings, the gauge the worst
// of its points.
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
			zone = t.zone(p, limit)
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
		if zone.Empty && j.Verdict == conformity.Undecided {
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
			out.warn(
				"guard_band", "decision",
				"the guard band is wider than the limit: it leaves no acceptance zone, at one point or more",
			)
			break
		}
	}
	t.together(out, zones)
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
			if risk, says := conformity.Wrong(p.Verdict, p.Probability); says {
				p.Risk = risk
			} else { // undecided: of taking it for within
				p.Risk = 1 - p.Probability
			}
			out.RiskAtLimit = max(out.RiskAtLimit, z.Risk())
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
	out.nearest = nearest
}

// together turns a failure into a conditional one if only few readings of a point failed. Each of m
// readings is a separate look at one error: if each could fail at the risk α of the rule, an error
// just at its limit would be rejected with nearly m α.
//
//	the j-th furthest outside, x_(j) = (|e| − L)/u:  fail if x_(j) > q(j α/m) for any j = 1 … m;  α = 1 − F(factor·k), q its quantile
//
// If all readings lie beyond L + factor·U, the point fails as before. F is Student's t with the
// fewest degrees of freedom of any term: so far out, the effective degrees of freedom of Welch and
// Satterthwaite are too many and would reject more than the risk. calc/COVERAGE.md has the case:
// two rises of three points.
//
// Takes:   the zones of the points, for the rule "guarded-four" only: other rules reject what they
// do not accept.
// Source:  Simes 1986, for readings that move together Sarkar 1998 (both from memory).
func (t *Task) together(out *Result, zones []conformity.Zone) {
	if t.Rule != conformity.GuardedFour {
		return
	}
	for i := range out.Points {
		p := &out.Points[i]
		if p.Verdict != conformity.Fail || zones[i].Empty || !(p.one.u > 0) {
			continue
		}
		if t.beyond(out, i) {
			continue
		}
		p.Verdict = conformity.ConditionalFail
		for k := range t.Readings {
			if j := &out.Readings[k]; t.Readings[k].at == i && j.Verdict == conformity.Fail {
				j.Verdict = conformity.ConditionalFail
			}
		}
	}
}

// beyond reports whether the readings of a point lie outside for certain, on one side.
func (t *Task) beyond(out *Result, at int) bool {
	p := &out.Points[at]
	var high, low []float64
	m, failed := 0, [2]int{}
	for k := range t.Readings {
		j := &out.Readings[k]
		if t.Readings[k].at != at || !j.Limited {
			continue
		}
		m++
		off := t.Readings[k].off
		if j.Verdict == conformity.Fail && off > 0 {
			failed[1]++
		} else if j.Verdict == conformity.Fail {
			failed[0]++
		}
		high, low = append(high, (off-j.LimitHigh)/p.one.u), append(low, (j.LimitLow-off)/p.one.u)
	}
	if m == 1 || failed[0] == m || failed[1] == m {
		return true
	}
	dof := math.Inf(1)
	for i := range p.Budget {
		dof = min(dof, p.Budget[i].dof)
	}
	risk := 1 - numeric.StudentTCDF(float64(t.Guard.Float()*p.one.k), dof)
	if !(risk > 0) {
		return true
	}
	for _, side := range [][]float64{high, low} {
		slices.Sort(side)
		slices.Reverse(side)
		for j, x := range side[:m-1] {
			if x > numeric.StudentTQuantile(1-float64(risk*float64(j+1))/float64(m), dof) {
				return true
			}
		}
	}
	return false
}

// zone returns the acceptance zone for readings of one direction at a point.
func (t *Task) zone(p *PointResult, limit numeric.Exact) conformity.Zone {
	k := p.one.kExact
	if !p.HasU {
		k = numeric.ExactInt(2)
	}
	return conformity.NewZone(limit, p.one.u, k, t.Guard, t.Rule, t.Least, p.one.dof)
}
