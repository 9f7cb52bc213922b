package programme

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/units"
)

// ReadSteps reads a programme as text or as a list of steps, and counts lines as in the canonical
// text.
//
// Refuses: Fault on the field if it is no programme.
func ReadSteps(in *document.Reader, name string) []Step {
	v, ok := in.Raw(name)
	if ok && v.Kind == document.Array {
		return Steps(in, name)
	}
	text := in.Text(name)
	if in.Err() != nil {
		return nil
	}
	steps, err := Parse(text)
	if err == nil {
		steps, err = Parse(Text(steps))
	}
	if err != nil {
		in.Fail(document.CodeRange, name, err.Error())
	}
	return steps
}

// ReadData reads the captures of a run. It converts a pressure to the unit of its step without
// rounding.
func ReadData(in *document.Reader, name string, steps []Step, unit string) []Datum {
	if len(steps) > 0 && steps[0].Do == Unit {
		unit = steps[0].Unit
	}
	from := map[int]*Step{}
	byLineOf(steps, from)
	var list []Datum
	for n, c := range in.List(name) {
		d := Datum{
			Step: c.Text("step"),
			Of:   c.Choice("of", "indicated", "applied", "before_tap", "answer", "settle"), Index: n,
		}
		typed := c.TextOr("unit", "")
		d.At, d.Timed = c.Moment("at")
		if first, ok := c.Moment("first_at"); ok { // moment of the value that it replaced
			d.At, d.Timed = first, true
		}
		s := from[lineOf(d.Step)]
		answer := d.Of == "answer"
		if answer && (s == nil || s.Do != Ask || s.As != "number") {
			d.Text = c.Text("value")
		} else {
			value := c.Decimal("value")
			d.Text = value.Text
			if d.Value, d.Number = numeric.ParseExact(value.Text); in.Err() == nil && !d.Number {
				c.Fail(document.CodeRange, "value", "the number is too long or its exponent too large")
			}
		}
		if in.Err() != nil {
			return nil
		}
		if want, kind := unitOf(s, unit); d.Number && !answer && want != "" && typed != want {
			to, ok := units.Find(want)
			source := units.Of(c, "unit", kind)
			if in.Err() == nil && ok {
				d.Value = to.ExactFromSI(source.ExactSI(d.Value))
			}
		}
		list = append(list, d)
	}
	return list
}

func unitOf(s *Step, unit string) (string, units.Kind) {
	if s != nil && s.Do == Read {
		switch s.From {
		case "thermometer":
			return "°C", units.Temperature
		case "barometer":
			return "hPa", units.Pressure
		}
	}
	return unit, units.Pressure
}

// lineOf returns the line in an id, 0 if there is none.
func lineOf(id string) int {
	end := 1
	for end < len(id) && digit(id[end]) {
		end++
	}
	if len(id) < 2 || id[0] != 'l' || end > 9 {
		return 0
	}
	n, _ := strconv.Atoi(id[1:end])
	return n
}

func byLineOf(steps []Step, into map[int]*Step) {
	for i := range steps {
		s := &steps[i]
		if into[s.Line] == nil {
			into[s.Line] = s
		}
		byLineOf(s.Steps, into)
		byLineOf(s.Else, into)
	}
}

func calculateFollow(in *document.Reader, out *document.Writer) error {
	steps := ReadSteps(in, "programme")
	unit := in.TextOr("unit", "")
	mode := ""
	if in.Has("mode") {
		mode = in.Choice("mode", modes...)
	}
	rec := Record{Done: map[string]int64{}}
	if in.Err() == nil {
		rec.Data = ReadData(in, "captures", steps, unit)
		rec.Traces = ReadTraces(in, steps, unit)
		for _, d := range in.List("done") {
			step := d.Text("step")
			rec.Done[step], _ = d.Moment("at")
		}
	}
	stopped := in.TextOr("stopped", "")
	top := readTop(in)
	if err := in.Err(); err != nil {
		return err
	}
	course, err := Follow(steps, unit, mode, rec)
	if err != nil {
		return document.Refuse(document.CodeRange, "programme", err.Error())
	}
	if stopped != "" {
		course = cut(course, stopped, rec.Done)
	}
	course.bound(top)
	PutCourse(out, &course)
	return nil
}

// rangeTop is the upper end of an instrument's range, or a lower limit of something on its line.
type rangeTop struct {
	known    bool
	at       float64
	unit     units.Unit
	mode     string
	overload bool // it is the instrument's overload limit
}

// readTop reads the range of the instrument, which may be absent, with the weakest part and the
// relief of its line in the same unit.
func readTop(in *document.Reader) rangeTop {
	r, ok := in.OptionalObject("range")
	if !ok {
		return rangeTop{}
	}
	high := r.Number("high")
	overload, known := r.Optional("overload")
	if known && r.Err() == nil && overload < high {
		r.Fail(document.CodeRange, "overload", "must not lie below the high end of the range")
	}
	if known {
		high = overload
	}
	bears := min(high, r.NumberOr("weakest", math.Inf(1)), r.NumberOr("relief", math.Inf(1)))
	return rangeTop{
		known: true, at: bears, overload: known && bears == overload, unit: units.Of(r, "unit", units.Pressure),
		mode: r.ChoiceOr("mode", "gauge", "absolute", "differential"),
	}
}

