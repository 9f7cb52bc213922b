package work

import (
	"strings"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Moves from the present pressure to the next.
const (
	MoveRaise = "raise"
	MoveLower = "lower"
	MoveStay  = "stay"
)

// Figures are the numbers shown beside a step's target, which a technician needs while doing it.
// They are decimals in the unit of the step unless stated otherwise, "" if not known.
type Figures struct {
	Mode        string // of the pressure: gauge, absolute or differential
	Move        string // raise, lower or stay
	From        string // ramp: where it begins
	Low, High   string // read: what may be shown; ramp: where the change is allowed
	Expected    string // read: what should be shown
	Unjudged    bool   // read: the rule has no limit here
	BandLow     string // ramp: dead band
	BandHigh    string
	Change      string // read: expected change from an earlier reading
	ChangeLimit string
	Limit       string // of the leak, in limitUnit
	LimitUnit   string
	LimitPerMin string // the limit per minute
	PerMin      string // set: the rate per minute, where the trade uses minutes
	Title       string // the title under which an earlier value is listed
	Cycle       int    // number of this cycle, disc or run
	Cycles      int
	CycleOf     string // "cycle", "disc" or "run"
	Most        string // set upwards, ramp upwards, exercise: what must not be exceeded
	MostIs      string // what that is, where it is the instrument's overload limit
	AtStandard  string // what a standard that measures from the air shows, beside an absolute target
	About       float64
	Off         float64 // permissible error at that value, in the unit of the demand; 0 if not judged
}

func (f *Figures) put(out *document.Writer) {
	text := func(name, value string) {
		if value != "" {
			out.Text(name, value)
		}
	}
	text("mode", f.Mode)
	text("move", f.Move)
	text("from", f.From)
	text("expected", f.Expected)
	text("low", f.Low)
	text("high", f.High)
	text("band_low", f.BandLow)
	text("band_high", f.BandHigh)
	text("change", f.Change)
	text("change_limit", f.ChangeLimit)
	text("limit", f.Limit)
	text("limit_unit", f.LimitUnit)
	text("limit_per_min", f.LimitPerMin)
	text("rate_per_min", f.PerMin)
	text("title", f.Title)
	text("at_standard", f.AtStandard)
	text("most", f.Most)
	text("most_is", f.MostIs)
	if f.Unjudged {
		out.Flag("unjudged", true)
	}
	if f.Cycles > 0 {
		out.Whole("cycle", f.Cycle)
		out.Whole("cycles", f.Cycles)
		out.Text("cycle_of", f.CycleOf)
	}
}

// Standing is the pressure that a plan has reached.
type Standing struct {
	unit  string // as spelled; "" while the pressure is not known
	value numeric.Exact
	Mode  string // of the instrument
	Zero  units.Unit
	Own   string // the instrument's unit as spelled
	Top   string // the upper end of the instrument's range or of what bears less, in its unit

	Overload string // the overload limit that the instrument is known to have, in its unit; then it counts, not Top
}

// mostIsOverload is what MostIs says of the instrument's overload limit.
const mostIsOverload = "overload"

// boundStep notes what must not be exceeded on the way to a step's pressure: the instrument's
// overload limit, or the end of its range, where the step says nothing else; nothing at a step that
// does not raise the pressure.
func (s *Standing) boundStep(one *Step) {
	raises := one.Do == "exercise" || (one.Do == "set" || one.Do == "ramp") && one.Move == MoveRaise
	if !raises {
		one.Most = ""
		return
	}
	if one.Most != "" {
		return
	}
	most := s.Top
	if s.Overload != "" {
		most, one.MostIs = s.Overload, mostIsOverload
	}
	if one.Unit != s.Own && most != "" {
		most = turned(most, s.Own, one.Unit)
	}
	one.Most = most
}

// ReadOverload takes the overload limit of an instrument, the highest pressure that it bears as its
// maker states it, in its unit; false where nobody knows it.
func ReadOverload(it *document.Reader, high float64) (float64, bool) {
	x, ok := it.Optional("overload")
	if ok && it.Err() == nil && x < high {
		it.Fail(document.CodeRange, "overload", "must not lie below the high end of the range")
	}
	return x, ok && it.Err() == nil
}

// turned converts a pressure to another unit, to six digits; "" if that is not possible.
func turned(value, from, to string) string {
	a, ok1 := units.Find(from)
	b, ok2 := units.Find(to)
	x, ok3 := numeric.ParseExact(value)
	if !ok1 || !ok2 || !ok3 || a.Kind != b.Kind {
		return ""
	}
	return PressureText(numeric.RoundSignificant(b.ExactFromSI(a.ExactSI(x)).Float(), 6))
}

// vented sets the pressure to that of a system open to the atmosphere.
func (s *Standing) vented() {
	s.unit, s.value = s.Own, numeric.ExactInt(0)
	if s.Mode == "absolute" {
		s.value = s.Zero.ExactFromSI(numeric.ExactInt(units.StandardAtmosphere))
	}
	if s.Mode == "" {
		s.unit = ""
	}
}

// titles are the titles of values, by the ends of their steps' ids.
var titles = [...][2]string{
	{"ready", "Safe to begin"}, {"ready.lines", "Lines connected"}, {"field", "Field pressure"}, {
		"after.field", "Field pressure afterwards",
	},
	{"original", "At the field, before"}, {"after", "At the field, after"},
	{"end.static", "Static pressure"}, {"end.pitot", "Pitot pressure"}, {"end.restored", "System restored"},
	{".disc", "Disc"}, {".shield", "Clamped and shielded"}, {".temp", "Temperature"}, {".burst", "It burst"},
	{".t0", "Temperature before"}, {".t1", "Temperature after"}, {".b0", "Barometer before"}, {".b1", "Barometer after"},
	{".set", "Set point"}, {".reset", "Reset point"},
}

// titleOf returns the title of a step's value; "" if its target identifies it.
func titleOf(s *Step) string {
	if s.Do != "read" && s.Do != "ask" {
		return ""
	}
	for _, t := range titles {
		if s.ID == t[0] || t[0][0] == '.' && strings.HasSuffix(s.ID, t[0]) {
			return t[1]
		}
	}
	switch {
	case s.CycleOf == "disc":
		return "Burst pressure"
	case s.Many:
		return s.Name
	}
	return ""
}

// step fills in the move to a step's pressure and follows it.
func (s *Standing) step(one *Step) {
	switch one.Do {
	case "vent", "exercise":
		s.vented()
		return
	case "set", "ramp":
	default:
		return
	}
	target, ok := numeric.ParseExact(one.Target)
	if one.Move == "" {
		order := 0
		known := ok && s.unit != "" && s.unit == one.Unit
		switch {
		case known:
			order = target.Cmp(s.value)
		case one.Way == "up", one.Direction == "up":
			order = 1
		case one.Way == "down", one.Direction == "down":
			order = -1
		}
		switch {
		case order > 0:
			one.Move = MoveRaise
		case order < 0:
			one.Move = MoveLower
		case known:
			one.Move = MoveStay
		}
	}
	s.unit, s.value = one.Unit, target
	if one.Do == "ramp" || !ok {
		s.unit = "" // it ends where the awaited event occurs
	}
}

// Span writes two bounds about a value, without digits beyond the ninth.
func Span(about, limit numeric.Exact) (low, high string) {
	low, _ = about.Sub(limit).Text(9)
	high, _ = about.Add(limit).Text(9)
	return low, high
}

// SpanOf is Span for floats, to six significant digits of the wider bound.
func SpanOf(about, limit float64) (low, high string) {
	return PressureText(about - limit), PressureText(about + limit)
}
