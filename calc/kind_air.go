package calc

import (
	"math"

	"gaugewright/calc/airdata"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// What the kinds of work on pitot-static instruments have in common: what hangs on the lines and bears how much, the plan with both pressures, and
// the interlocks. A method is laid out the same way for the plan and for the evaluation, which then knows every value that was asked for.

// Rates where a method states none, in ft/min and kt/min. Common practice, no source.
const (
	usualClimb    = 3000
	usualKnotRate = 60
	frictionClimb = 750 // 14 CFR Part 43 Appendix E (b)(1)(iv)
)

// How the line stands that is not moved.
const (
	lineTied       = "tied" // pitot joined to static
	lineOpen       = "open" // at the field's pressure
	lineNone       = "none" // there is none
	lineControlled = "controlled"
)

// airState is what stands at the instruments, and what to set for it.
type airState struct{ feet, knots, static, impact float64 }

// airBounds are what everything on the lines bears.
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

// airPoint is one figure that is judged, or told, of a run.
type airPoint struct {
	test, id, name string
	down           bool
	state          airState
	show           numeric.Exact // what the instrument should show, in unit
	unit           string
	limit          numeric.Exact
	limited        bool
	source         string
	memory         bool          // its limit was only remembered
	pair           string        // the step whose reading it is held against, instead of show
	shift          numeric.Exact // added to that reading
	ambient        bool          // the change of the field's pressure is taken off
	loss           bool          // start less end, of a leak
	minutes        numeric.Exact // that the change took; 0: not divided
	residual       numeric.Exact // its size is added to that of the error
	reading        bool          // also one of the finding's readings
}

// airPlan lays out a method.
type airPlan struct {
	in *document.Reader
	p  *plan // nil while a sheet is judged
	airBounds
	unit      string     // in which the instrument is read
	quantity  units.Unit // that unit
	judged    string     // the unit in which it is judged
	pitot     string
	climbs    float64 // the method's rate, 0 where it states none
	knotRates float64
	settle    float64
	settles   bool // the method says how long
	source    string
	due       int
	now       airState
	needs     []airNeed
	points    []airPoint
	warnings  []gauge.Warning
}

func ft(x float64) string { return shortly(x) + " ft" }

// shortly writes a number with at most three digits after the point.
func shortly(x float64) string {
	e, _ := numeric.ExactOf(x)
	s, _ := e.Text(3)
	return s
}

// mark is a point's part of a step's id, which may hold small letters, digits and points only.
func mark(x float64) string {
	s := shortly(x)
	if s[0] == '-' {
		return "m" + s[1:]
	}
	return s
}

// newAir reads what every such method and instrument has. The instrument's unit is one of a kind; judged is the unit of its limits.
func newAir(in *document.Reader, p *plan, kind units.Kind, judged string) (*airPlan, *document.Reader) {
	a := &airPlan{in: in, p: p, judged: judged}
	it := in.Object("instrument")
	a.quantity, a.unit = units.Of(it, "unit", kind), it.TextOr("unit", "")
	low, high := it.Number("low"), it.Number("high")
	it.NumberOr("resolution", 0)
	for _, known := range []string{"mode", "limit", "output", "temperature_coefficient_percent_per_k", "reference_temperature_c"} {
		it.Raw(known)
	}
	if in.Err() == nil && low >= high {
		it.Fail(document.CodeRange, "high", "must lie above low")
	}
	a.airBounds = airBounds{lowest: lowestFeet, highest: highestFeet, climb: math.Inf(1), pascals: math.Inf(1), knots: fastestKnots, knotRate: math.Inf(1), weakest: math.Inf(1)}
	switch judged {
	case "ft":
		a.lowest, a.highest = a.quantity.ToSI(low)/0.3048, a.quantity.ToSI(high)/0.3048
	case "kt":
		a.knots = a.quantity.ToSI(high) / (1852.0 / 3600)
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
	a.due = m.WholeOr("due_months", 1, 240, 24)
	if in.Err() == nil {
		a.rates(m)
	}
	a.now = a.at(a.fieldFeet(), 0)
	return a, m
}

// particulars takes what the instrument and all that hangs on its lines bear.
func (a *airPlan) particulars(it *document.Reader) {
	r, ok := it.OptionalObject("particulars")
	if !ok {
		a.field = 101325
		return
	}
	a.lowest, a.highest = larger(a.lowest, r.NumberOr("lowest_ft", a.lowest)), smaller(a.highest, r.NumberOr("highest_ft", a.highest))
	for _, f := range []struct {
		name string
		to   *float64
	}{{"max_rate_ft_min", &a.climb}, {"max_rate_pa_s", &a.pascals}, {"max_cas_kt", &a.knots}, {"max_rate_kt_min", &a.knotRate}} {
		if !r.Has(f.name) {
			r.Raw(f.name)
			continue
		}
		*f.to = smaller(*f.to, r.Positive(f.name))
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

// rates holds the method's rates against what is connected. A rate in pascals per second is converted at the highest pressure of the run, where it
// is the least in ft/min.
func (a *airPlan) rates(m *document.Reader) {
	bears := a.bearable(a.lowestReached())
	switch {
	case a.climbs < 0, a.knotRates < 0:
		m.Fail(document.CodeRange, "max_rate_ft_min", "rates must be above zero")
	case a.climbs > a.climb:
		m.Fail(document.CodeRange, "max_rate_ft_min", "what is connected bears "+shortly(a.climb)+" ft/min")
	case a.climbs > bears:
		m.Fail(document.CodeRange, "max_rate_ft_min", "what is connected bears "+shortly(a.pascals)+" Pa/s, which at "+ft(a.lowestReached())+" is "+shortly(math.Floor(bears))+" ft/min")
	case a.knotRates > a.knotRate:
		m.Fail(document.CodeRange, "max_rate_kt_min", "what is connected bears "+shortly(a.knotRate)+" kt/min")
	}
	if a.climbs == 0 {
		a.climbs = smaller(smaller(usualClimb, a.climb), math.Floor(bears))
	}
	if a.knotRates == 0 {
		a.knotRates = smaller(usualKnotRate, a.knotRate)
	}
	if m.Err() == nil && a.climbs <= 0 {
		m.Fail(document.CodeRange, "max_rate_ft_min", "what is connected bears less than 1 ft/min")
	}
}

// lowestReached is where the pressure of a run is the highest: at the field, or below it where the instrument reaches there.
func (a *airPlan) lowestReached() float64 { return smaller(a.fieldFeet(), larger(a.lowest, -1000)) }

// bearable is the limit of the rate of static pressure in ft/min at an altitude.
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

// at is the state of an altitude and an airspeed.
func (a *airPlan) at(feet, knots float64) airState {
	p, _ := airdata.ISO().PressureAtFeet(feet)
	if feet == a.fieldFeet() {
		p = a.field
	}
	return airState{feet, knots, p, airdata.ISO().Impact(larger(knots, 0))}
}

// bears refuses a state that something on the lines does not bear, at the field of the document that asks for it.
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
		a.in.Fail(document.CodeRange, field, shortly(knots)+" kt lies above the "+shortly(a.knots)+" kt that what is connected bears")
	case s.impact > a.weakest:
		a.in.Fail(document.CodeRange, field, shortly(knots)+" kt is an impact pressure of "+shortly(s.impact)+" Pa; "+a.part+" bears "+shortly(a.weakest)+" Pa")
	case a.pitot == lineOpen && a.field < s.static-1:
		a.in.Fail(document.CodeConflict, "method.pitot", "with the pitot line left open, pitot would be below static at "+ft(feet)+": join it to static")
	case a.pitot == lineOpen && a.field-s.static > smaller(a.weakest, airdata.ISO().Impact(a.knots)):
		a.in.Fail(document.CodeConflict, "method.pitot", "with the pitot line left open, "+ft(feet)+" would put "+shortly(a.field-s.static)+" Pa on the airspeed indicator: join it to static")
	}
	return a.in.Err() == nil
}

// screen begins a new screen of the plan.
func (a *airPlan) screen() {
	if a.p != nil {
		a.p.screen++
	}
}

// step writes a step and notes what it asks for.
func (a *airPlan) step(s planStep, seconds float64) {
	if (s.do == "read" || s.do == "ask") && !s.optional {
		of := "answer"
		if s.do == "read" {
			of = s.of
		}
		a.needs = append(a.needs, airNeed{s.id, of})
	}
	if a.p != nil && a.in.Err() == nil {
		a.p.step(s)
		a.p.seconds += seconds
	}
}

func perSecond(perMinute float64) string {
	e, _ := numeric.ExactOf(perMinute)
	q, _ := e.Div(numeric.ExactInt(60))
	s, _ := q.Text(4)
	return s
}

// climb asks to go to an altitude at a rate (0: the method's), the airspeed kept.
func (a *airPlan) climbTo(id, field string, feet, rate float64, text string) {
	if !a.bears(field, feet, a.now.knots) {
		return
	}
	if rate == 0 || rate > a.climbs {
		rate = a.climbs
	}
	to := a.at(feet, a.now.knots)
	direction := "up"
	if feet < a.now.feet {
		direction = "down"
	}
	if text != "" && feet != a.fieldFeet() {
		text = "To " + ft(feet) + ". " + text
	}
	seconds := float64(math.Abs(feet-a.now.feet)*60) / rate
	a.now = to
	a.step(planStep{id: id, do: "set", way: direction, target: shortly(feet), unit: "ft", rate: perSecond(rate), text: text, air: &to}, secondsToSet+seconds)
}

// speedTo asks to go to an airspeed, the altitude kept.
func (a *airPlan) speedTo(id, field string, knots float64, text string) {
	if !a.bears(field, a.now.feet, knots) {
		return
	}
	direction := "up"
	if knots < a.now.knots {
		direction = "down"
	}
	if text != "" {
		text = "To " + shortly(knots) + " kt. " + text
	}
	seconds := float64(math.Abs(knots-a.now.knots)*60) / a.knotRates
	to := a.at(a.now.feet, knots)
	a.now = to
	a.step(planStep{id: id, do: "set", way: direction, target: shortly(knots), unit: "kt", rate: perSecond(a.knotRates), text: text, air: &to}, secondsToSet+seconds)
}

// rest is how long a setting stands before it is read: as the method says, else otherwise.
func (a *airPlan) rest(otherwise float64) float64 {
	if a.settles {
		return a.settle
	}
	return otherwise
}

func (a *airPlan) hold(id string, seconds float64) {
	if seconds > 0 {
		a.step(planStep{id: id, do: "hold", seconds: seconds}, seconds)
	}
}

func (a *airPlan) read(id, target, text string) {
	s := planStep{id: id, do: "read", target: target, unit: a.unit, of: "indicated", text: text}
	if a.unit != a.judged { // a target in another unit would be misread
		s.target = ""
	}
	a.step(s, secondsToRead)
}

// judge adds a figure to be judged at the state that now stands.
func (a *airPlan) judge(p airPoint) {
	p.state, p.unit = a.now, a.judged
	if p.limited && p.source == "" {
		p.source = a.source
	}
	a.points = append(a.points, p)
}

func larger(x, y float64) float64 {
	if x > y {
		return x
	}
	return y
}

func smaller(x, y float64) float64 {
	if x < y {
		return x
	}
	return y
}

// begin asks for what has to be known before the pressures move.
func (a *airPlan) begin() {
	a.step(planStep{id: "ready.abort", do: "note", text: "If control, power or a line is lost: stop both rates, join pitot to static first, then let both down together within the rates. " +
		"Never vent static alone, and never pitot alone while static is evacuated. The abort card has the figures for the point you are at. " +
		"The maintenance manual and the licensed person in charge decide; hold every limit against the current text of its regulation."}, 0)
	a.step(planStep{id: "ready.limits", do: "note", text: a.bounds()}, 0)
	lines := "Is every line of the system connected, none left open, and its covers and drains closed for the test?"
	switch a.pitot {
	case lineTied:
		lines = "Is pitot joined to static, no line left open, and are covers and drains closed for the test?"
	case lineNone:
		lines = "Is the static line connected, no line left open?"
	case lineOpen:
		lines = "The method leaves pitot open. Is the static line connected, and is nothing on pitot that could be over-ranged?"
	}
	a.step(planStep{id: "ready.lines", do: "ask", as: "yes", name: "lines", text: lines}, secondsToRead)
	a.screen()
	a.step(planStep{id: "field", do: "ask", as: "number", name: "field", unit: "hPa", text: "Measured pressure at the field, absolute, in hPa"}, secondsToRead)
}

// The ends of what can be calculated, ft and kt; they bound an instrument of which nothing is known, and are no limits to be told.
const (
	lowestFeet   = -16404
	highestFeet  = 278385
	fastestKnots = 3000
)

// bounds says in a line what the plan keeps to.
func (a *airPlan) bounds() string {
	s := "Kept in this plan: "
	if a.lowest > lowestFeet || a.highest < highestFeet {
		s += ft(a.lowest) + " to " + ft(a.highest) + ", "
	}
	s += shortly(a.climbs) + " ft/min, "
	if a.knots < fastestKnots {
		s += "not above " + shortly(a.knots) + " kt, "
	}
	s += shortly(a.knotRates) + " kt/min"
	if !math.IsInf(a.weakest, 1) {
		s += ", " + shortly(a.weakest) + " Pa on " + a.part
	}
	return s + ". Find every instrument on the lines and compare."
}

// finish leads back to the measured pressure of the field and asks how it ended.
func (a *airPlan) finish() {
	if a.in.Err() != nil {
		return
	}
	a.screen()
	home := a.at(a.fieldFeet(), 0)
	seconds := larger(float64(math.Abs(home.feet-a.now.feet)*60)/a.climbs, float64(a.now.knots*60)/a.knotRates)
	a.now = home
	a.step(planStep{id: "end.set", do: "set", way: "down", target: shortly(math.Round(home.feet)), unit: "ft", rate: perSecond(a.climbs), air: &home,
		text: "Go back to the measured field pressure by the planned way: both pressures together, pitot never below static."}, secondsToSet+seconds)
	a.screen()
	a.step(planStep{id: "end.static", do: "ask", as: "number", name: "end_static", unit: "hPa", text: "Static pressure now, in hPa"}, secondsToRead)
	if a.pitot != lineNone {
		a.step(planStep{id: "end.pitot", do: "ask", as: "number", name: "end_pitot", unit: "hPa", text: "Pitot pressure now, in hPa"}, secondsToRead)
	}
	a.screen()
	a.step(planStep{id: "end.restored", do: "ask", as: "yes", name: "restored",
		text: "Covers, tape and plugs off ports and drains, lines connected as before, by the maintenance manual?"}, secondsToRead)
}
