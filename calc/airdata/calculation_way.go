package airdata

import (
	"math"
	"slices"

	"gaugewright/calc/document"
)

// stand is the condition at the instruments, present or wanted.
type stand struct{ feet, knots, static, impact float64 }

// planned is a step of a run's plan, reduced to what says where the run is.
type planned struct {
	id, unit     string
	set          bool
	screen, rate float64
	stand        stand
	stands       bool // stand is set
}

const (
	sameFeet       = 1e-6 // altitudes of one plan closer than this are the same
	usualRate      = 50.0 // ft/s, for a step that names no rate
	usualKnotRate  = 60.0 // kt/min
	lowestField    = 400.0
	highestField   = 1100.0 // hPa; no airfield is outside these two
	levelPressures = 1.0    // Pa: two pressures that differ by less count as equal
	mostPoints     = 10.0
)

// intervals are the seconds between set points that can be followed by eye.
var intervals = []float64{5, 10, 15, 20, 30, 60, 120, 300}

const longestInterval = 600.0

// way is where a run on a pitot-static system is.
type way struct {
	reached, home stand
	heading       *stand // the next condition, if the run is on its way to one
	goingHome     bool
	climb         float64 // ft/min
	knotRate      float64 // kt/min
	limits        Limits
	highest       *float64 // ft, nil if nothing on the lines states a limit
	lowest        *float64
	knots         *float64 // kt
}

// calculateWay is the calculation way: the plan of a run on a pitot-static system and its steps
// done so far → where the run is, the planned move to the next condition, and the way back to the
// field from here and from there.
//
// A target at the planned field pressure uses the measured field pressure once that is known.
//
// Takes:   {steps, done, at, field_hpa?, particulars?, max_rate_kt_min?}: steps of the plan, ids of
// the steps done, the index of the step that is shown, the latest measured field pressure.
// Gives:   {known}, false if the plan never returns to the field; else the conditions, the rates,
// the moves.
// Refuses: nothing for an impossible move; a text takes its place and says why.
func calculateWay(in *document.Reader, out *document.Writer) error {
	steps := readPlanned(in)
	done := in.Texts("done")
	at := in.Whole("at", 0, math.MaxInt32)
	field, measured := in.Optional("field_hpa")
	measured = measured && field > lowestField && field < highestField
	parts, _ := in.Raw("particulars")
	own, named := in.Optional("max_rate_kt_min")
	if err := in.Err(); err != nil {
		return err
	}
	w, ok := whereIs(steps, done, at, float64(field*100), measured)
	out.Flag("known", ok)
	if !ok {
		return nil
	}
	w.bear(steps, at, parts)
	if named {
		w.knotRate = own
	}
	if measured {
		out.Number("field_pa", float64(field*100))
	}
	w.write(out)
	return nil
}

func readPlanned(in *document.Reader) []planned {
	var list []planned
	for _, v := range in.Values("steps") {
		s := planned{id: textOf(&v, "id"), unit: textOf(&v, "unit"), set: textOf(&v, "do") == "set", rate: usualRate}
		s.screen, _ = numberOf(&v, "screen")
		if r, ok := numberOf(&v, "rate"); ok {
			s.rate = r
		}
		s.stands = true
		for _, f := range []struct {
			name string
			to   *float64
		}{{"altitude_ft", &s.stand.feet}, {"cas_kt", &s.stand.knots}, {"static_pa", &s.stand.static}, {"impact_pa", &s.stand.impact}} {
			x, ok := numberOf(&v, f.name)
			*f.to, s.stands = x, s.stands && ok
		}
		list = append(list, s)
	}
	return list
}

func textOf(v *document.Value, name string) string {
	if v != nil && v.Kind == document.Object {
		if p, ok := v.Get(name); ok && (p.Kind == document.String || p.Kind == document.Number) {
			return p.Text
		}
	}
	return ""
}

func numberOf(v *document.Value, name string) (float64, bool) { return document.Float(textOf(v, name)) }

