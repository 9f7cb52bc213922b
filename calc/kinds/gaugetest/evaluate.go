package gaugetest

import (
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/gauge"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// capture is one effective capture of a sheet.
type capture struct {
	value numeric.Exact
	field string
	text  string // as typed
	unit  string
}

// Kind is the kind of work on gauges and transmitters.
func Kind() work.Kind {
	k := work.Measured("gauge", expand, evaluate, nil)
	k.Meter, k.Barometer = evaluateMeter, evaluateBarometer
	return k
}

// evaluate judges the sheet of a gauge's run, with a look back on its standard: see work.LookBack.
func evaluate(
	in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64),
) error {
	return judge(in, out, beyond{standard: elsewhere}, func(_ *gauge.Task, r *gauge.Reading) { taken(r.Typed) })
}

// evaluateMeter is evaluate with a look back on the meter that reads a transmitter's signal.
func evaluateMeter(
	in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64),
) error {
	return judge(in, out, beyond{meter: elsewhere}, func(_ *gauge.Task, r *gauge.Reading) { taken(r.Read) })
}

// evaluateBarometer is evaluate with a look back on the barometer beside a gauge standard, on whose
// one reading every applied pressure rests.
func evaluateBarometer(
	in *document.Reader, out *document.Writer, elsewhere *standard.Standard, taken func(typed float64),
) error {
	return judge(in, out, beyond{barometer: elsewhere}, func(t *gauge.Task, _ *gauge.Reading) {
		if t.Barometer != nil {
			read, _ := t.Air()
			taken(read)
		}
	})
}

// beyond holds the fallbacks for pressures or signals outside the points of the sheet's own
// devices.
type beyond struct{ standard, meter, barometer *standard.Standard }

// judge judges a sheet. Beyond the points of its standard, meter or barometer it uses the fallback.
//
// It also takes an incomplete sheet: it judges the readings present, names the missing ones, and
// leaves the verdict undecided.
func judge(
	in *document.Reader, out *document.Writer, e beyond, taken func(t *gauge.Task, r *gauge.Reading),
) error {
	inside := in.Object("instrument")
	it := readItem(inside)
	if err := in.Err(); err != nil {
		return err
	}
	m := readMethod(in.Object("method"), it)
	task := gauge.Task{
		Unit: it.spelling, Mode: it.mode, Pascals: it.unit.Factor, Low: it.low, High: it.high,
		Resolution: it.resolution, Output: it.output, Planned: len(m.points),
	}
	switch {
	case in.Err() != nil:
	case it.limit == nil:
		in.Fail(document.CodeMissing, "instrument.limit", "without a limit there is nothing to judge by")
	case it.output != nil && m.pointerSet:
		in.Fail(document.CodeConflict, "method.way", "a transmitter has no pointer to set")
	default:
		task.Limit = gauge.ReadLimit(it.limit, it.low, it.high, it.output)
	}
	if s, ok := in.OptionalObject("standard"); ok {
		one := standard.Read(s)
		one.Elsewhere = e.standard
		task.Standard, task.HasStandard = &one, true
	}
	if s, ok := in.OptionalObject("meter"); ok {
		if in.Err() == nil && it.output == nil {
			in.Fail(document.CodeConflict, "meter", "only a transmitter has a signal that a meter reads")
		}
		one := standard.Read(s)
		one.Elsewhere = e.meter
		task.Meter = &one
	}
	gauge.ReadSurroundings(in, &task)
	air, barometer := gauge.ReadBarometer(in, &task, e.barometer)
	open := work.ReadStops(in)
	gauge.ReadOwn(m.document, &task)
	gauge.ReadOwn(inside, &task) // the instrument's own data take precedence over the method's
	gauge.ReadHead(in, &task)
	if m.decision != nil {
		gauge.ReadDecision(m.decision, &task)
	} else {
		task.Rule, task.Guard = conformity.Simple, numeric.ExactInt(1)
	}
	captures := readCaptures(in, &task, it, m)
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
		if barometer {
			m.above(a, captures, &r, air)
		}
		outside(&task, &r)
		steps = append(steps, a)
		task.Add(r)
		taken(&task, &task.Readings[len(task.Readings)-1])
	}
	return finish(out, &task, &open, steps, captures, missing, whole)
}

