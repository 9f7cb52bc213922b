package pitotstatic

import (
	"math"
	"strconv"

	"gaugewright/calc/airdata"
	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// layout is how one kind of work lays out its method.
type layout func(in *document.Reader, p *work.Plan) (*airPlan, error)

// Kinds are the kinds of work on pitot-static instruments and systems.
func Kinds() []work.Kind {
	altimeter := airKind("altimeter", layAltimeter)
	altimeter.Unlike = setElsewhere
	return []work.Kind{
		altimeter,
		airKind("airspeed", layAirspeed),
		airKind("vertical-speed", layVertical),
		airKind("reporting-altitude", layReporting),
		airKind("pitot-static-leak", layLeak),
	}
}

// airKind makes a kind of work out of its layout.
func airKind(name string, l layout) work.Kind {
	return work.Kind{
		Name: name,
		Expand: func(in *document.Reader, p *work.Plan) error {
			_, err := l(in, p)
			return err
		},
		Evaluate: func(in *document.Reader, out *document.Writer) error { return judgeAir(name, l, in, out) },
	}
}

// airValue is one capture: its number in the unit of its limits, or the text of an answer.
type airValue struct {
	x        numeric.Exact
	text     string
	pressure bool // the value was typed as a pressure
	at       int64
	field    string
}

// airSheet is the captures of a run by step and quantity.
type airSheet struct {
	values   map[string]airValue
	standard *standard.Standard
	field    float64 // Pa, as measured; 0 if not measured
	whole    bool
}

// airVerdict is a judged point.
type airVerdict struct {
	*airPoint
	indicated, applied, err float64
	fraction                float64
	expanded                float64
	verdict                 string
}

// readAir reads the captures. Lengths and speeds come in any of their units, an applied value also
// as a pressure.
func (a *airPlan) readAir(in *document.Reader) airSheet {
	s := airSheet{values: map[string]airValue{}}
	for _, c := range in.List("captures") {
		step, of := c.Text("step"), c.Choice("of", "applied", "indicated", "before_tap", "answer", "settle")
		unit := c.TextOr("unit", "")
		at, _ := c.Moment("at")
		v := airValue{at: at, field: c.Path("value")}
		if of == "answer" {
			raw, ok := c.Raw("value")
			if !ok {
				c.Fail(document.CodeMissing, "value", "this field is missing")
				return s
			}
			v.text = raw.Text
			v.x, _ = numeric.ParseExact(raw.Text)
		} else {
			v.x = decimal(c, "value")
			v.text = c.Decimal("value").Text
			v.x, v.pressure = a.inJudged(c, v.x, unit, step, of == "applied")
		}
		if in.Err() != nil {
			return s
		}
		key := step + " " + of
		if _, twice := s.values[key]; twice {
			work.RefuseTwice(c, "value")
		}
		s.values[key] = v
	}
	if d, ok := in.OptionalObject("standard"); ok {
		one := standard.Read(d)
		s.standard = &one
	}
	a.stops = work.ReadStops(in)
	if v, ok := s.values["ready.lines answer"]; ok {
		a.stops.Answered(v.text, v.field, a.safety)
	}
	for _, other := range []string{"surroundings", "head"} { // fields for work measured in pressure
		in.Raw(other)
	}
	s.whole = in.Flag("complete", false)
	if p, ok := s.pascals("field"); ok {
		if h, err := airdata.ISO().Feet(p); err != nil || h < -2000 || h > 20000 {
			a.stops.Add(
				work.StopPlace, s.values["field answer"].field,
				"the pressure typed for the field is that of no field; is it in hPa, absolute?",
			)
		} else {
			s.field = p
		}
	}
	return s
}

// pascals returns the pressure of an answer given in hPa.
func (s *airSheet) pascals(step string) (float64, bool) {
	v, ok := s.values[step+" answer"]
	if !ok || !document.IsDecimal(v.text) {
		return 0, false
	}
	return v.x.Mul(numeric.ExactInt(100)).Float(), true
}

// inJudged converts a value to the unit in which its step is judged.
func (a *airPlan) inJudged(
	c *document.Reader, x numeric.Exact, unit, step string, applied bool,
) (value numeric.Exact, pressure bool) {
	judged := a.judged
	for i := range a.points {
		if p := &a.points[i]; p.id == step || p.pair == step {
			judged = p.unit
		}
	}
	if unit == judged {
		return x, false
	}
	to, _ := units.Find(judged)
	from := units.Of(c, "unit", to.Kind, units.Pressure)
	if c.Err() != nil {
		return x, false
	}
	if from.Kind == to.Kind {
		return to.ExactFromSI(from.ExactSI(x)), false
	}
	if !applied {
		c.Fail(document.CodeUnit, "unit", "an indication is in "+judged+" or another unit of "+string(to.Kind))
		return x, false
	}
	p := from.ExactSI(x).Float()
	if judged == "kt" {
		if p < 0 {
			a.warn(
				"reversed", c.Path("value"),
				"pitot was below static: there is no airspeed then, and an indicator can be damaged",
			)
			return numeric.ExactInt(-1), true
		}
		k, _ := airdata.ISO().CAS(p)
		return exactFeet(k), true
	}
	h, err := airdata.ISO().Feet(p)
	if err != nil {
		c.Fail(document.CodeRange, "value", "the static pressure must be absolute and inside the standard atmosphere")
	}
	return exactFeet(h), true
}

func (a *airPlan) warn(code, field, message string) {
	a.warnings = append(a.warnings, gauge.Warning{Code: code, Field: field, Message: message})
}

// judgeAir evaluates a sheet of a pitot-static kind.
func judgeAir(name string, l layout, in *document.Reader, out *document.Writer) error {
	a, err := l(in, nil)
	if err != nil {
		return err
	}
	s := a.readAir(in)
	if err := in.Err(); err != nil {
		return err
	}
	var missing []string
	for _, n := range a.needs {
		if _, ok := s.values[n.id+" "+n.of]; !ok {
			missing = append(missing, n.id)
		}
	}
	var list []airVerdict
	failed, memory := 0, ""
	for i := range a.points {
		v, ok := a.weigh(&a.points[i], &s)
		if !ok {
			continue
		}
		if v.verdict == conformity.Fail {
			failed++
		}
		if v.memory && memory == "" {
			memory = v.name
		}
		list = append(list, v)
	}
	reason := a.lookBack(&s)
	if memory != "" {
		a.warn("memory", "method.limits_read", "Some limits are from memory, as their source says, and decide nothing: compare them with the current text and enter the clause and who read it in the method, or state other limits there.")
	}
	if !a.listed {
		a.warn("unknown_limit", "instrument.particulars", "nothing is known of the rates that the instruments on the lines bear; the plan kept to "+work.Shortly(a.climbs)+" ft/min")
	}
	notYet := work.OpenReason(len(missing), s.whole, "values")
	verdict := conformity.Pass
	switch {
	case len(list) == 0:
		verdict, reason = conformity.Undecided, "there is no reading"
	case notYet != "":
		verdict, reason = conformity.Undecided, notYet
	case reason != "":
		verdict = conformity.Undecided
	case failed > 0:
		verdict, reason = conformity.Fail, strconv.Itoa(failed)+" of "+strconv.Itoa(len(list))+" figures lie outside their limits"
	case memory != "":
		verdict, reason = conformity.Undecided, notConfirmed+": "+memory
	}
	verdict, reason = a.stops.Verdict(verdict, reason)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	work.WriteMissing(out, missing)
	writeAir(out, name, a, &s, list)
	out.Whole("due_months", a.due)
	gauge.WriteWarnings(out, a.stops.Before(a.warnings))
	return nil
}

// notConfirmed is the reason why a limit known from memory only decides nothing.
const notConfirmed = "no verdict: limit not confirmed"

// weigh works out one figure and compares it with its limit, in decimals.
func (a *airPlan) weigh(p *airPoint, s *airSheet) (airVerdict, bool) {
	v := airVerdict{airPoint: p}
	got, ok := s.values[p.id+" indicated"]
	if !ok {
		return v, false
	}
	reference := p.show
	if p.pair != "" {
		first, ok := s.values[p.pair+" indicated"]
		if !ok {
			return v, false
		}
		reference = first.x.Add(p.shift)
		if p.ambient {
			reference = reference.Add(a.ambient(s))
		}
		a.slow(p, &first, &got)
	} else if set, ok := s.values[p.id+" applied"]; ok {
		if p.unit == "kt" && set.x.Sign() < 0 {
			return v, false
		}
		reference = set.x
		a.within(p, set)
	}
	change := got.x.Sub(reference)
	if p.loss {
		change = change.Neg()
		if q, ok := change.Div(p.minutes); ok {
			change = q
		}
		if change.Sign() < 0 {
			a.warn("rise", got.field, "the reading moved the other way than a leak moves it: look for a leak between the lines or a change of temperature")
		}
	}
	held := change.Abs().Add(p.residual)
	v.indicated, v.applied, v.err = got.x.Float(), reference.Float(), change.Float()
	if p.limited {
		v.fraction = held.Float() / p.limit.Float()
		if v.verdict = conformity.Pass; held.Cmp(p.limit) > 0 {
			v.verdict = conformity.Fail
		}
		if p.memory {
			v.verdict = conformity.Undecided
		}
	}
	if s.standard != nil && p.pair == "" && a.unit == p.unit {
		u, _, err := s.standard.Uncertainty(v.applied)
		if err == nil {
			v.expanded = float64(2 * u)
		} else if at := document.AsFault(err); len(a.warnings) == 0 ||
			a.warnings[len(a.warnings)-1].Code != "standard" {
			a.warn("standard", at.Field, at.Message)
		}
	}
	return v, true
}

// ambient returns by how many feet the field's pressure altitude changed from the first reading to
// the after-effect test.
func (a *airPlan) ambient(s *airSheet) numeric.Exact {
	later, ok := s.pascals("after.field")
	if !ok || s.field == 0 {
		return numeric.Exact{}
	}
	h, err := airdata.ISO().Feet(later)
	first, _ := airdata.ISO().Feet(s.field)
	if err != nil {
		a.warn(
			"field", s.values["after.field answer"].field,
			"the pressure typed for the field is that of no field; is it in hPa, absolute?",
		)
		return numeric.Exact{}
	}
	return exactFeet(h - first)
}

// slow warns of a leak that was read before its wait was over.
func (a *airPlan) slow(p *airPoint, first, last *airValue) {
	if !p.loss || first.at == 0 || last.at == 0 {
		return
	}
	if wait := float64(p.minutes.Float() * 60000); float64(last.at-first.at) < float64(0.95*wait) {
		a.warn("minutes", last.field, "the leak was read "+work.Shortly(
			math.Round(float64(last.at-first.at)/1000),
		)+" s after it began, before its time was over")
	}
}

// within warns of an applied value beyond the limits of what is on the lines.
func (a *airPlan) within(p *airPoint, set airValue) {
	x := set.x.Float()
	over := false
	switch p.unit {
	case "ft":
		over = x > a.highest || x < a.lowest
	case "kt":
		over = x > a.knots || airdata.ISO().Impact(x) > a.weakest
	case "ft/min":
		over = math.Abs(x) > a.climb
	}
	if over {
		a.warn(
			"over_range", set.field,
			"the value lies beyond what is connected bears: look at every instrument on the lines before it is used",
		)
	}
}

// Allowances at the end of a test, Pa: for the last digit of the typed values, and for the weather.
const (
	endReversed = 10
	endField    = 100
)

// lookBack reviews the run as a whole: lines, rates between readings, and how it ended. A text that
// it returns leaves the verdict open.
func (a *airPlan) lookBack(s *airSheet) (open string) {
	if v, ok := s.values["ready.lines answer"]; ok && v.text == "no" {
		a.warn("line_open", v.field, "a line was left open or not as the method has it")
		open = "a line was left open"
	}
	if a.pitot == lineOpen {
		a.warn(
			"line_open", "method.pitot",
			"pitot was left open while static was moved: an airspeed indicator on it showed the difference",
		)
	}
	var before *airPoint
	var since airValue
	for i := range a.points {
		p := &a.points[i]
		v, ok := s.values[p.id+" indicated"]
		if !ok || v.at == 0 || p.unit != "ft" {
			continue
		}
		if before != nil && v.at > since.at {
			minutes := float64(v.at-since.at) / 60000
			climb := math.Abs(p.state.Feet-before.state.Feet) / minutes
			p1, _ := airdata.ISO().PressureAtFeet(min(p.state.Feet, before.state.Feet))
			if limit := min(a.climb, a.bearable(min(p.state.Feet, before.state.Feet))); climb > limit {
				rate, _ := airdata.ISO().StaticRate(p1, -climb)
				a.warn("rate", v.field, "from "+ft(before.state.Feet)+" to "+ft(p.state.Feet)+" it went at no less than "+work.Shortly(math.Floor(climb))+" ft/min ("+work.Shortly(math.Floor(rate))+
					" Pa/s at the lower one); what is connected bears "+work.Shortly(math.Floor(limit))+" ft/min")
			}
		}
		before, since = p, v
	}
	static, hasStatic := s.pascals("end.static")
	pitot, hasPitot := s.pascals("end.pitot")
	if hasStatic && hasPitot && pitot < static-endReversed {
		a.warn("reversed", s.values["end.pitot answer"].field, "pitot stood below static at the end: join the two before anything else, and look at the airspeed indicator")
	}
	if field := s.field; hasStatic && field > 0 && math.Abs(static-field) > endField {
		a.warn(
			"field", s.values["end.static answer"].field,
			"static was not back at the measured pressure of the field: do not open the system",
		)
	}
	if v, ok := s.values["end.restored answer"]; ok && v.text == "no" {
		a.warn("restore", v.field, "ports, drains or lines were not restored")
		if open == "" {
			open = "the system was not restored"
		}
	}
	return open
}

// writeAir writes readings, results and the kind's own object.
func writeAir(out *document.Writer, name string, a *airPlan, s *airSheet, list []airVerdict) {
	worst := -1
	out.BeginList("readings")
	for i := range list {
		v := &list[i]
		if !v.reading || !v.limited {
			continue
		}
		if worst < 0 || v.fraction > list[worst].fraction {
			worst = i
		}
		out.Begin()
		out.Text("step", v.id)
		out.Whole("series", 1)
		out.Text("direction", work.Direction(!v.down))
		out.Text("point", v.pointText())
		out.Number("applied", v.applied)
		out.Number("indicated", v.indicated)
		out.Number("error", v.err)
		v.writeLimits(out)
		out.End()
	}
	out.EndList()
	if worst >= 0 {
		v := &list[worst]
		out.BeginObject("worst")
		out.Text("point", v.pointText())
		out.Text("direction", work.Direction(!v.down))
		out.Number("fraction", v.fraction)
		out.End()
	}
	results := make([]work.Result, len(list))
	for i := range list {
		v := &list[i]
		limit := v.limit.Sub(v.residual).Float()
		results[i] = work.Result{
			Name: v.name, Value: v.err, Unit: v.unit, Low: -limit, High: limit, HasLow: v.limited,
			HasHigh: v.limited, Expanded: v.expanded, Verdict: v.verdict,
		}
		if v.limited {
			results[i].Source = v.source
		}
	}
	work.WriteResults(out, results)
	out.BeginObject(name)
	if s.field > 0 {
		out.Number("field_pa", s.field)
	}
	out.BeginList("points")
	for i := range list {
		v := &list[i]
		out.Begin()
		out.Text("test", v.test)
		out.Text("step", v.id)
		out.Text("direction", work.Direction(!v.down))
		out.Text("unit", v.unit)
		out.Number("altitude_ft", v.state.Feet)
		out.Number("cas_kt", v.state.Knots)
		out.Number("static_pa", v.state.Static)
		out.Number("impact_pa", v.state.Impact)
		out.Number("indicated", v.indicated)
		out.Number("error", v.err)
		if v.limited {
			v.writeLimits(out)
		}
		out.End()
	}
	out.EndList()
	out.End()
}

// pointText returns the point on the scale: what should be shown, or the altitude if two readings
// are compared.
func (v *airVerdict) pointText() string {
	if v.pair != "" {
		return work.Shortly(v.state.Feet)
	}
	s, _ := v.show.Text(6)
	return s
}

func (v *airVerdict) writeLimits(out *document.Writer) {
	limit := v.limit.Sub(v.residual).Float()
	out.Number("limit_low", -limit)
	out.Number("limit_high", limit)
	out.Number("fraction", v.fraction)
	out.Text("verdict", v.verdict)
}
