package calc

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// What the kinds leak, switch and burst have in common: the instrument, the steps that are asked for, and the sheet with typed values and traces.

// atmosphere is the outside pressure where nobody states it, Pa.
const atmosphere = 101325

// work is a method laid out: for its plan, or for the evaluation, which then knows what was asked for.
type work struct {
	in       *document.Reader
	m        *document.Reader // the method
	parts    *document.Reader // the instrument's particulars, of an empty object where there are none
	p        *plan            // nil while a sheet is judged
	unit     units.Unit
	spelling string
	gauge    bool

	low, high  float64 // in the instrument's unit
	resolution float64
	ambient    float64 // Pa
	source     string
	needs      []workNeed
	warnings   []gauge.Warning
	stored     []stored
}

// workNeed is a value that a method asks for.
type workNeed struct {
	id, of   string
	many     bool   // any number of values
	optional bool   // nothing is missing without it
	by       string // the step whose trace may stand instead
	column   byte   // that the trace needs for it: t temperature, b barometer, p pressure
}

// newWork reads what every such method and instrument has.
func newWork(in *document.Reader, p *plan) *work {
	w := &work{in: in, p: p}
	it := in.Object("instrument")
	w.unit, w.spelling = units.Of(it, "unit", units.Pressure), it.TextOr("unit", "")
	w.low, w.high = it.Number("low"), it.Number("high")
	w.resolution = it.NumberOr("resolution", 0)
	if it.Err() == nil && !it.Has("mode") {
		it.Fail(document.CodeMissing, "mode", "say whether the sensor shows gauge or absolute pressure")
	}
	w.gauge = it.ChoiceOr("mode", "gauge", "absolute") == "gauge"
	for _, known := range []string{"limit", "output", "temperature_coefficient_percent_per_k", "reference_temperature_c"} {
		it.Raw(known)
	}
	switch {
	case in.Err() != nil:
	case w.low >= w.high:
		it.Fail(document.CodeRange, "high", "must lie above low")
	case w.resolution < 0:
		it.Fail(document.CodeRange, "resolution", "must not be below zero")
	}
	parts, ok := it.OptionalObject("particulars")
	if !ok {
		parts = document.Open(document.Value{Kind: document.Object})
	}
	w.parts = parts
	w.ambient = atmosphere
	if parts.Has("ambient_pa") {
		w.ambient = parts.Positive("ambient_pa")
		if in.Err() == nil && (w.ambient < 3e4 || w.ambient > 1.2e5) {
			parts.Fail(document.CodeRange, "ambient_pa", "no place has this pressure: it must be from 30000 to 120000 Pa, absolute")
		}
	} else {
		parts.Raw("ambient_pa")
	}
	w.m = in.Object("method")
	w.m.Raw("kind")
	w.source = w.m.TextOr("source", "stated by the method")
	return w
}

// seconds takes a time of a method, from 0 to a day.
func (w *work) seconds(r *document.Reader, name string, otherwise float64) float64 {
	x := r.NumberOr(name, otherwise)
	if r.Err() == nil && !(x >= 0 && x <= 86400) {
		r.Fail(document.CodeRange, name, "must be from 0 to 86400 s")
	}
	return x
}

// absolute is a pressure of the instrument's unit and mode in Pa absolute.
func (w *work) absolute(x float64) float64 {
	if w.gauge {
		return w.unit.ToSI(x) + w.ambient
	}
	return w.unit.ToSI(x)
}

// screen begins a new screen of the plan.
func (w *work) screen() {
	if w.p != nil {
		w.p.screen++
	}
}

// step writes a step and notes what it asks for.
func (w *work) step(s planStep, seconds float64) {
	w.stepBy(s, seconds, "", 0)
}

// stepBy is step for a value that the trace of another step may give.
func (w *work) stepBy(s planStep, seconds float64, by string, column byte) {
	if s.do == "read" || s.do == "ask" {
		of := "answer"
		if s.do == "read" {
			of = s.of
		}
		if s.trace && by == "" {
			by, column = s.id, 'p'
		}
		w.needs = append(w.needs, workNeed{s.id, of, s.many, s.optional, by, column})
	}
	if w.p != nil && w.in.Err() == nil {
		w.p.step(s)
		w.p.seconds += seconds
	}
}

