package airdata_test

import (
	"math"
	"testing"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
)

// drawMove makes a random start, target, rates and limits; some starts pass a limit, some targets
// are a measured field pressure.
func drawMove(m *airdata.Model, d *document.Draws) airdata.Move {
	v := airdata.Move{
		From:  airdata.Condition{Feet: d.Between(-2000, 80000), Knots: d.Between(0, 900)},
		To:    airdata.Condition{Feet: d.Between(-2000, 60000), Knots: d.Between(0, 700)},
		Climb: d.Between(200, 20000), KnotRate: d.Between(20, 1000), Limits: airdata.NoLimits(),
	}
	v.Descent = v.Climb
	if d.Below(3) == 0 {
		v.Descent = d.Between(200, 20000)
	}
	if d.Below(4) == 0 {
		v.From.Knots = 0
	}
	if d.Below(4) == 0 {
		v.To.Feet = v.From.Feet // one channel stands still
	}
	if d.Below(3) == 0 {
		v.Field = d.Between(60000, 108000)
		feet, err := m.Feet(v.Field)
		if err != nil {
			panic(err)
		}
		v.To = airdata.Condition{Feet: feet}
	}
	// limits close above the target, most of the time above the start too
	machTo := machOf(m, v.To)
	v.Limits.MaxMach = machTo + d.Between(0, 0.5)
	if d.Below(2) == 0 {
		v.Limits.MaxMach = math.Max(v.Limits.MaxMach, machOf(m, v.From)+d.Between(0, 0.1))
	}
	v.Limits.MaxFeet = math.Max(v.To.Feet, v.From.Feet-float64(d.Below(2))*1000) + d.Between(0, 100)
	v.Limits.MinFeet = math.Min(v.To.Feet, v.From.Feet) - d.Between(0, 100)
	v.Limits.MaxKnots = math.Max(v.To.Knots, v.From.Knots-float64(d.Below(2))*50) + d.Between(0, 10)
	seconds := math.Max(
		math.Abs(v.To.Feet-v.From.Feet)/math.Min(v.Climb, v.Descent),
		math.Abs(v.To.Knots-v.From.Knots)/v.KnotRate,
	) * 60
	v.Interval = seconds/d.Between(3, 60) + 0.01
	return v
}

func machOf(m *airdata.Model, c airdata.Condition) float64 {
	p, err := m.PressureAtFeet(c.Feet)
	if err != nil {
		panic(err)
	}
	mach, _ := airdata.Mach(m.Impact(c.Knots), p)
	return mach
}

// TestPlanKeepsLimits checks random moves (PROPERTY_CASES of them): the plan starts and ends where
// it must, time increases, pitot never falls below static, and both channels end together. No rate
// passes its limit, converted at the pressure of the point, nor does the mean rate between two
// points, nor the altitude, airspeed or Mach number at or between points. An excess over a limit at
// the start only falls. Altitude and airspeed are computed back from the pressures of the table.
func TestPlanKeepsLimits(t *testing.T) {
	m := airdata.ISO()
	routes := map[string]int{}
	points, over, refused := 0, 0, 0
	cases := many(t)
	for seed := range uint64(cases) {
		d := document.Draws(seed)
		v := drawMove(m, &d)
		plan, err := m.PlanMove(v)
		if err != nil {
			refused++
			continue
		}
		routes[plan.Route]++
		points += len(plan.Points)
		if len(plan.Violations) > 0 {
			over++
		}
		if !checkPlan(t, m, v, plan) {
			t.Fatalf("seed %d: %+v\n%+v", seed, v, plan)
		}
	}
	t.Logf("%d moves, %d points, routes %v, %d starts beyond a limit, %d refused", cases, points, routes, over, refused)
	if refused > cases/100 {
		t.Errorf("%d of %d moves were refused", refused, cases)
	}
	for _, r := range []string{airdata.RouteStraight, airdata.RouteBent, airdata.RouteInTurn} {
		if cases >= 1000 && routes[r] == 0 {
			t.Errorf("no move took the route %s: the test does not see it", r)
		}
	}
	if cases >= 1000 && over == 0 {
		t.Error("no start beyond a limit: the test does not see them")
	}
}

const eps = 1e-9 // relative; rounding only

