package calc

import (
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/head"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
)

// capture is one effective datum of a sheet.
type capture struct {
	value numeric.Exact
	field string
}

// evaluateDoor is the room evaluate: a sheet → a finding.
//
// It takes a sheet that is not complete as well: each reading that is there is judged, what is missing is named, and the verdict is undecided.
func evaluateDoor(in *document.Reader, out *document.Writer) error {
	it := readItem(in.Object("instrument"))
	if err := in.Err(); err != nil {
		return err
	}
	m := readMethod(in.Object("method"), it)
	task := gauge.Task{Unit: it.spelling, Low: it.low, High: it.high, Resolution: it.resolution}
	switch {
	case in.Err() != nil:
	case it.limit == nil:
		in.Fail(document.CodeMissing, "instrument.limit", "without a limit there is nothing to judge by")
	default:
		task.Limit = gauge.ReadLimit(it.limit, it.low, it.high)
	}
	if s, ok := in.OptionalObject("standard"); ok {
		one := standard.Read(s)
		task.Standard, task.HasStandard = &one, true
	}
	if s, ok := in.OptionalObject("surroundings"); ok {
		for _, name := range []string{"temperature_c", "pressure_hpa", "humidity_percent"} {
			s.Optional(name)
		}
	}
	if h, ok := in.OptionalObject("head"); ok {
		c := head.Read(h)
		if in.Err() == nil {
			task.SetHead(head.Correction(c), it.unit.Factor)
		}
	}
	if m.decision != nil {
		gauge.ReadDecision(m.decision, &task)
	} else {
		task.Rule, task.K, task.Factor = conformity.Simple, numeric.ExactInt(2), numeric.ExactInt(1)
	}
	captures, warnings := readCaptures(in, it, m)
	whole := in.Flag("complete", false)
	if err := in.Err(); err != nil {
		return err
	}
	var steps []asked
	var missing []string
	for _, a := range m.readings() {
		r, ok := m.reading(a, captures)
		if !ok {
			missing = append(missing, a.step)
			continue
		}
		warnings = append(warnings, outside(r, it)...)
		steps = append(steps, a)
		task.Add(r)
	}
	return finish(out, &task, steps, missing, warnings, whole)
}

// readCaptures takes the captures by step and by what they are of.
func readCaptures(in *document.Reader, it item, m method) (map[string]capture, []gauge.Warning) {
	known := map[string]bool{}
	for _, a := range m.readings() {
		known[a.step] = true
	}
	captures := map[string]capture{}
	var warnings []gauge.Warning
	for _, c := range in.List("captures") {
		step, of := c.Text("step"), c.Choice("of", "applied", "indicated", "before_tap")
		value, unit := c.Decimal("value"), c.Text("unit")
		if in.Err() != nil {
			return nil, nil
		}
		x, ok := numeric.ParseExact(value.Text)
		switch {
		case !ok:
			c.Fail(document.CodeRange, "value", "the number is too long or its exponent too large")
		case unit != it.spelling:
			c.Fail(document.CodeUnit, "unit", "is "+document.Quote(unit)+", the instrument's is "+strconv.Quote(it.spelling)+"; one sheet has one unit")
		case !known[step]:
			warnings = append(warnings, gauge.Warning{Code: "unknown_step", Field: c.Path("step"), Message: "the method asks for no such reading; it is kept and not judged"})
			continue
		}
		name := step + " " + of
		if _, twice := captures[name]; twice {
			c.Fail(document.CodeConflict, "step", "this reading is there twice; a correction supersedes the first")
		}
		captures[name] = capture{x, c.Path("value")}
	}
	return captures, warnings
}

// reading puts one reading together from its captures. With the applied pressure set, a missing applied value is the point itself; with the
// pointer set to the mark, a missing indicated value is.
func (m *method) reading(a asked, captures map[string]capture) (gauge.Reading, bool) {
	target, _ := numeric.ParseExact(a.target)
	applied, hasApplied := captures[a.step+" applied"]
	indicated, hasIndicated := captures[a.step+" indicated"]
	tap, hasTap := captures[a.step+" before_tap"]
	r := gauge.Reading{Series: strconv.Itoa(a.series), Up: a.up, Point: target, Applied: target, Indicated: target, BeforeTap: tap.value, HasTap: hasTap}
	if hasApplied {
		r.Applied, r.Field = applied.value, applied.field
	}
	if hasIndicated {
		r.Indicated, r.Field = indicated.value, indicated.field
	}
	if m.pointerSet {
		return r, hasApplied
	}
	return r, hasIndicated
}