func (w *work) warn(code, field, message string) {
	w.warnings = append(w.warnings, gauge.Warning{Code: code, Field: field, Message: message})
}

// workValue is one capture.
type workValue struct {
	x     float64 // of a pressure, in the instrument's unit
	text  string
	at    int64
	timed bool
	field string
}

// workTrace is the samples that stand for a step; pressures are in the instrument's unit.
type workTrace struct {
	field                        string
	t, p, temperature, barometer []float64
	contact                      string
}

// workSheet is what was written down in a run.
type workSheet struct {
	values             map[string][]workValue // by step and by what they are of
	traces             map[string]*workTrace  // by step
	whole              bool
	temperature, press float64 // of the surroundings, °C and Pa
	hasT, hasP         bool
}

// readSheet takes captures and traces.
func (w *work) readSheet() workSheet {
	in := w.in
	s := workSheet{values: map[string][]workValue{}, traces: map[string]*workTrace{}}
	many, known := map[string]bool{}, map[string]bool{}
	for _, n := range w.needs {
		known[n.id] = true
		many[n.id+" "+n.of] = n.many
	}
	for _, c := range in.List("captures") {
		step, of := c.Text("step"), c.Choice("of", "applied", "indicated", "before_tap", "answer", "settle")
		at, timed := c.Moment("at")
		v := workValue{at: at, timed: timed, field: c.Path("value")}
		unit := c.TextOr("unit", "")
		if of == "answer" {
			raw, ok := c.Raw("value")
			if !ok {
				c.Fail(document.CodeMissing, "value", "this field is missing")
				return s
			}
			v.text = raw.Text
			v.x, _ = strconv.ParseFloat(raw.Text, 64)
		} else {
			d := c.Decimal("value")
			v.text, v.x = d.Text, d.Value
			if unit != w.spelling {
				from := units.Of(c, "unit", units.Pressure)
				if x, ok := numeric.ParseExact(d.Text); ok && c.Err() == nil {
					v.x = w.unit.ExactFromSI(from.ExactSI(x)).Float()
				}
			}
		}
		if in.Err() != nil {
			return s
		}
		if !known[step] {
			w.warn("unknown_step", c.Path("step"), "the method asks for no such value; it is kept and not judged")
			continue
		}
		key := step + " " + of
		if len(s.values[key]) > 0 && !many[key] {
			c.Fail(document.CodeConflict, "step", "this value is there twice; a correction supersedes the first")
			return s
		}
		s.values[key] = append(s.values[key], v)
	}
	if in.Has("traces") {
		for _, r := range in.List("traces") {
			w.readTrace(r, &s, known)
		}
	}
	if r, ok := in.OptionalObject("surroundings"); ok {
		s.temperature, s.hasT = r.Optional("temperature_c")
		p, has := r.Optional("pressure_hpa")
		s.press, s.hasP = float64(p*100), has
		skim(r)
	}
	for _, other := range []string{"standard", "head"} { // whose uncertainty stands on the certificate beside the results
		in.Raw(other)
	}
	s.whole = in.Flag("complete", false)
	return s
}