// readCaptures reads the captures by step and by quantity. It converts a pressure typed in another
// unit to the instrument's without rounding.
func readCaptures(in *document.Reader, task *gauge.Task, it item, m method) map[string]capture {
	known := map[string]bool{}
	for _, a := range m.readings() {
		known[a.step] = true
	}
	captures := map[string]capture{}
	converted := ""
	for _, c := range in.List("captures") {
		step, of := c.Text("step"), c.Choice("of", "applied", "indicated", "before_tap")
		value, unit := c.Decimal("value"), c.Text("unit")
		c.Moment("at")
		if in.Err() != nil {
			return nil
		}
		x, ok := numeric.ParseExact(value.Text)
		signal := it.output != nil && of != "applied"
		switch {
		case !ok:
			c.Fail(document.CodeRange, "value", "the number is too long or its exponent too large")
		case signal && unit != it.output.Unit:
			c.Fail(
				document.CodeUnit, "unit",
				"is "+document.Quote(unit)+", the output's is "+document.Quote(it.output.Unit),
			)
		case !signal && unit != it.spelling:
			from := units.Of(c, "unit", units.Pressure)
			x = it.unit.ExactFromSI(from.ExactSI(x))
			if converted == "" && from.Name != it.unit.Name {
				converted = unit
				task.Warnings = append(
					task.Warnings,
					gauge.Warning{
						Code: "converted", Field: c.Path("unit"),
						Message: "typed in " + unit + ", judged in " + it.spelling,
					},
				)
			}
		}
		if in.Err() == nil && !known[step] {
			task.Warnings = append(
				task.Warnings,
				gauge.Warning{
					Code: "unknown_step", Field: c.Path("step"),
					Message: "the method asks for no such reading; it is kept and not judged",
				},
			)
			continue
		}
		name := step + " " + of
		if _, twice := captures[name]; twice {
			work.RefuseTwice(c, "reading")
		}
		captures[name] = capture{x, c.Path("value"), value.Text, unit}
	}
	return captures
}