// bound notes at every step that raises the pressure what must not be exceeded: the limit of the
// instrument and its line, in the programme's unit. An instrument in another mode gives no such
// figure.
func (c *Course) bound(top rangeTop) {
	unit, ok := units.Find(c.Unit)
	if !ok || !top.known || c.Mode != "" && c.Mode != top.mode {
		return
	}
	most := numeric.Places(numeric.RoundSignificant(unit.FromSI(top.unit.ToSI(top.at)), 6), 9)
	for i := range c.Steps {
		one := &c.Steps[i]
		if one.Do == Exercise || (one.Do == Set || one.Do == Ramp) && one.Move == "raise" {
			one.Most, one.MostIsOverload = most, top.overload
		}
	}
}

// cut ends a course where a person stopped it. The done steps stay, and a vent follows.
func cut(c Course, why string, done map[string]int64) Course {
	var kept []Instance
	screen := 0
	for _, i := range c.Steps {
		if i.Done {
			kept = append(kept, i)
			screen = i.Screen
		}
	}
	const id = "stop.vent"
	at, vented := done[id]
	kept = append(
		kept,
		Instance{ID: id, Step: &Step{Do: Vent}, Do: Vent, Screen: screen + 1, Done: vented, at: at, timed: vented},
	)
	c.Steps, c.Stop, c.Ended, c.Finished, c.Current = kept, why, true, vented, nil
	if !vented {
		c.Current = []string{id}
	}
	return c
}

// PutCourse writes a course. Its steps are those of a plan document, with the state of each.
func PutCourse(out *document.Writer, c *Course) {
	out.BeginList("steps")
	for i := range c.Steps {
		one := &c.Steps[i]
		out.Begin()
		one.Put(out, c.Unit)
		out.Whole("line", one.Step.Line)
		out.Flag("done", one.Done)
		if one.Do == Settle && one.Over {
			out.Flag("over", true)
			out.Flag("settled", one.Settled)
		}
		out.End()
	}
	out.EndList()
	out.BeginList("current")
	for _, id := range c.Current {
		out.TextItem(id)
	}
	out.EndList()
	PutBranches(out, c.Branches)
	out.BeginList("flags")
	for _, f := range c.Flags {
		out.Begin()
		out.Text("step", f.Step)
		out.Text("code", f.Code)
		out.Text("message", f.Message)
		out.End()
	}
	out.EndList()
	out.Flag("ended", c.Ended)
	out.Flag("finished", c.Finished)
	if c.Stop != "" {
		out.Text("stop", c.Stop)
	}
}

// PutBranches writes decisions in the order in which they were made.
func PutBranches(out *document.Writer, list []Branch) {
	out.BeginList("branches")
	for _, b := range list {
		out.Begin()
		out.Text("step", b.ID)
		out.Whole("line", b.Line)
		out.Text("taken", b.Taken)
		out.Text("reason", b.Reason)
		out.End()
	}
	out.EndList()
}

// Put writes the fields that a step of a plan document has.
func (i *Instance) Put(out *document.Writer, unit string) {
	s := i.Step
	out.Text("id", i.ID)
	out.Text("do", i.Do)
	out.Whole("screen", i.Screen)
	if i.Way != "" {
		out.Text("direction", i.Way)
	}
	switch i.Do {
	case Set, Ramp, Exercise:
		out.Text("target", s.Target)
	}
	if i.Do == Settle {
		out.Text("within", s.Within)
		out.Number("at_most_s", value(s.AtMost))
		out.Flag("trace", true) // a logger's samples may replace the values
	}
	if u := i.unit(unit); u != "" {
		out.Text("unit", u)
	}
	if i.Do == Hold || i.Do == Settle {
		out.Number("seconds", value(s.Seconds))
	}
	if i.Do == Exercise {
		out.Whole("count", s.Count)
	}
	text := i.Text
	if i.Do == Read {
		text = i.Name + ", " + map[string]string{
			"gauge": "at the instrument", "standard": "at the standard",
			"thermometer": "at the thermometer", "barometer": "at the barometer",
		}[s.From]
	}
	of := i.Of
	if i.Do != Read {
		of = ""
	}
	rate, until := s.Rate, ""
	if i.Do == Ramp {
		until = s.Until
	}
	if i.Do != Set && i.Do != Ramp {
		rate = ""
	}
	for _, f := range [...][2]string{{"of", of}, {"text", text}, {"name", i.Name}, {"as", i.As}, {"rate", rate}, {"until", until}} {
		if f[1] != "" {
			out.Text(f[0], f[1])
		}
	}
	switch i.Do {
	case Set, Ramp, Exercise:
		if i.Move != "" {
			out.Text("move", i.Move)
		}
		if i.Mode != "" {
			out.Text("mode", i.Mode)
		}
		if i.Most != "" {
			out.Text("most", i.Most)
			if i.MostIsOverload {
				out.Text("most_is", "overload")
			}
		}
	}
	if i.Cycles > 1 {
		out.Whole("cycle", i.Cycle)
		out.Whole("cycles", i.Cycles)
		out.Text("cycle_of", "cycle")
	}
}

func (i *Instance) unit(unit string) string {
	switch i.Do {
	case Set, Ramp, Exercise, Settle:
		return unit
	}
	return i.Unit
}