// readTrace takes the samples of one step.
func (w *work) readTrace(r *document.Reader, s *workSheet, known map[string]bool) {
	step, from := r.Text("step"), units.Of(r, "unit", units.Pressure)
	tr := &workTrace{field: r.Path("p"), t: r.Numbers("t_s"), p: r.Numbers("p")}
	for _, c := range []struct {
		name string
		to   *[]float64
	}{{"temperature_c", &tr.temperature}, {"barometer_pa", &tr.barometer}} {
		if !r.Has(c.name) {
			r.Raw(c.name)
			continue
		}
		if *c.to = r.Numbers(c.name); r.Err() == nil && len(*c.to) != len(tr.t) {
			r.Fail(document.CodeShape, c.name, "has "+strconv.Itoa(len(*c.to))+" values, the time has "+strconv.Itoa(len(tr.t)))
		}
	}
	tr.contact = r.TextOr("contact", "")
	switch {
	case r.Err() != nil:
		return
	case len(tr.p) != len(tr.t):
		r.Fail(document.CodeShape, "p", "has "+strconv.Itoa(len(tr.p))+" values, the time has "+strconv.Itoa(len(tr.t)))
		return
	case tr.contact != "" && len(tr.contact) != len(tr.t):
		r.Fail(document.CodeShape, "contact", "has "+strconv.Itoa(len(tr.contact))+" values, the time has "+strconv.Itoa(len(tr.t)))
		return
	case !known[step]:
		w.warn("unknown_step", r.Path("step"), "the method asks for no such record; it is kept and not judged")
		return
	case s.traces[step] != nil:
		r.Fail(document.CodeConflict, "step", "this record is there twice; a correction supersedes the first")
		return
	}
	for i := 1; i < len(tr.t); i++ {
		if !(tr.t[i] > tr.t[i-1]) {
			r.Fail(document.CodeRange, "t_s["+strconv.Itoa(i)+"]", "the time does not rise")
			return
		}
	}
	if from.Name != w.unit.Name {
		for i, x := range tr.p {
			tr.p[i] = w.unit.FromSI(from.ToSI(x))
		}
	}
	most := 0.0
	for _, x := range tr.p {
		most = max(most, math.Abs(x))
	}
	if span := max(math.Abs(w.low), math.Abs(w.high)); len(tr.p) > 0 && (most > float64(3*span) || most < span/200) {
		w.warn("implausible", tr.field, "the pressures reach "+figure(most)+" "+w.spelling+", the instrument's range "+figure(span)+": is the unit right?")
	}
	s.traces[step] = tr
}

// one is the value of a step that takes one.
func (s *workSheet) one(step, of string) (workValue, bool) {
	v := s.values[step+" "+of]
	if len(v) == 0 {
		return workValue{}, false
	}
	return v[len(v)-1], true
}

// number is an answer that is a number.
func (s *workSheet) number(step string) (workValue, bool) {
	v, ok := s.one(step, "answer")
	return v, ok && document.IsDecimal(v.text)
}

// missing lists the steps whose value is neither typed nor in a trace.
func (w *work) missing(s *workSheet) []string {
	var list []string
	for _, n := range w.needs {
		if n.optional || len(s.values[n.id+" "+n.of]) > 0 {
			continue
		}
		if tr := s.traces[n.by]; tr != nil && (n.column == 'p' || n.column == 't' && tr.temperature != nil || n.column == 'b' && tr.barometer != nil) {
			continue
		}
		list = append(list, n.id)
	}
	return list
}

// figure writes a number with four significant digits at most, in plain digits where that is short.
func figure(x float64) string {
	r := numeric.RoundSignificant(x, 4)
	if a := math.Abs(r); a != 0 && (a < 1e-4 || a >= 1e7) {
		return strconv.FormatFloat(r, 'g', -1, 64)
	}
	e, _ := numeric.ExactOf(r)
	s, _ := e.Text(8)
	return s
}

// decimals is how many digits a typed number has after its point.
func decimals(text string) int {
	for i := range len(text) {
		if text[i] == '.' {
			n := 0
			for _, c := range text[i+1:] {
				if c < '0' || c > '9' {
					break
				}
				n++
			}
			return n
		}
	}
	return 0
}

// lastDigit is the step of a number typed with so many digits after its point.
func lastDigit(digits int) float64 {
	step := 1.0
	for range min(digits, 12) {
		step /= 10
	}
	return step
}

// thinned picks at most so many of n samples, evenly, with the last.
func thinned(n, most int) []int {
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

func writeNumbers(out *document.Writer, name string, n []float64) {
	out.BeginList(name)
	for _, x := range n {
		out.NumberItem(x)
	}
	out.EndList()
}