// whereIs returns where a run is; ok is false if its plan does not end at the field.
func whereIs(steps []planned, done []string, at int, field float64, measured bool) (w way, ok bool) {
	var end *planned
	for i := range steps {
		if steps[i].set {
			end = &steps[i]
		}
	}
	if end == nil || !end.stands {
		return w, false
	}
	w.home = stand{feet: end.stand.feet, static: end.stand.static}
	if measured {
		w.home.static = field
		if feet, err := iso.Feet(field); err == nil {
			w.home.feet = feet
		}
	}
	atField := func(s stand) bool { return math.Abs(s.feet-end.stand.feet) < sameFeet }
	actual := func(s stand) stand {
		if atField(s) {
			s.static = w.home.static
			s.feet = w.home.feet
		}
		return s
	}
	w.reached = w.home
	isDone := func(s *planned) bool { return slices.Contains(done, s.id) }
	for i := range steps {
		if s := &steps[i]; s.set && s.stands && isDone(s) {
			w.reached = actual(s.stand)
		}
	}
	if at >= len(steps) {
		return w, true
	}
	for i := range steps {
		s := &steps[i]
		if s.screen != steps[at].screen || !s.set || isDone(s) {
			continue
		}
		if s.stands {
			heading := actual(s.stand)
			w.heading, w.goingHome = &heading, atField(s.stand) && s.stand.knots == 0
		}
		break
	}
	return w, true
}

// bear reads the rates of the plan and the limits of everything on the lines.
func (w *way) bear(steps []planned, at int, parts *document.Value) {
	rate := usualRate
	var here, last *planned
	for i := range steps {
		s := &steps[i]
		if !s.set || s.unit != "ft" {
			continue
		}
		last = s
		if here == nil && at < len(steps) && s.screen == steps[at].screen {
			here = s
		}
	}
	if here == nil {
		here = last
	}
	if here != nil {
		rate = here.rate
	}
	w.climb = float64(rate * 60)
	w.knotRate = usualKnotRate
	if x, ok := numberOf(parts, "max_rate_kt_min"); ok {
		w.knotRate = min(w.knotRate, x)
	}
	w.limits = NoLimits()
	for _, f := range []struct {
		name string
		to   **float64
	}{{"highest_ft", &w.highest}, {"lowest_ft", &w.lowest}, {"max_cas_kt", &w.knots}} {
		if x, ok := numberOf(parts, f.name); ok {
			*f.to = &x
		}
	}
}

// move plans the move from one condition to another. The present condition may lie exactly at a
// limit.
func (w *way) move(from, to stand, home bool) (Plan, error) {
	feet, err := iso.Feet(from.static)
	if err != nil {
		return Plan{}, err
	}
	v := Move{From: Condition{feet, from.knots}, To: Condition{to.feet, to.knots},
		Climb: w.climb, Descent: w.climb, KnotRate: w.knotRate, Limits: w.limits}
	if home {
		v.Field = to.static
		if v.To.Feet, err = iso.Feet(to.static); err != nil {
			return Plan{}, err
		}
	}
	if w.highest != nil {
		v.Limits.MaxFeet = max(*w.highest, to.feet)
	}
	if w.lowest != nil {
		v.Limits.MinFeet = min(*w.lowest, to.feet)
	}
	if w.knots != nil {
		v.Limits.MaxKnots = max(*w.knots, to.knots)
	}
	seconds := float64(max(math.Abs(to.feet-from.feet)/w.climb, math.Abs(to.knots-from.knots)/w.knotRate) * 60)
	v.Interval = longestInterval
	if i := slices.IndexFunc(intervals, func(s float64) bool { return seconds/s <= mostPoints }); i >= 0 {
		v.Interval = intervals[i]
	}
	return iso.PlanMove(v)
}

