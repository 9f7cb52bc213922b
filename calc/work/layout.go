package work

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// Layout is the layout of a method of the kinds leak, switch and burst: for its plan, or for the
// evaluation, which then knows what was asked for.
type Layout struct {
	In       *document.Reader
	Method   *document.Reader // the method
	it       *document.Reader // the instrument
	Parts    *document.Reader // the instrument's particulars; an empty object if there are none
	p        *Plan            // nil while a sheet is judged
	Unit     units.Unit       // the instrument's
	Spelling string           // that unit as spelled
	Gauge    bool             // the sensor shows gauge pressure, not absolute

	Low, High   float64 // in the instrument's unit
	Resolution  float64
	Ambient     float64 // Pa
	LimitSource string  // where the limits come from
	needs       []need
	Warnings    []gauge.Warning
	Stops       Stops
	Stored      []Stored // stored energy, by pressure

	measuring
	Ruled bool // the method states a decision rule
}

// need is a value that a method asks for.
type need struct {
	id, of   string
	many     bool   // any number of values
	optional bool   // nothing is missing without it
	by       string // the step whose trace may replace it
	column   byte   // column of the trace that replaces it: t temperature, b barometer, p pressure
	safety   string // the question, if it must be answered with yes
}

// NewLayout reads the fields that all methods and instruments of the kinds leak, switch and burst
// share. Without a plan it is for the evaluation.
func NewLayout(in *document.Reader, p *Plan) *Layout {
	w := &Layout{In: in, p: p}
	it := in.Object("instrument")
	w.it = it
	w.Unit, w.Spelling = units.Of(it, "unit", units.Pressure), it.TextOr("unit", "")
	w.Low, w.High = it.Number("low"), it.Number("high")
	w.Resolution = it.NumberOr("resolution", 0)
	if it.Err() == nil && !it.Has("mode") {
		it.Fail(document.CodeMissing, "mode", "say whether the sensor shows gauge or absolute pressure")
	}
	w.Gauge = it.ChoiceOr("mode", "gauge", "absolute") == "gauge"
	for _, known := range []string{"limit", "output", "repeatability_percent", "temperature_coefficient_percent_per_k", "reference_temperature_c"} {
		it.Raw(known) // the last two belong to the evaluation
	}
	switch {
	case in.Err() != nil:
	case w.Low >= w.High:
		it.Fail(document.CodeRange, "high", "must lie above low")
	case w.Resolution < 0:
		it.Fail(document.CodeRange, "resolution", "must not be below zero")
	}
	overload, known := ReadOverload(it, w.High)
	parts, ok := it.OptionalObject("particulars")
	if !ok {
		parts = document.Open(document.Value{Kind: document.Object})
	}
	w.Parts = parts
	w.Ambient = units.StandardAtmosphere // if not stated
	if parts.Has("ambient_pa") {
		w.Ambient = parts.Positive("ambient_pa")
		if in.Err() == nil && (w.Ambient < 3e4 || w.Ambient > 1.2e5) {
			parts.Fail(
				document.CodeRange, "ambient_pa",
				"no place has this pressure: it must be from 30000 to 120000 Pa, absolute",
			)
		}
	} else {
		parts.Raw("ambient_pa")
	}
	if p != nil {
		p.At = Standing{Mode: "absolute", Zero: w.Unit, Own: w.Spelling, Top: PressureText(w.High)}
		if w.Gauge {
			p.At.Mode = "gauge"
		}
		if known {
			p.At.Overload = PressureText(overload)
		}
		p.At.vented()
	}
	w.Method = in.Object("method")
	w.Method.Raw("kind")
	w.LimitSource = w.Method.TextOr("source", "stated by the method")
	w.readDecision()
	return w
}

// Bears says what the weakest thing on the line bears, at most the instrument's range: no step goes
// above it.
func (w *Layout) Bears(high float64) {
	if w.p != nil {
		w.p.At.Top, w.p.At.Overload = PressureText(high), ""
	}
}

// Seconds reads a time of a method, from 0 to a day.
func (w *Layout) Seconds(r *document.Reader, name string, otherwise float64) float64 {
	x := r.NumberOr(name, otherwise)
	if r.Err() == nil && !(x >= 0 && x <= 86400) {
		r.Fail(document.CodeRange, name, "must be from 0 to 86400 s")
	}
	return x
}

// Absolute converts a pressure in the instrument's unit and mode to Pa absolute.
func (w *Layout) Absolute(x float64) float64 {
	if w.Gauge {
		return w.Unit.ToSI(x) + w.Ambient
	}
	return w.Unit.ToSI(x)
}

// Screen begins a new screen of the plan.
func (w *Layout) Screen() {
	if w.p != nil {
		w.p.Screen++
	}
}

