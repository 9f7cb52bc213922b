package pitotstatic

import (
	"math"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// This file has what the kinds of work on pitot-static instruments share: the limits of everything
// on the lines, the plan with both pressures, and the interlocks. A method is laid out the same way
// for the plan and for the evaluation, which then knows every value that was asked for.

// Rates for a method that states none, in ft/min and kt/min. Common practice, no source.
const (
	usualClimb    = 3000
	usualKnotRate = 60
	frictionClimb = 750 // 14 CFR Part 43 Appendix E (b)(1)(iv)
)

// The states of the line that a test does not move.
const (
	lineTied       = "tied" // pitot joined to static
	lineOpen       = "open" // at the field's pressure
	lineNone       = "none" // there is none
	lineControlled = "controlled"
)

// airBounds are the limits of everything on the lines.
type airBounds struct {
	lowest, highest      float64 // ft
	climb, pascals       float64 // ft/min and Pa/s, +Inf where unknown
	knots, knotRate      float64
	weakest              float64 // Pa
	part                 string
	field                float64 // Pa
	hectopascals, listed bool    // the subscale; anything about rates was stated
}

// airNeed is a value that a method asks for.
type airNeed struct{ id, of string }

// airPoint is one figure of a run that is judged, or only reported.
type airPoint struct {
	test, id, name string
	down           bool
	state          work.AirState
	show           numeric.Exact // what the instrument should show, in unit
	unit           string
	limit          numeric.Exact
	limited        bool
	source         string
	memory         bool          // its limit is known from memory only
	pair           string        // the step whose reading it is compared with, instead of show
	shift          numeric.Exact // added to that reading
	ambient        bool          // the change of the field's pressure is taken off
	loss           bool          // for a leak: start less end
	minutes        numeric.Exact // duration of the change; 0: not divided
	residual       numeric.Exact // its size is added to that of the error
	reading        bool          // also one of the finding's readings
}

// airPlan lays out a method.
type airPlan struct {
	in *document.Reader
	p  *work.Plan // nil while a sheet is judged
	airBounds
	unit      string     // in which the instrument is read
	quantity  units.Unit // that unit
	judged    string     // the unit in which it is judged
	pitot     string
	climbs    float64 // the method's rate, 0 if it states none
	knotRates float64
	settle    float64
	settles   bool // the method states settle
	source    string
	confirmed string // who compared the listed limits with which clause; "" if nobody has
	due       int
	now       work.AirState
	needs     []airNeed
	points    []airPoint
	warnings  []gauge.Warning
	stops     work.Stops
	safety    string // the safety question
}

func ft(x float64) string { return work.Shortly(x) + " ft" }

// mark returns a point's part of a step's id, which may contain only lower-case letters, digits and
// points.
func mark(x float64) string {
	s := work.Shortly(x)
	if s[0] == '-' {
		return "m" + s[1:]
	}
	return s
}

// newAir reads the fields that all these methods and instruments share. kind is that of the
// instrument's unit; judged is the unit of its limits.
func newAir(in *document.Reader, p *work.Plan, kind units.Kind, judged string) (*airPlan, *document.Reader) {
	a := &airPlan{in: in, p: p, judged: judged}
	it := in.Object("instrument")
	a.quantity, a.unit = units.Of(it, "unit", kind), it.TextOr("unit", "")
	low, high := it.Number("low"), it.Number("high")
	it.NumberOr("resolution", 0)
	for _, known := range []string{"mode", "limit", "output", "repeatability_percent", "temperature_coefficient_percent_per_k", "reference_temperature_c", "overload"} {
		it.Raw(known)
	}
	if in.Err() == nil && low >= high {
		it.Fail(document.CodeRange, "high", "must lie above low")
	}
	a.airBounds = airBounds{
		lowest: lowestFeet, highest: highestFeet, climb: math.Inf(1), pascals: math.Inf(1),
		knots: fastestKnots, knotRate: math.Inf(1), weakest: math.Inf(1),
	}
	switch judged {
	case "ft":
		a.lowest, a.highest = a.quantity.ToSI(low)/units.Foot, a.quantity.ToSI(high)/units.Foot
	case "kt":
		a.knots = a.quantity.ToSI(high) / units.Knot
	}
	a.particulars(it)
	m := in.Object("method")
	m.Raw("kind")
	a.climbs, a.knotRates = m.NumberOr("max_rate_ft_min", 0), m.NumberOr("max_rate_kt_min", 0)
	a.settle, a.settles = m.NumberOr("settle_s", 60), m.Has("settle_s")
	if in.Err() == nil && a.settle < 0 {
		m.Fail(document.CodeRange, "settle_s", "must not be below zero")
	}
	a.source = m.TextOr("source", "stated by the method")
	if read, ok := m.OptionalObject("limits_read"); ok {
		clause, by := read.Text("clause"), read.Text("by")
		a.confirmed = clause + ", compared by " + by
	}
	a.due = m.WholeOr("due_months", 1, 240, 24)
	if in.Err() == nil {
		a.rates(m)
	}
	a.now = a.at(a.fieldFeet(), 0)
	return a, m
}

// particulars reads the limits of the instrument and of everything on its lines.
func (a *airPlan) particulars(it *document.Reader) {
	r, ok := it.OptionalObject("particulars")
	if !ok {
		a.field = units.StandardAtmosphere
		return
	}
	a.lowest, a.highest = max(a.lowest, r.NumberOr("lowest_ft", a.lowest)), min(
		a.highest, r.NumberOr("highest_ft", a.highest),
	)
	for _, f := range []struct {
		name string
		to   *float64
	}{
		{"max_rate_ft_min", &a.climb}, {"max_rate_pa_s", &a.pascals}, {"max_cas_kt", &a.knots},
		{"max_rate_kt_min", &a.knotRate},
	} {
		if !r.Has(f.name) {
			r.Raw(f.name)
			continue
		}
		*f.to = min(*f.to, r.Positive(f.name))
		a.listed = true
	}
	if w, ok := r.OptionalObject("weakest"); ok {
		a.weakest, a.part = w.Positive("impact_pa"), w.TextOr("part", "the weakest indicator")
	}
	a.hectopascals = r.ChoiceOr("subscale", "inHg", "hPa") == "hPa"
	elevation := r.NumberOr("field_elevation_ft", 0)
	if r.Has("field_pa") {
		a.field = r.Positive("field_pa")
	} else {
		r.Raw("field_pa")
		p, err := airdata.ISO().PressureAtFeet(elevation)
		if err != nil {
			r.Fail(document.CodeRange, "field_elevation_ft", err.Error())
		}
		a.field = p
	}
	if h, err := airdata.ISO().Feet(a.field); r.Err() == nil && (err != nil || h < -2000 || h > 20000) {
		r.Fail(document.CodeRange, "field_pa", "no field lies at this pressure: it must be that of -2000 to 20000 ft")
	}
	if r.Err() == nil && a.lowest >= a.highest {
		r.Fail(document.CodeRange, "highest_ft", "must lie above the lowest altitude")
	}
}

// rates compares the method's rates with the limits of what is connected. A rate in pascals per
// second is converted at the highest pressure of the run, where it is lowest in ft/min.
func (a *airPlan) rates(m *document.Reader) {
	bears := a.bearable(a.lowestReached())
	switch {
	case a.climbs < 0, a.knotRates < 0:
		m.Fail(document.CodeRange, "max_rate_ft_min", "rates must be above zero")
	case a.climbs > a.climb:
		m.Fail(document.CodeRange, "max_rate_ft_min", "what is connected bears "+work.Shortly(a.climb)+" ft/min")
	case a.climbs > bears:
		m.Fail(document.CodeRange, "max_rate_ft_min", "what is connected bears "+work.Shortly(a.pascals)+" Pa/s, which at "+ft(a.lowestReached())+" is "+work.Shortly(math.Floor(bears))+" ft/min")
	case a.knotRates > a.knotRate:
		m.Fail(document.CodeRange, "max_rate_kt_min", "what is connected bears "+work.Shortly(a.knotRate)+" kt/min")
	}
	if a.climbs == 0 {
		a.climbs = min(min(usualClimb, a.climb), math.Floor(bears))
	}
	if a.knotRates == 0 {
		a.knotRates = min(usualKnotRate, a.knotRate)
	}
	if m.Err() == nil && a.climbs <= 0 {
		m.Fail(document.CodeRange, "max_rate_ft_min", "what is connected bears less than 1 ft/min")
	}
}

// lowestReached returns the altitude where the pressure of a run is highest: the field's, or a
// lower one if the instrument reaches it.
func (a *airPlan) lowestReached() float64 { return min(a.fieldFeet(), max(a.lowest, -1000)) }

// bearable returns the limit of the rate of static pressure at an altitude, in ft/min.
func (a *airPlan) bearable(feet float64) float64 {
	p, err := airdata.ISO().PressureAtFeet(feet)
	if err != nil || math.IsInf(a.pascals, 1) {
		return math.Inf(1)
	}
	climb, _ := airdata.ISO().Climb(p, -a.pascals)
	return climb
}

func (a *airPlan) fieldFeet() float64 {
	h, _ := airdata.ISO().Feet(a.field)
	return h
}

// at returns the state of an altitude and an airspeed.
func (a *airPlan) at(feet, knots float64) work.AirState {
	p, _ := airdata.ISO().PressureAtFeet(feet)
	if feet == a.fieldFeet() {
		p = a.field
	}
	return work.AirState{Feet: feet, Knots: knots, Static: p, Impact: airdata.ISO().Impact(max(knots, 0))}
}

// bears refuses a state beyond the limits of something on the lines, at the document's field that
// asks for it.
func (a *airPlan) bears(field string, feet, knots float64) bool {
	if a.in.Err() != nil {
		return false
	}
	s := a.at(feet, knots)
	switch {
	case knots < 0:
		a.in.Fail(document.CodeRange, field, "pitot would be below static: an airspeed must be 0 or more")
	case feet > a.highest:
		a.in.Fail(document.CodeRange, field, ft(feet)+" lies above the "+ft(a.highest)+" that what is connected bears")
	case feet < a.lowest:
		a.in.Fail(document.CodeRange, field, ft(feet)+" lies below the "+ft(a.lowest)+" that what is connected bears")
	case knots > a.knots:
		a.in.Fail(
			document.CodeRange, field,
			work.Shortly(knots)+" kt lies above the "+work.Shortly(a.knots)+" kt that what is connected bears",
		)
	case s.Impact > a.weakest:
		a.in.Fail(document.CodeRange, field, work.Shortly(knots)+" kt is an impact pressure of "+work.Shortly(s.Impact)+" Pa; "+a.part+" bears "+work.Shortly(a.weakest)+" Pa")
	case a.pitot == lineOpen && a.field < s.Static-1:
		a.in.Fail(
			document.CodeConflict, "method.pitot",
			"with the pitot line left open, pitot would be below static at "+ft(feet)+": join it to static",
		)
	case a.pitot == lineOpen && a.field-s.Static > min(a.weakest, airdata.ISO().Impact(a.knots)):
		a.in.Fail(document.CodeConflict, "method.pitot", "with the pitot line left open, "+ft(feet)+" would put "+work.Shortly(a.field-s.Static)+" Pa on the airspeed indicator: join it to static")
	}
	return a.in.Err() == nil
}

// screen begins a new screen of the plan.
func (a *airPlan) screen() {
	if a.p != nil {
		a.p.Screen++
	}
}

// step writes a step and notes what it asks for.
func (a *airPlan) step(s work.Step, seconds float64) {
	if (s.Do == "read" || s.Do == "ask") && !s.Optional {
		of := "answer"
		if s.Do == "read" {
			of = s.Of
		}
		a.needs = append(a.needs, airNeed{s.ID, of})
	}
	if a.p != nil && a.in.Err() == nil {
		a.p.Step(s)
		a.p.Seconds += seconds
	}
}

func perSecond(perMinute float64) string {
	e, _ := numeric.ExactOf(perMinute)
	q, _ := e.Div(numeric.ExactInt(60))
	s, _ := q.Text(4)
	return s
}

// climbTo asks to go to an altitude at a rate (0: the method's) at constant airspeed.
func (a *airPlan) climbTo(id, field string, feet, rate float64, text string) {
	if !a.bears(field, feet, a.now.Knots) {
		return
	}
	if rate == 0 || rate > a.climbs {
		rate = a.climbs
	}
	to := a.at(feet, a.now.Knots)
	direction, move := way(a.now.Feet, feet)
	seconds := float64(math.Abs(feet-a.now.Feet)*60) / rate
	a.now = to
	a.step(
		work.Step{
			ID: id, Do: "set", Way: direction, Target: work.Shortly(feet), Unit: "ft",
			Rate: perSecond(rate), Text: text, Air: &to,
			Figures: &work.Figures{Move: move, PerMin: work.Shortly(rate), Most: a.mostFeet()},
		},
		work.SecondsToSet+seconds,
	)
}

// mostFeet returns the altitude that must not be exceeded, "" if no part has one.
func (a *airPlan) mostFeet() string {
	if a.highest < highestFeet {
		return work.Shortly(a.highest)
	}
	return ""
}

// mostKnots returns the airspeed that must not be exceeded, "" if no part has one.
func (a *airPlan) mostKnots() string {
	if a.knots < fastestKnots {
		return work.Shortly(a.knots)
	}
	return ""
}

// way returns the direction to a value and the move that leads there.
func way(from, to float64) (direction, move string) {
	switch {
	case to < from:
		return "down", work.MoveLower
	case to > from:
		return "up", work.MoveRaise
	}
	return "up", work.MoveStay
}

// speedTo asks to go to an airspeed at constant altitude.
func (a *airPlan) speedTo(id, field string, knots float64, text string) {
	if !a.bears(field, a.now.Feet, knots) {
		return
	}
	direction, move := way(a.now.Knots, knots)
	seconds := float64(math.Abs(knots-a.now.Knots)*60) / a.knotRates
	to := a.at(a.now.Feet, knots)
	a.now = to
	a.step(
		work.Step{
			ID: id, Do: "set", Way: direction, Target: work.Shortly(knots), Unit: "kt",
			Rate: perSecond(a.knotRates), Text: text, Air: &to,
			Figures: &work.Figures{Move: move, PerMin: work.Shortly(a.knotRates), Most: a.mostKnots()},
		},
		work.SecondsToSet+seconds,
	)
}

// rest returns how long a setting is held before it is read: the method's time, else otherwise.
func (a *airPlan) rest(otherwise float64) float64 {
	if a.settles {
		return a.settle
	}
	return otherwise
}

func (a *airPlan) hold(id string, seconds float64) {
	if seconds > 0 {
		a.step(work.Step{ID: id, Do: "hold", Seconds: seconds}, seconds)
	}
}

func (a *airPlan) read(id, target, text string) { a.readFor(id, target, text, nil) }

// readFor asks for a reading that will be judged as p.
func (a *airPlan) readFor(id, target, text string, p *airPoint) {
	s := work.Step{ID: id, Do: "read", Target: target, Unit: a.unit, Of: "indicated", Text: text}
	if a.unit != a.judged { // a target in another unit would be misread
		s.Target = ""
	} else if p != nil {
		s.Figures = p.figures()
	}
	a.step(s, work.SecondsToRead)
}

// figures returns what a reading should be: by itself, or compared with an earlier one.
func (p *airPoint) figures() *work.Figures {
	f := &work.Figures{}
	limit := p.limit.Sub(p.residual)
	limited := p.limited && limit.Sign() >= 0
	if p.pair != "" {
		if limited {
			f.ChangeLimit, _ = p.limit.Text(3)
		}
		if p.shift.Sign() != 0 {
			f.Change, _ = p.shift.Text(3)
		}
		return f
	}
	f.Expected, _ = p.show.Text(3)
	f.About = p.show.Float()
	if limited {
		f.Low, f.High = work.Span(p.show, limit)
		f.Off = limit.Float()
	}
	return f
}

// judge adds a figure to be judged at the present state.
func (a *airPlan) judge(p airPoint) {
	p.state, p.unit = a.now, a.judged
	if p.limited && p.source == "" {
		p.source = a.source
	}
	if p.memory && a.confirmed != "" {
		p.source, p.memory = a.confirmed, false
	}
	a.points = append(a.points, p)
}

// begin asks for what has to be known before the pressures move.
func (a *airPlan) begin() {
	a.step(work.Step{ID: "ready.abort", Do: "note", Text: "If control, power or a line is lost: stop both rates, join pitot to static first, then let both down together within the rates. " +
		"Never vent static alone, and never pitot alone while static is evacuated. The abort card has the figures for the point you are at. " +
		"The maintenance manual and the licensed person in charge decide; hold every limit against the current text of its regulation."}, 0)
	a.step(work.Step{ID: "ready.limits", Do: "note", Text: a.bounds()}, 0)
	lines := "Is every line of the system connected, none left open, and its covers and drains closed for the test?"
	switch a.pitot {
	case lineTied:
		lines = "Is pitot joined to static, no line left open, and are covers and drains closed for the test?"
	case lineNone:
		lines = "Is the static line connected, no line left open?"
	case lineOpen:
		lines = "The method leaves pitot open. Is the static line connected, and is nothing on pitot that could be over-ranged?"
	}
	a.safety = lines
	a.step(work.Step{ID: "ready.lines", Do: "ask", As: "yes", Name: "lines", Text: lines,
		MakeSafe: "Do not move the pressure. An open line damages instruments and hides what the others show. Stop the test set, vent by its own way, and join pitot to static. " +
			"Then connect every line, close covers and drains, and look again."}, work.SecondsToRead)
	a.screen()
	a.step(
		work.Step{
			ID: "field", Do: "ask", As: "number", Name: "field", Unit: "hPa",
			Text: "Measured pressure at the field, absolute, in hPa",
		},
		work.SecondsToRead,
	)
}

// The ends of the calculable range, ft and kt. They bound an instrument without known limits, and
// are not reported as limits.
const (
	lowestFeet   = -16404
	highestFeet  = 278385
	fastestKnots = 3000
)

// bounds returns in one line the limits that the plan keeps.
func (a *airPlan) bounds() string {
	s := "Kept in this plan: "
	if a.lowest > lowestFeet || a.highest < highestFeet {
		s += ft(a.lowest) + " to " + ft(a.highest) + ", "
	}
	s += work.Shortly(a.climbs) + " ft/min, "
	if a.knots < fastestKnots {
		s += "not above " + work.Shortly(a.knots) + " kt, "
	}
	s += work.Shortly(a.knotRates) + " kt/min"
	if !math.IsInf(a.weakest, 1) {
		s += ", " + work.Shortly(a.weakest) + " Pa on " + a.part
	}
	return s + ". Find every instrument on the lines and compare."
}

// finish writes the steps back to the measured field pressure and the questions about how the run
// ended.
func (a *airPlan) finish() {
	if a.in.Err() != nil {
		return
	}
	a.screen()
	home := a.at(a.fieldFeet(), 0)
	seconds := max(float64(math.Abs(home.Feet-a.now.Feet)*60)/a.climbs, float64(a.now.Knots*60)/a.knotRates)
	_, moveOf := way(a.now.Feet, home.Feet)
	a.now = home
	a.step(work.Step{ID: "end.set", Do: "set", Way: "down", Target: work.Shortly(math.Round(home.Feet)), Unit: "ft", Rate: perSecond(a.climbs), Air: &home, Figures: &work.Figures{
		Move: moveOf, PerMin: work.Shortly(a.climbs),
	},
		Text: "Go back to the measured field pressure by the planned way: both pressures together, pitot never below static."}, work.SecondsToSet+seconds)
	a.screen()
	a.step(
		work.Step{
			ID: "end.static", Do: "ask", As: "number", Name: "end_static", Unit: "hPa",
			Text: "Static pressure now, in hPa",
		},
		work.SecondsToRead,
	)
	if a.pitot != lineNone {
		a.step(
			work.Step{
				ID: "end.pitot", Do: "ask", As: "number", Name: "end_pitot", Unit: "hPa",
				Text: "Pitot pressure now, in hPa",
			},
			work.SecondsToRead,
		)
	}
	a.screen()
	a.step(work.Step{ID: "end.restored", Do: "ask", As: "yes", Name: "restored",
		Text: "Covers, tape and plugs off ports and drains, lines connected as before, by the maintenance manual?"}, work.SecondsToRead)
}