func (w *way) write(out *document.Writer) {
	w.reached.write(out, "reached")
	w.home.write(out, "home")
	out.Flag("going_home", w.goingHome)
	out.Number("climb_ft_min", w.climb)
	for _, f := range []struct {
		name string
		x    *float64
	}{{"highest_ft", w.highest}, {"max_cas_kt", w.knots}} {
		if f.x != nil {
			out.Number(f.name, *f.x)
		}
	}
	if w.heading != nil {
		w.heading.write(out, "heading")
		to := *w.heading
		if w.goingHome {
			to = w.home
		}
		w.writeMove(out, "move", w.reached, to, w.goingHome)
	}
	w.writeMove(out, "back", w.reached, w.home, true)
	for _, f := range []struct {
		name string
		pa   float64
	}{{"here_pa_s", w.reached.static}, {"field_pa_s", w.home.static}} {
		if rate, err := iso.StaticRate(f.pa, -w.climb); err == nil {
			out.Number(f.name, rate)
		}
	}
	w.writeAlone(out, "alone", w.reached)
	if w.heading != nil {
		w.writeAlone(out, "alone_then", *w.heading)
	}
}

func (s stand) write(out *document.Writer, name string) {
	out.BeginObject(name)
	out.Number("altitude_ft", s.feet)
	out.Number("cas_kt", s.knots)
	out.Number("static_pa", s.static)
	out.Number("impact_pa", s.impact)
	out.End()
}

func (w *way) writeMove(out *document.Writer, name string, from, to stand, home bool) {
	out.BeginObject(name)
	plan, err := w.move(from, to, home)
	if err != nil {
		out.Text("refused", document.AsFault(err).Message)
	} else {
		writePlan(out, plan)
	}
	out.End()
}

// writeAlone writes what opening one line alone would do at a condition: the altitude that static
// would pass if it were opened to pitot, and the airspeed that pitot would show if it were opened
// to the field.
func (w *way) writeAlone(out *document.Writer, name string, s stand) {
	out.BeginObject(name)
	out.Flag("level", math.Abs(w.home.static-s.static) < levelPressures)
	if s.impact > 0 {
		if feet, err := iso.Feet(s.static + s.impact); err == nil {
			out.Number("crossing_ft", feet)
			out.Flag("trapped", feet < w.home.feet)
		}
	}
	if over := w.home.static - s.static; over > 0 && over <= iso.Impact(highestKnots) {
		knots, _ := iso.CAS(over)
		out.Number("pitot_kt", knots)
	}
	out.End()
}

// waySample is a partly done plan to two conditions and back.
func waySample(seed uint64) []byte {
	d := document.Draws(seed)
	w := document.NewWriter(nil)
	w.Begin()
	w.BeginList("steps")
	step := func(id, unit string, screen int, feet, knots float64) {
		static, _ := iso.PressureAtFeet(feet)
		w.Begin()
		w.Text("id", id)
		w.Text("do", "set")
		w.Text("unit", unit)
		w.Whole("screen", screen)
		w.Number("altitude_ft", feet)
		w.Number("cas_kt", knots)
		w.Number("static_pa", static)
		w.Number("impact_pa", iso.Impact(knots))
		w.End()
	}
	up, field := d.Between(2000, 30000), d.Between(-500, 1500)
	step("at", "ft", 1, up, 0)
	step("speed", "kt", 2, up, d.Between(60, 250))
	step("end", "ft", 3, field, 0)
	w.EndList()
	w.BeginList("done")
	for _, id := range []string{"at", "speed", "end"}[:d.Below(4)] {
		w.TextItem(id)
	}
	w.EndList()
	w.Whole("at", d.Below(4))
	if d.Below(2) == 0 {
		w.Number("field_hpa", d.Between(950, 1040))
	}
	if d.Below(2) == 0 {
		w.Raw("particulars", []byte(`{"highest_ft":20000,"lowest_ft":-1000,"max_cas_kt":260,"max_rate_kt_min":40}`))
	}
	w.End()
	return w.Bytes()
}