// Step writes a step and notes what it asks for.
func (w *Layout) Step(s Step, seconds float64) {
	w.StepBy(s, seconds, "", 0)
}

// StepBy is Step for a value that the trace of another step may replace.
func (w *Layout) StepBy(s Step, seconds float64, by string, column byte) {
	if s.Do == "read" || s.Do == "ask" {
		of := "answer"
		if s.Do == "read" {
			of = s.Of
		}
		if s.Trace && by == "" {
			by, column = s.ID, 'p'
		}
		need := need{id: s.ID, of: of, many: s.Many, optional: s.Optional, by: by, column: column}
		if s.MakeSafe != "" {
			need.safety = s.Text
		}
		w.needs = append(w.needs, need)
	}
	if w.p != nil && w.In.Err() == nil {
		w.p.Step(s)
		w.p.Seconds += seconds
	}
}

// Warn adds a warning to the finding.
func (w *Layout) Warn(code, field, message string) {
	w.Warnings = append(w.Warnings, gauge.Warning{Code: code, Field: field, Message: message})
}

// Value is one capture.
type Value struct {
	X     float64 // for a pressure: in the instrument's unit, at its level, corrected
	Typed float64 // as the standard showed it, in the instrument's unit
	Step  float64 // value of the last typed digit of a pressure, in Pa
	Text  string
	At    int64
	Timed bool
	Field string
}

// Trace is the samples recorded for a step. Pressures are in the instrument's unit.
type Trace struct {
	Field                        string
	T, P, Temperature, Barometer []float64
	Typed                        []float64 // the pressures as the standard showed them
	Contact                      string
}

// Sheet is what was recorded in a run.
type Sheet struct {
	Values                      map[string][]Value // by step and quantity
	Traces                      map[string]*Trace  // by step
	Whole                       bool
	Temperature, Pressure       float64 // of the ambient air, °C and Pa
	Height                      float64 // height of the place, m
	HasTemperature, HasPressure bool
	HasHeight                   bool
}

// ReadSheet reads captures and traces.
func (w *Layout) ReadSheet() Sheet {
	in := w.In
	s := Sheet{Values: map[string][]Value{}, Traces: map[string]*Trace{}}
	w.readMeasuring()
	many, known := map[string]bool{}, map[string]bool{}
	for _, n := range w.needs {
		known[n.id] = true
		many[n.id+" "+n.of] = n.many
	}
	for _, c := range in.List("captures") {
		step, of := c.Text("step"), c.Choice("of", "applied", "indicated", "before_tap", "answer", "settle")
		at, timed := c.Moment("at")
		v := Value{At: at, Timed: timed, Field: c.Path("value")}
		unit := c.TextOr("unit", "")
		if of == "answer" {
			raw, ok := c.Raw("value")
			if !ok {
				c.Fail(document.CodeMissing, "value", "this field is missing")
				return s
			}
			v.Text = raw.Text
			v.X, _ = strconv.ParseFloat(raw.Text, 64)
		} else {
			d := c.Decimal("value")
			v.Text, v.X = d.Text, d.Value
			from := w.Unit
			if unit != w.Spelling {
				from = units.Of(c, "unit", units.Pressure)
				if x, ok := numeric.ParseExact(d.Text); ok && c.Err() == nil {
					v.X = w.Unit.ExactFromSI(from.ExactSI(x)).Float()
				}
			}
			v.Step = from.Interval(numeric.LastDigit(numeric.DecimalPlaces(d.Text)))
		}
		if in.Err() != nil {
			return s
		}
		if !known[step] {
			w.Warn("unknown_step", c.Path("step"), "the method asks for no such value; it is kept and not judged")
			continue
		}
		if v.Typed = v.X; of == "applied" || of == "indicated" {
			v.X = w.atInstrument(v.Typed, v.Field)
		}
		key := step + " " + of
		if len(s.Values[key]) > 0 && !many[key] {
			RefuseTwice(c, "value")
			return s
		}
		s.Values[key] = append(s.Values[key], v)
	}
	if in.Has("traces") {
		for _, r := range in.List("traces") {
			w.readTrace(r, &s, known)
		}
	}
	w.Stops = ReadStops(in)
	for _, n := range w.needs {
		if v, ok := s.One(n.id, "answer"); ok && n.safety != "" {
			w.Stops.Answered(v.Text, v.Field, n.safety)
		}
	}
	around := &w.Rule.Around
	s.Temperature, s.HasTemperature = around.TemperatureC, around.HasTemperature
	s.Pressure, s.HasPressure = around.PressurePa, around.HasPressure
	if r, ok := in.OptionalObject("surroundings"); ok {
		s.Height, s.HasHeight = r.Optional("height_m")
		Skim(r)
	}
	s.Whole = in.Flag("complete", false)
	return s
}