// reading puts one reading together from its captures. If the method sets the applied pressure, a
// missing applied value is the point itself; if it sets the pointer to the mark, a missing
// indicated value is.
func (m *method) reading(a asked, captures map[string]capture) (gauge.Reading, bool) {
	target, _ := numeric.ParseExact(a.target)
	applied, hasApplied := captures[a.step+" applied"]
	indicated, hasIndicated := captures[a.step+" indicated"]
	tap, hasTap := captures[a.step+" before_tap"]
	r := gauge.Reading{
		Series: strconv.Itoa(a.series), Up: a.up, Point: target, Applied: target, Indicated: target,
		BeforeTap: tap.value, HasTap: hasTap, Mounting: a.mounting,
	}
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

// above turns a reading by a gauge standard beside a barometer into absolute pressure: the
// standard's typed reading counts from the air, and if none was typed, the standard was set so that
// the point was met.
func (m *method) above(a asked, captures map[string]capture, r *gauge.Reading, air numeric.Exact) {
	r.Shown = r.Applied.Sub(air)
	if typed, ok := captures[a.step+" applied"]; ok {
		r.Shown, r.Applied = typed.value, typed.value.Add(air)
	}
}

// outside warns of a value that lies beyond the instrument's range by more than a twentieth of it,
// most often because of a slipped decimal point.
func outside(t *gauge.Task, r *gauge.Reading) {
	beyond := func(x, low, high numeric.Exact) bool {
		margin, _ := high.Sub(low).Div(numeric.ExactInt(20))
		return x.Cmp(low.Sub(margin)) < 0 || x.Cmp(high.Add(margin)) > 0
	}
	far := beyond(r.Applied, t.Low, t.High)
	if t.Output != nil {
		far = far || beyond(r.Indicated, t.Output.Low, t.Output.High)
	} else {
		far = far || beyond(r.Indicated, t.Low, t.High)
	}
	if far {
		t.Warnings = append(
			t.Warnings,
			gauge.Warning{
				Code: "out_of_range", Field: r.Field, Message: "the value lies outside the instrument's range",
			},
		)
	}
}

func finish(
	out *document.Writer, task *gauge.Task, open *work.Stops, steps []asked, captures map[string]capture,
	missing []string, whole bool,
) error {
	if len(steps) == 0 {
		verdict, reason := open.Verdict(conformity.Undecided, "there is no reading")
		out.Text("verdict", verdict)
		out.Text("reason", reason)
		work.WriteMissing(out, missing)
		out.BeginList("readings")
		out.EndList()
		gauge.WriteWarnings(out, open.Before(task.Warnings))
		return nil
	}
	rule := task.Rule
	result, err := gauge.Evaluate(task)
	lacking := ""
	if err != nil {
		// The standard does not give the uncertainty that the rule needs. The readings are judged
		// by simple acceptance, to show where they lie, and the verdict stays open.
		lacking = document.AsFault(err).Message
		task.Warnings = append(
			task.Warnings,
			gauge.Warning{Code: "standard", Field: document.AsFault(err).Field, Message: lacking},
		)
		task.HasStandard, task.Rule = false, conformity.Simple
		if result, err = gauge.Evaluate(task); err != nil {
			return err
		}
	}
	verdict, reason := result.Verdict, result.Reason
	notYet := work.OpenReason(len(missing), whole, "readings")
	switch {
	case lacking != "" && rule != conformity.Simple:
		verdict, reason = conformity.Undecided, lacking
	case notYet != "":
		verdict, reason = conformity.Undecided, notYet
	}
	verdict, reason = open.Verdict(verdict, reason)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	work.WriteMissing(out, missing)
	out.BeginList("readings")
	for i, a := range steps {
		writeReading(out, task, a, captures, &task.Readings[i], &result.Readings[i])
	}
	out.EndList()
	if result.HasWorst {
		out.BeginObject("worst")
		out.Number("point", result.WorstPoint)
		out.Text("direction", work.Direction(result.WorstUp))
		out.Number("fraction", result.WorstFraction)
		out.End()
	}
	gauge.WritePoints(out, task, &result)
	out.BeginObject("gauge")
	gauge.WriteSummary(out, task, &result)
	out.End()
	gauge.WriteWarnings(out, open.Before(result.Warnings))
	return nil
}

func writeReading(
	out *document.Writer, t *gauge.Task, a asked, captures map[string]capture, r *gauge.Reading,
	j *gauge.Judged,
) {
	out.Begin()
	out.Text("step", a.step)
	out.Whole("series", a.series)
	out.Text("direction", work.Direction(a.up))
	out.Text("point", a.target)
	out.Number("applied", r.Applied.Float())
	out.Number("indicated", r.Indicated.Float())
	writeTyped(out, t, a, captures, r)
	out.Number("error", j.Error)
	if t.Output != nil {
		gauge.WriteSignal(out, t, r)
	}
	if j.Limited {
		out.Number("limit_low", j.LimitLow)
		out.Number("limit_high", j.LimitHigh)
		out.Number("fraction", j.Fraction)
		out.Text("verdict", j.Verdict)
	} else {
		out.Text("not_judged", "stop pin")
	}
	out.End()
}

// writeTyped writes the typed value beside the converted one if they differ: by another unit, a
// correction, or a barometer beside a gauge standard. If no reading of the standard was typed, it
// writes the value that the standard was set to.
func writeTyped(out *document.Writer, t *gauge.Task, a asked, captures map[string]capture, r *gauge.Reading) {
	changed := r.Corrected
	for _, of := range []string{"applied", "indicated", "before_tap"} {
		c, ok := captures[a.step+" "+of]
		changed = changed || ok && c.unit != t.Unit && (t.Output == nil || of == "applied")
	}
	if !changed {
		return
	}
	out.BeginObject("typed")
	for _, of := range []string{"applied", "indicated", "before_tap"} {
		c, ok := captures[a.step+" "+of]
		switch {
		case ok:
			out.Text(of, c.text+" "+c.unit)
		case of == "applied" && t.Barometer != nil:
			set, _ := r.Shown.Text(12)
			out.Text(of, set+" "+t.Unit)
		case of == "applied":
			out.Text(of, a.target+" "+t.Unit)
		}
	}
	out.End()
}
