package programmed

import (
	"strconv"

	"gaugewright/calc/conformity"
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/programme"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// Kind is the kind of work that a user's own programme describes.
func Kind() work.Kind {
	return work.Kind{Name: "programme", Expand: expand, Evaluate: evaluate, Doubts: work.Undoubted}
}

// maxRules caps the rules of a programme: more than a person reads on a certificate.
const maxRules = 200

// progRule judges the values of one name, or a condition.
type progRule struct {
	name, text        string
	low, high         *numeric.Exact // in the unit of the value
	lowText, highText string
	unit              string // as stated; "" means that of the value
	when              *programme.Expr
}

// progMethod is a method of the kind programme.
type progMethod struct {
	steps      []programme.Step
	unit, mode string
	rules      []progRule
}

func readProgramme(in *document.Reader) progMethod {
	m := in.Object("method")
	m.Choice("kind", "programme")
	var p progMethod
	field := "text"
	if m.Has("steps") {
		field = "steps"
	}
	p.steps = programme.ReadSteps(m, field)
	p.unit = m.TextOr("unit", "")
	if m.Has("mode") {
		p.mode = m.Choice("mode", "gauge", "absolute")
	}
	if len(p.steps) > 0 && p.steps[0].Do == programme.Unit {
		if p.steps[0].Unit != "" {
			p.unit = p.steps[0].Unit
		}
		if p.steps[0].Mode != "" {
			p.mode = p.steps[0].Mode
		}
	}
	if !m.Has("rules") {
		m.Raw("rules")
		return p
	}
	for i, r := range m.List("rules") {
		if i == maxRules {
			m.Fail(document.CodeRange, "rules", "there are more than "+strconv.Itoa(maxRules)+" rules")
			break
		}
		p.rules = append(p.rules, readRule(r, p.steps))
	}
	return p
}

func readRule(r *document.Reader, steps []programme.Step) progRule {
	one := progRule{name: r.Text("name"), text: r.TextOr("text", ""), unit: r.TextOr("unit", "")}
	bound := func(name string) (*numeric.Exact, string) {
		d, ok := r.OptionalDecimal(name)
		if !ok {
			return nil, ""
		}
		x, ok := numeric.ParseExact(d.Text)
		if r.Err() == nil && !ok {
			r.Fail(document.CodeRange, name, "the number is too long or its exponent too large")
		}
		return &x, d.Text
	}
	one.low, one.lowText = bound("low")
	one.high, one.highText = bound("high")
	limited := one.low != nil || one.high != nil
	if r.Has("when") {
		e, err := programme.ParseExpr(r.Text("when"))
		switch {
		case r.Err() != nil:
		case err != nil:
			r.Fail(document.CodeSyntax, "when", document.AsFault(err).Message)
		case limited:
			r.Fail(document.CodeConflict, "when", "a rule has limits or a condition, not both")
		}
		one.when = e
		return one
	}
	switch {
	case r.Err() != nil:
	case !limited:
		r.Fail(document.CodeMissing, "high", "a rule needs low, high or when")
	case one.low != nil && one.high != nil && one.low.Cmp(*one.high) > 0:
		r.Fail(document.CodeConflict, "high", "must not be below low")
	case !programme.Gives(steps, one.name):
		r.Fail(document.CodeRange, "name", "no step gives a number called "+document.Quote(one.name))
	}
	return one
}

// itsFacts returns the instrument's own data, in the unit of the programme, in the form of
// calculation plan.
func itsFacts(in *document.Reader, p *progMethod) programme.Facts {
	f := programme.Facts{Ambient: units.StandardAtmosphere, Mode: p.mode}
	it := in.Object("instrument")
	low, high := it.Decimal("low"), it.Decimal("high")
	mode := it.TextOr("mode", "")
	from := units.Of(it, "unit", units.Pressure)
	work.Skim(it)
	if in.Err() != nil {
		return f
	}
	to := from
	if p.unit != "" {
		u, ok := units.Find(p.unit)
		if !ok || u.Kind != units.Pressure {
			in.Fail(document.CodeUnit, "method.unit", document.Quote(p.unit)+" is no unit of pressure known here")
			return f
		}
		to = u
	}
	if p.mode != "" && mode != "" && mode != p.mode {
		in.Fail(
			document.CodeConflict, "method",
			"the programme is in "+p.mode+" pressure, the instrument shows "+mode+" pressure",
		)
		return f
	}
	p.unit = to.Name
	if p.mode == "" {
		p.mode, f.Mode = mode, mode
	}
	f.Unit = &to
	turned := func(d document.Decimal) programme.Amount {
		x, _ := numeric.ParseExact(d.Text)
		text := d.Text
		if from.Name != to.Name {
			x = to.ExactFromSI(from.ExactSI(x))
			text, _ = x.Text(6)
		}
		return programme.Amount{Text: text, Value: x.Float(), Exact: x}
	}
	f.Instrument = &programme.Range{Low: turned(low), High: turned(high)}
	bears, ok := it.OptionalObject("particulars")
	if !ok {
		return f
	}
	bound := func(r *document.Reader, name string) *programme.Amount {
		d, ok := r.OptionalDecimal(name)
		if !ok {
			return nil
		}
		a := turned(d)
		return &a
	}
	f.Instrument.MaxRate = bound(bears, "max_rate")
	f.Relief = bound(bears, "relief")
	if bears.Has("allows_vacuum") {
		b := bears.Flag("allows_vacuum", false)
		f.AllowsVacuum = &b
	}
	if w, ok := bears.OptionalObject("weakest"); ok {
		f.Weakest, f.WeakestPart = bound(w, "pressure"), w.TextOr("part", "the weakest part")
		if high := bound(w, "high"); f.Weakest == nil { // the form of leak tests
			f.Weakest = high
		}
		work.Skim(w)
	}
	f.Volume = bears.NumberOr("volume_m3", 0)
	work.Skim(bears)
	return f
}

// expand lists each step of a programme once, as a preview: what a condition decides is known only
// during the run, from calculation follow.
//
// Takes:   besides the method and the instrument, the range of the chosen standard, if any:
// `standard`, in its own unit.
// Refuses: a programme in which the check finds an error, with the error's line and message.
func expand(in *document.Reader, p *work.Plan) error {
	m := readProgramme(in)
	f := itsFacts(in, &m)
	if r, chosen := in.OptionalObject("standard"); chosen {
		if !r.Has("unit") {
			r.Text("unit") // without its unit a range could be of any size
		}
		f.Standard = f.ReadRange(r, m.steps)
		work.Skim(r)
	}
	if err := in.Err(); err != nil {
		return err
	}
	report := programme.Check(m.steps, f)
	for _, one := range report.Findings {
		if one.Level == "error" {
			in.Fail(document.CodeConflict, "method.text", "line "+strconv.Itoa(one.Line)+": "+one.Message)
			return in.Err()
		}
	}
	list := programme.Preview(m.steps, m.unit, m.mode)
	for i := range list {
		p.Screen = list[i].Screen
		if p.Demand != nil && list[i].Step != nil {
			p.Demand.Take(&work.Step{Do: list[i].Do, Target: list[i].Step.Target, Unit: m.unit})
		}
		p.Out.Begin()
		list[i].Put(p.Out, m.unit)
		p.Out.End()
	}
	p.Seconds = report.Duration + float64(work.SecondsToRead*len(list))
	return nil
}

// judge returns the outcome of a rule at one value.
func (r *progRule) judge(x numeric.Exact, own string) (verdict string, low, high numeric.Exact) {
	turn := func(b *numeric.Exact) numeric.Exact {
		if b == nil {
			return numeric.ExactInt(0)
		}
		from, ok1 := units.Find(r.unit)
		to, ok2 := units.Find(own)
		if r.unit == "" || !ok1 || !ok2 || from.Kind != to.Kind {
			return *b
		}
		return to.ExactFromSI(from.ExactSI(*b))
	}
	low, high = turn(r.low), turn(r.high)
	verdict = conformity.Pass
	if r.low != nil && x.Cmp(low) < 0 || r.high != nil && x.Cmp(high) > 0 {
		verdict = conformity.Fail
	}
	return verdict, low, high
}

// evaluate judges the captures of a programme's run: every value by the rules of its name, and the
// conditions by the last values.
func evaluate(in *document.Reader, out *document.Writer) error {
	m := readProgramme(in)
	itsFacts(in, &m)
	var data []programme.Datum
	var traces map[string][]programme.Datum
	if in.Err() == nil {
		data = programme.ReadData(in, "captures", m.steps, m.unit)
		traces = programme.ReadTraces(in, m.steps, m.unit)
	}
	open := work.ReadStops(in)
	for _, name := range []string{"standard", "surroundings", "head"} { // recorded, but not used by simple limits
		in.Raw(name)
	}
	whole := in.Flag("complete", false)
	if err := in.Err(); err != nil {
		return err
	}
	course, err := programme.Follow(
		m.steps, m.unit, m.mode,
		programme.Record{Data: data, Traces: traces, Done: map[string]int64{}, Whole: true, Over: whole},
	)
	if err != nil {
		return document.Refuse(document.CodeRange, "method", err.Error())
	}
	j := judgeProgramme(&m, &course)
	var missing []string
	for i := range course.Steps {
		if !course.Steps[i].Done {
			missing = append(missing, course.Steps[i].ID)
		}
	}
	verdict, reason := j.verdict()
	notYet := work.OpenReason(len(missing), whole && course.Ended, "values")
	switch {
	case notYet != "":
		verdict, reason = conformity.Undecided, notYet
	case course.Stop != "" && verdict != conformity.Fail:
		verdict, reason = conformity.Undecided, "the programme stopped: "+course.Stop
	}
	verdict, reason = open.Verdict(verdict, reason)
	out.Text("verdict", verdict)
	if reason != "" {
		out.Text("reason", reason)
	}
	work.WriteMissing(out, missing)
	work.WriteResults(out, j.results)
	writeProgramme(out, &m, &course, &j)
	out.BeginList("warnings")
	for _, s := range open.List {
		out.Warn(s.Code, s.Field, s.Message)
	}
	for _, f := range course.Flags {
		out.Begin()
		out.Text("code", f.Code)
		out.Text("field", f.Step)
		out.Text("message", f.Message)
		out.End()
	}
	for _, r := range j.unread {
		out.Begin()
		out.Text("code", "not_read")
		out.Text("field", r)
		out.Text("message", r+" was not read on the way that this run took, so its rule judges nothing")
		out.End()
	}
	out.EndList()
	return nil
}