// readTrace reads the samples of one step.
func (w *Layout) readTrace(r *document.Reader, s *Sheet, known map[string]bool) {
	step, from := r.Text("step"), units.Of(r, "unit", units.Pressure)
	tr := &Trace{Field: r.Path("p"), T: r.Numbers("t_s"), P: r.Numbers("p")}
	for _, c := range []struct {
		name string
		to   *[]float64
	}{{"temperature_c", &tr.Temperature}, {"barometer_pa", &tr.Barometer}} {
		if !r.Has(c.name) {
			r.Raw(c.name)
			continue
		}
		if *c.to = r.Numbers(c.name); r.Err() == nil && len(*c.to) != len(tr.T) {
			r.Fail(
				document.CodeShape, c.name,
				"has "+strconv.Itoa(len(*c.to))+" values, the time has "+strconv.Itoa(len(tr.T)),
			)
		}
	}
	tr.Contact = r.TextOr("contact", "")
	switch {
	case r.Err() != nil:
		return
	case len(tr.P) != len(tr.T):
		r.Fail(document.CodeShape, "p", "has "+strconv.Itoa(len(tr.P))+" values, the time has "+strconv.Itoa(len(tr.T)))
		return
	case tr.Contact != "" && len(tr.Contact) != len(tr.T):
		r.Fail(
			document.CodeShape, "contact",
			"has "+strconv.Itoa(len(tr.Contact))+" values, the time has "+strconv.Itoa(len(tr.T)),
		)
		return
	case !known[step]:
		w.Warn("unknown_step", r.Path("step"), "the method asks for no such record; it is kept and not judged")
		return
	case s.Traces[step] != nil:
		RefuseTwice(r, "record")
		return
	}
	for i := 1; i < len(tr.T); i++ {
		if !(tr.T[i] > tr.T[i-1]) {
			r.Fail(document.CodeRange, "t_s["+strconv.Itoa(i)+"]", "the time does not rise")
			return
		}
	}
	if from.Name != w.Unit.Name {
		for i, x := range tr.P {
			tr.P[i] = w.Unit.FromSI(from.ToSI(x))
		}
	}
	most := 0.0
	for _, x := range tr.P {
		most = max(most, math.Abs(x))
	}
	if span := max(math.Abs(w.Low), math.Abs(w.High)); len(tr.P) > 0 && (most > float64(3*span) || most < span/200) {
		w.Warn("implausible", tr.Field, "the pressures reach "+Figure(most)+" "+w.Spelling+", the instrument's range "+Figure(span)+": is the unit right?")
	}
	tr.Typed = tr.P
	if w.Source.Standard != nil || w.Source.Site != nil {
		tr.P = make([]float64, len(tr.Typed))
		for i, x := range tr.Typed {
			p, ok := w.Source.Pressure(x)
			tr.P[i] = p
			w.checkColumn(ok, tr.Field)
		}
	}
	s.Traces[step] = tr
}

// One returns the value of a step that takes a single one.
func (s *Sheet) One(step, of string) (Value, bool) {
	v := s.Values[step+" "+of]
	if len(v) == 0 {
		return Value{}, false
	}
	return v[len(v)-1], true
}

// Number returns an answer that is a number.
func (s *Sheet) Number(step string) (Value, bool) {
	v, ok := s.One(step, "answer")
	return v, ok && document.IsDecimal(v.Text)
}

// Missing lists the steps whose value is neither typed nor in a trace.
func (w *Layout) Missing(s *Sheet) []string {
	var list []string
	for _, n := range w.needs {
		if n.optional || len(s.Values[n.id+" "+n.of]) > 0 {
			continue
		}
		if tr := s.Traces[n.by]; tr != nil &&
			(n.column == 'p' || n.column == 't' && tr.Temperature != nil || n.column == 'b' && tr.Barometer != nil) {
			continue
		}
		list = append(list, n.id)
	}
	return list
}

// Thinned returns the indices of no more than most of n samples, evenly spaced, with the last.
func Thinned(n, most int) []int {
	stride := max(1, (n+most-2)/(most-1))
	var list []int
	for i := 0; i < n; i += stride {
		list = append(list, i)
	}
	if n > 0 && list[len(list)-1] != n-1 {
		list = append(list, n-1)
	}
	return list
}

// WriteNumbers writes a list of numbers.
func WriteNumbers(out *document.Writer, name string, n []float64) {
	out.BeginList(name)
	for _, x := range n {
		out.NumberItem(x)
	}
	out.EndList()
}
