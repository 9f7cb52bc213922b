package airdata

import (
	"math"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// maxPoints caps a plan: a day of set points one second apart.
const maxPoints = 86400

// highestKnots is the highest airspeed accepted, well above any indicator.
const highestKnots = 3000.0

// Condition is an altitude and an airspeed at the instruments together.
type Condition struct{ Feet, Knots float64 }

// Limits are bounds that no instant of a plan may pass.
type Limits struct{ MinFeet, MaxFeet, MaxKnots, MaxMach float64 }

// NoLimits returns only the limits of the atmosphere and of this package.
func NoLimits() Limits { return Limits{lowestFeet, highestFeet, highestKnots, machCap} }

// Move is the request for a plan: rates are in ft/min and kt/min, the interval of the set points in
// seconds.
type Move struct {
	From, To       Condition
	Climb, Descent float64
	KnotRate       float64
	Limits         Limits
	Interval       float64
	Field          float64 // Pa: the plan ends at this measured pressure without airspeed; 0 if not used
}

// Point is one set point of a plan, with the rates at that instant, converted at its own pressure.
type Point struct {
	Seconds float64
	Condition
	Static, Impact, Total  float64 // Pa
	StaticRate, ImpactRate float64 // Pa/s, of the leg that leads to the point
}

// Violation is a limit that the start already passes, with the time span and the worst value.
type Violation struct {
	Code         string
	From, Until  float64
	Worst, Limit float64
}

// Routes of a plan.
const (
	RouteStraight = "straight" // both channels move all the time
	RouteBent     = "bent"     // two legs, both channels move in each and end together
	RouteInTurn   = "in-turn"  // one channel after the other, if nothing else keeps the Mach limit
)

// Plan is a table of set points. Between two of them altitude and airspeed change linearly.
type Plan struct {
	Points     []Point
	Duration   float64
	Route      string
	Violations []Violation
}

// leg is a straight piece of a route.
type leg struct {
	from, to Condition
	seconds  float64
}

// PlanMove returns the set points that lead from one condition to another inside rates and limits.
//
// Altitude and airspeed change linearly with time within a leg, scaled so that both channels end
// together: t = max(|ΔH|/ROC, |ΔCAS|/rate). The airspeed is never below 0, so pitot never falls
// below static. Altitude and airspeed of a leg lie between its ends; the Mach number rises with
// both, so it can exceed its values at the ends only if one rises while the other falls. Then the
// route is bent, the safer channel leading, until the highest altitude with the highest airspeed of
// every interval keeps the Mach limit. If no bend does, the safer channel goes first and the other
// after it, which always keeps the limit.
//
// Takes:   conditions inside the atmosphere; rates and interval above 0.
// Gives:   the plan; Violations only if the start passes a limit, and every step then reduces the
// excess.
// Refuses: a target beyond a limit, more than 86400 points.
// Source:  derived here; the rules that it keeps are those of FAA AC 43.13-1B 12-60: pitot at or
// above static, rates inside the limits of every connected instrument.
func (m *Model) PlanMove(v Move) (Plan, error) {
	if err := m.checkTarget(v); err != nil {
		return Plan{}, err
	}
	var plan Plan
	legs, route := m.route(v)
	plan.Route = route
	for _, l := range legs {
		plan.Duration += l.seconds
	}
	if plan.Duration/v.Interval > maxPoints-4 {
		return Plan{}, document.Refuse(
			document.CodeRange, "interval_s",
			"the plan would have more than 86400 points; take a longer interval",
		)
	}
	start := 0.0
	plan.Points = append(plan.Points, m.point(0, v.From, firstMoving(legs)))
	for _, l := range legs {
		if l.seconds == 0 {
			continue
		}
		plan.Points = m.follow(plan.Points, l, start, v.Interval)
		start += l.seconds
	}
	last := &plan.Points[len(plan.Points)-1]
	if v.Field > 0 {
		last.Static, last.Impact, last.Total = v.Field, 0, v.Field
	}
	plan.Violations = m.violations(plan.Points, v.Limits)
	return plan, nil
}

func firstMoving(legs []leg) leg {
	for _, l := range legs {
		if l.seconds > 0 {
			return l
		}
	}
	return leg{}
}

// follow appends the points of a leg that starts at a time: the whole intervals inside it and its
// end.
func (m *Model) follow(points []Point, l leg, start, interval float64) []Point {
	for k := math.Floor(start/interval) + 1; ; k++ {
		t := float64(k*interval) - start
		if t <= float64(1e-6*interval) {
			continue
		}
		if t >= l.seconds-float64(1e-6*interval) {
			break
		}
		points = append(points, m.point(start+t, l.at(t), l))
	}
	return append(points, m.point(start+l.seconds, l.to, l))
}

// at returns the condition at a time inside the leg; it never leaves the span of the two ends.
func (l *leg) at(t float64) Condition {
	f := t / l.seconds
	return Condition{between(l.from.Feet, l.to.Feet, f), between(l.from.Knots, l.to.Knots, f)}
}

func between(a, b, f float64) float64 {
	x := a + float64((b-a)*f)
	if (b >= a && x > b) || (b < a && x < b) {
		return b
	}
	return x
}

// point computes the pressures of a condition and its rates within a leg.
func (m *Model) point(t float64, c Condition, l leg) Point {
	metres := float64(c.Feet * units.Foot)
	p := Point{Seconds: t, Condition: c}
	p.Static = m.layerAt(metres).pressureAt(metres)
	p.Impact = m.Impact(c.Knots)
	p.Total = p.Static + p.Impact
	if l.seconds > 0 {
		climb := float64((l.to.Feet-l.from.Feet)*60) / l.seconds
		rate := float64((l.to.Knots-l.from.Knots)*60) / l.seconds
		p.StaticRate = -float64(m.slopePerFoot(p.Static, metres)*climb) / 60
		p.ImpactRate = m.ImpactRate(c.Knots, rate)
	}
	return p
}

// machOf returns the Mach number of a condition.
func (m *Model) machOf(c Condition) float64 {
	metres := float64(c.Feet * units.Foot)
	mach, _ := Mach(m.Impact(c.Knots), m.layerAt(metres).pressureAt(metres))
	return mach
}

func (v *Move) leg(from, to Condition) leg {
	up := to.Feet - from.Feet
	t := float64(up*60) / v.Climb
	if up < 0 {
		t = float64(-up*60) / v.Descent
	}
	return leg{from, to, max(t, float64(math.Abs(to.Knots-from.Knots)*60)/v.KnotRate)}
}

// bends are how far a route leaves the straight line, from a little to nearly in turn.
var bends = [...]float64{1.0 / 8, 1.0 / 4, 3.0 / 8, 1.0 / 2, 5.0 / 8, 3.0 / 4, 7.0 / 8, 15.0 / 16, 31.0 / 32, 63.0 / 64}

func (m *Model) route(v Move) (legs []leg, name string) {
	a, b := v.From, v.To
	straight := v.leg(a, b)
	high := Condition{max(a.Feet, b.Feet), max(a.Knots, b.Knots)}
	if float64((b.Feet-a.Feet)*(b.Knots-a.Knots)) >= 0 || m.machOf(high) <= v.Limits.MaxMach ||
		m.keepsMach(straight, v) {
		return []leg{straight}, RouteStraight
	}
	climbs := b.Feet > a.Feet // then slowing down is the safer channel and leads; in a descent the altitude leads
	for _, s := range bends {
		ahead, behind := float64((1+s)/2), float64((1-s)/2)
		w := Condition{between(a.Feet, b.Feet, ahead), between(a.Knots, b.Knots, behind)}
		if climbs {
			w = Condition{between(a.Feet, b.Feet, behind), between(a.Knots, b.Knots, ahead)}
		}
		first, second := v.leg(a, w), v.leg(w, b)
		if m.keepsMach(first, v) && m.keepsMach(second, v) {
			return []leg{first, second}, RouteBent
		}
	}
	w := Condition{b.Feet, a.Knots}
	if climbs {
		w = Condition{a.Feet, b.Knots}
	}
	return []leg{v.leg(a, w), v.leg(w, b)}, RouteInTurn
}

// keepsMach reports whether no instant of a leg can pass the Mach limit. The leg is cut in pieces;
// inside a piece no Mach number is above that of its highest altitude with its highest airspeed.
func (m *Model) keepsMach(l leg, v Move) bool {
	const pieces = 64
	last := l.from
	for i := 1; i <= pieces; i++ {
		f := float64(float64(i) / pieces)
		next := Condition{between(l.from.Feet, l.to.Feet, f), between(l.from.Knots, l.to.Knots, f)}
		if m.machOf(Condition{max(last.Feet, next.Feet), max(last.Knots, next.Knots)}) > v.Limits.MaxMach {
			return false
		}
		last = next
	}
	return true
}

func (m *Model) checkTarget(v Move) error {
	l := v.Limits
	field := "to"
	if v.Field > 0 {
		field = "field_pa"
	}
	switch {
	case v.To.Feet > l.MaxFeet || v.To.Feet < l.MinFeet:
		return document.Refuse(document.CodeRange, field, "the target lies beyond the altitude limits")
	case v.To.Knots > l.MaxKnots:
		return document.Refuse(document.CodeRange, field, "the target is above the airspeed limit")
	case m.machOf(v.To) > l.MaxMach:
		return document.Refuse(document.CodeRange, field, "the target is above the Mach limit")
	}
	return nil
}

func (m *Model) violations(points []Point, l Limits) []Violation {
	checks := [...]struct {
		code  string
		value func(Point) float64
		limit float64
		sign  float64
	}{
		{"max_altitude_ft", func(p Point) float64 { return p.Feet }, l.MaxFeet, 1},
		{"min_altitude_ft", func(p Point) float64 { return p.Feet }, l.MinFeet, -1},
		{"max_cas_kt", func(p Point) float64 { return p.Knots }, l.MaxKnots, 1},
		{"max_mach", func(p Point) float64 { return m.machOf(p.Condition) }, l.MaxMach, 1},
	}
	var all []Violation
	for _, c := range checks {
		v := Violation{Code: c.code, Limit: c.limit}
		found := false
		for _, p := range points {
			x := c.value(p)
			if float64(c.sign*x) <= float64(c.sign*c.limit) {
				continue
			}
			if !found {
				found, v.From, v.Worst = true, p.Seconds, x
			}
			v.Until = p.Seconds
			if float64(c.sign*x) > float64(c.sign*v.Worst) {
				v.Worst = x
			}
		}
		if found {
			all = append(all, v)
		}
	}
	return all
}