// outside warns of a value that lies beyond the instrument's range by more than a twentieth of it: a slip of the decimal sign, most often.
func outside(r gauge.Reading, it item) []gauge.Warning {
	margin, _ := it.high.Sub(it.low).Div(numeric.ExactInt(20))
	var list []gauge.Warning
	for _, x := range []numeric.Exact{r.Indicated, r.Applied} {
		if x.Cmp(it.low.Sub(margin)) < 0 || x.Cmp(it.high.Add(margin)) > 0 {
			list = append(list, gauge.Warning{Code: "out_of_range", Field: r.Field, Message: "the value lies outside the instrument's range"})
			break
		}
	}
	return list
}

func finish(out *document.Writer, task *gauge.Task, steps []asked, missing []string, warnings []gauge.Warning, whole bool) error {
	complete := whole && len(missing) == 0
	if len(steps) == 0 {
		out.Text("verdict", conformity.Undecided)
		out.Text("reason", "there is no reading")
		writeMissing(out, missing)
		out.BeginList("readings")
		out.EndList()
		gauge.WriteWarnings(out, warnings)
		return nil
	}
	rule := task.Rule
	result, err := gauge.Evaluate(task)
	lacking := ""
	if err != nil {
		// The standard does not say what the rule needs: the readings are judged by simple acceptance to show where they lie, the verdict stays open.
		lacking = document.AsFault(err).Message
		warnings = append(warnings, gauge.Warning{Code: "standard", Field: document.AsFault(err).Field, Message: lacking})
		task.HasStandard, task.Rule = false, conformity.Simple
		if result, err = gauge.Evaluate(task); err != nil {
			return err
		}
	}
	verdict, reason := result.Verdict, result.Reason
	switch {
	case lacking != "" && rule != conformity.Simple:
		verdict, reason = conformity.Undecided, lacking
	case !complete && len(missing) > 0:
		verdict, reason = conformity.Undecided, strconv.Itoa(len(missing))+" readings are missing"
	case !complete:
		verdict, reason = conformity.Undecided, "the run is not closed"
	}
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	writeMissing(out, missing)
	out.BeginList("readings")
	for i, a := range steps {
		writeReading(out, a, &task.Readings[i], &result.Readings[i])
	}
	out.EndList()
	if result.HasWorst {
		out.BeginObject("worst")
		out.Number("point", result.WorstPoint)
		out.Text("direction", map[bool]string{true: "up", false: "down"}[result.WorstUp])
		out.Number("fraction", result.WorstFraction)
		out.End()
	}
	gauge.WritePoints(out, &result)
	out.BeginObject("gauge")
	gauge.WriteSummary(out, task, &result)
	out.End()
	gauge.WriteWarnings(out, append(warnings, result.Warnings...))
	return nil
}

func writeMissing(out *document.Writer, missing []string) {
	out.Flag("complete", len(missing) == 0)
	out.BeginList("missing")
	for _, step := range missing {
		out.TextItem(step)
	}
	out.EndList()
}

func writeReading(out *document.Writer, a asked, r *gauge.Reading, j *gauge.Judged) {
	out.Begin()
	out.Text("step", a.step)
	out.Whole("series", a.series)
	out.Text("direction", map[bool]string{true: "up", false: "down"}[a.up])
	out.Text("point", a.target)
	out.Number("applied", r.Applied.Float())
	out.Number("indicated", r.Indicated.Float())
	out.Number("error", j.Error)
	if j.Limited {
		out.Number("limit_low", j.LimitLow)
		out.Number("limit_high", j.LimitHigh)
		out.Number("fraction", j.Fraction)
		out.Text("verdict", j.Verdict)
	}
	out.End()
}