func checkPlan(t *testing.T, m *airdata.Model, v airdata.Move, plan airdata.Plan) bool {
	t.Helper()
	ok := true
	fail := func(format string, args ...any) {
		t.Helper()
		t.Errorf(format, args...)
		ok = false
	}
	first, last := plan.Points[0], plan.Points[len(plan.Points)-1]
	if first.Condition != v.From || last.Condition != v.To || first.Seconds != 0 ||
		math.Abs(last.Seconds-plan.Duration) > eps*plan.Duration {
		fail(
			"starts at %v, ends at %v after %v s, want %v, %v, %v s", first.Condition, last.Condition,
			last.Seconds, v.From, v.To, plan.Duration,
		)
	}
	if v.Field > 0 && (last.Static != v.Field || last.Impact != 0 || last.Total != v.Field) {
		fail("ends at %v Pa static, %v Pa total, want both at the field pressure %v", last.Static, last.Total, v.Field)
	}
	l := v.Limits
	// a limit that the start passes may stay passed, but not by more
	maxFeet, minFeet := math.Max(l.MaxFeet, v.From.Feet), math.Min(l.MinFeet, v.From.Feet)
	maxKnots, maxMach := math.Max(l.MaxKnots, v.From.Knots), math.Max(l.MaxMach, machOf(m, v.From))
	beyond := v.From.Feet > l.MaxFeet || v.From.Feet < l.MinFeet || v.From.Knots > l.MaxKnots || machOf(m, v.From) > l.MaxMach
	if beyond != (len(plan.Violations) > 0) {
		fail("start beyond a limit: %v, violations %v", beyond, plan.Violations)
	}
	lastMach := math.Inf(1)
	for i, p := range plan.Points {
		if p.Total < p.Static || p.Impact < 0 || p.Knots < 0 {
			fail("point %d: pitot below static: %+v", i, p)
		}
		perFoot, err := m.PerFoot(p.Static)
		if err != nil {
			fail("point %d: %v", i, err)
			continue
		}
		if -p.StaticRate > perFoot*v.Climb/60*(1+eps) || p.StaticRate > perFoot*v.Descent/60*(1+eps) {
			fail(
				"point %d: static rate %v Pa/s, limits %v up, %v down at this pressure", i, p.StaticRate,
				perFoot*v.Climb/60, perFoot*v.Descent/60,
			)
		}
		knots, _ := m.CAS(p.Impact)
		if limit := m.ImpactSlope(knots) * v.KnotRate / 60; math.Abs(p.ImpactRate) > limit*(1+eps)+1e-9 {
			fail("point %d: impact rate %v Pa/s over %v", i, p.ImpactRate, limit)
		}
		if i == 0 {
			continue
		}
		before := plan.Points[i-1]
		span := p.Seconds - before.Seconds
		if span <= 0 || span > v.Interval*(1+1e-5) {
			fail("point %d comes %v s after the one before, interval %v", i, span, v.Interval)
		}
		a, _ := m.Feet(before.Static)
		b, _ := m.Feet(p.Static)
		ca, _ := m.CAS(before.Impact)
		if climb := (b - a) / span * 60; climb > v.Climb*(1+1e-6) || -climb > v.Descent*(1+1e-6) {
			fail("point %d: %v ft/min over %v up, %v down", i, climb, v.Climb, v.Descent)
		}
		if rate := math.Abs(knots-ca) / span * 60; rate > v.KnotRate*(1+1e-6) {
			fail("point %d: %v kt/min over %v", i, rate, v.KnotRate)
		}
		for k := range 5 {
			f := float64(k) / 4
			c := airdata.Condition{Feet: a + (b-a)*f, Knots: ca + (knots-ca)*f}
			mach := machOf(m, c)
			if c.Feet > maxFeet+1e-6 || c.Feet < minFeet-1e-6 || c.Knots > maxKnots+1e-8 || mach > maxMach*(1+eps) {
				fail(
					"between points %d and %d: %v, Mach %v, limits %v ft, %v ft, %v kt, Mach %v", i-1, i,
					c, mach, minFeet, maxFeet, maxKnots, maxMach,
				)
			}
			// above the Mach limit it only falls
			if mach > l.MaxMach*(1+eps) && mach > lastMach*(1+eps) {
				fail("between points %d and %d: Mach %v rises beyond the limit %v", i-1, i, mach, l.MaxMach)
			}
			lastMach = mach
		}
	}
	if n := len(plan.Points); n > 1 && plan.Route != airdata.RouteInTurn {
		p := plan.Points[n-2].Condition
		if (v.From.Feet != v.To.Feet && p.Feet == v.To.Feet) || (v.From.Knots != v.To.Knots && p.Knots == v.To.Knots) {
			fail("one channel ends before the other: %v, then %v", p, v.To)
		}
	}
	return ok
}

// TestInTurnOnlyWhereNeeded: the route is straight between two conditions well below the Mach
// limit, and if both channels go the same way. Close to the limit it bends, and from beyond the
// limit the safer channel goes first.
func TestInTurnOnlyWhereNeeded(t *testing.T) {
	m := airdata.ISO()
	base := airdata.Move{Climb: 3000, Descent: 3000, KnotRate: 60, Interval: 5, Limits: airdata.NoLimits()}
	for _, c := range []struct {
		from, to airdata.Condition
		mach     float64
		want     string
	}{
		{
			airdata.Condition{Feet: 0, Knots: 300}, airdata.Condition{Feet: 30000, Knots: 200}, 0.9,
			airdata.RouteStraight,
		},
		{airdata.Condition{Feet: 35000, Knots: 270}, airdata.Condition{Feet: 0, Knots: 0}, 0.7, airdata.RouteStraight},
		{airdata.Condition{Feet: 0, Knots: 500}, airdata.Condition{Feet: 45000, Knots: 200}, 0.77, airdata.RouteBent},
		{airdata.Condition{Feet: 45000, Knots: 200}, airdata.Condition{Feet: 0, Knots: 500}, 0.77, airdata.RouteBent},
		{
			airdata.Condition{Feet: 30000, Knots: 330}, airdata.Condition{Feet: 40000, Knots: 200}, 0.7,
			airdata.RouteInTurn,
		},
	} {
		v := base
		v.From, v.To, v.Limits.MaxMach = c.from, c.to, c.mach
		plan, err := m.PlanMove(v)
		if err != nil {
			t.Fatal(err)
		}
		if plan.Route != c.want {
			t.Errorf(
				"%v to %v below Mach %v: route %s, want %s (ends at Mach %.3f and %.3f)", c.from, c.to,
				c.mach, plan.Route, c.want, machOf(m, c.from), machOf(m, c.to),
			)
		}
		checkPlan(t, m, v, plan)
	}
}
