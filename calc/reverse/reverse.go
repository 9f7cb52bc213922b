package reverse

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// mostSheets is the largest number of sheets of one document; more are asked in pieces.
const mostSheets = 2000

// inPressure are the fields of a standard that are pressures; the others are shares, factors and
// times.
var inPressure = map[string]bool{
	"u": true, "low": true, "high": true, "absolute": true, "applied": true, "error": true,
	"expanded": true, "drift_per_year": true,
}

// moved returns a standard with its pressures in another unit, without rounding where the number
// has an end there.
func moved(v document.Value, from, to units.Unit) document.Value {
	if from.Name == to.Name {
		return v
	}
	switch v.Kind {
	case document.Object:
		names := v.Names()
		items := make([]document.Value, len(names))
		for i, item := range v.Items() {
			items[i] = moved(item, from, to)
			if inPressure[names[i]] && (item.Kind == document.Number || item.Kind == document.String) {
				if x, ok := numeric.ParseExact(item.Text); ok {
					text, _ := to.ExactFromSI(from.ExactSI(x)).Text(25)
					items[i] = document.Value{Kind: document.String, Text: text}
				}
			}
		}
		return document.ObjectOf(names, items)
	case document.Array:
		items := make([]document.Value, len(v.List()))
		for i, item := range v.List() {
			items[i] = moved(item, from, to)
		}
		return document.ArrayOf(items)
	}
	return v
}

// with returns a sheet with another standard, meter or barometer.
func with(sheet, standard document.Value, as string) document.Value {
	var names []string
	var items []document.Value
	for i, name := range sheet.Names() {
		if name != as {
			names, items = append(names, name), append(items, sheet.Items()[i])
		}
	}
	return document.ObjectOf(append(names, as), append(items, standard))
}

// judged is what of a finding is compared.
type judged struct {
	verdict, reason string
	worst           float64
	hasWorst        bool
	steps           []string
	verdicts        []string
	air             float64   // of a barometer, as it was read
	taken           []float64 // what the verdict rests on, as the standard, meter or barometer showed it
	fault           *document.Fault
}

// judge judges a sheet by what stands in its field as; by elsewhere where the points of that end.
func judge(kinds work.Kinds, sheet document.Value, as string, elsewhere *standard.Standard) judged {
	var j judged
	in, out := document.Open(sheet), document.NewWriter(nil)
	out.Begin()
	var err error
	if k := kinds.Of(in); in.Err() != nil {
		err = in.Err()
	} else if as == "meter" && k.Meter == nil {
		in.Fail(document.CodeConflict, "method.kind", "nothing of this kind is read with a meter")
		err = in.Err()
	} else if as == "meter" {
		err = k.Meter(in, out, elsewhere, func(typed float64) { j.taken = append(j.taken, typed) })
	} else if k.Look != nil {
		err = k.Look(in, out, elsewhere, func(typed float64) { j.taken = append(j.taken, typed) })
	} else {
		err = k.Evaluate(in, out)
	}
	if err == nil {
		err = in.Done()
	}
	if err == nil {
		err = out.Err()
	}
	out.End()
	if err != nil {
		j.fault = document.AsFault(err)
		return j
	}
	v, err := document.Parse(out.Bytes())
	if err != nil {
		j.fault = document.AsFault(err)
		return j
	}
	r := document.Open(v)
	j.verdict, j.reason = r.Text("verdict"), r.TextOr("reason", "")
	if w, ok := r.OptionalObject("worst"); ok {
		j.worst, j.hasWorst = w.Number("fraction"), true
	}
	if g, ok := r.OptionalObject("gauge"); ok {
		if a, ok := g.OptionalObject("air"); ok {
			j.air = a.Number("read")
		}
	}
	for _, one := range r.List("readings") {
		j.steps, j.verdicts = append(j.steps, one.Text("step")), append(j.verdicts, one.TextOr("verdict", ""))
	}
	return j
}

// writeTaken counts a run's readings: those taken where the standard was out, which are the
// doubtful ones, and those beyond the points of what is known now, which are judged as before
// because nothing is said of them.
func (j *judged) writeTaken(out *document.Writer, before, after *standard.Standard) {
	if len(j.taken) == 0 {
		return
	}
	doubtful, beyond := 0, 0
	for _, p := range j.taken {
		switch {
		case !after.Reaches(p):
			beyond++
		case standard.Out(before, after, p):
			doubtful++
		}
	}
	out.BeginObject("taken")
	out.Whole("readings", len(j.taken))
	out.Whole("out", doubtful)
	out.Whole("beyond", beyond)
	out.End()
}

func (j *judged) write(out *document.Writer, name string) {
	out.BeginObject(name)
	out.Text("verdict", j.verdict)
	if j.reason != "" {
		out.Text("reason", j.reason)
	}
	if j.hasWorst {
		out.Number("worst_fraction", j.worst)
	}
	out.End()
}

// Calculations returns the calculation of the package.
func Calculations(kinds work.Kinds) []document.Calculation {
	return []document.Calculation{
		{Name: "reverse", Call: func(in *document.Reader, out *document.Writer) error { return calculate(kinds, in, out) }},
	}
}

// calculate is the calculation reverse: {unit, before, after, affected:[{id?, sheet}]} → the
// verdict of each sheet with the standard as it was thought to be and as it is known to be now.
// Where the points of what is known now end, a reading is judged as before: nothing is
// extrapolated. It is said how many readings were taken where the standard was out. A sheet that
// cannot be judged is said with its fault, and the others go on.
func calculate(kinds work.Kinds, in *document.Reader, out *document.Writer) error {
	unit := units.Of(in, "unit", units.Pressure, units.Current, units.Voltage)
	before, after := *in.RawObject("before"), *in.RawObject("after")
	list := in.List("affected")
	if in.Err() == nil && (len(list) == 0 || len(list) > mostSheets) {
		in.Fail(document.CodeRange, "affected", "from 1 to 2000 sheets are needed")
	}
	type asking struct {
		id    string
		as    string
		sheet document.Value
		unit  units.Unit
		field string
	}
	asked := make([]asking, 0, len(list))
	for _, one := range list {
		a := asking{id: one.TextOr("id", ""), as: one.ChoiceOr("as", "standard", "standard", "meter", "barometer"), field: one.Path("sheet"), sheet: *one.RawObject("sheet"), unit: unit}
		if instrument, ok := a.sheet.Get("instrument"); ok {
			if name, ok := unitOf(instrument, a.as); ok {
				if u, known := units.Find(name.Text); known && u.Kind == unit.Kind {
					a.unit = u // of another one the evaluation says that it is not known
				}
			}
		}
		asked = append(asked, a)
	}
	if err := in.Err(); err != nil {
		return err
	}
	changed, faults := 0, 0
	out.BeginList("sheets")
	for _, a := range asked {
		was, is := moved(before, unit, a.unit), moved(after, unit, a.unit)
		earlier, later := standard.Read(document.Open(was)), standard.Read(document.Open(is)) // what is wrong with them is said by the judgements
		beyond := &earlier
		if a.as == "barometer" {
			beyond = nil
		}
		old, now := judge(kinds, with(a.sheet, was, a.as), a.as, nil), judge(kinds, with(a.sheet, is, a.as), a.as, beyond)
		now.by(a.as)
		out.Begin()
		if a.id != "" {
			out.Text("id", a.id)
		}
		if f := old.fault; f != nil || now.fault != nil {
			if f == nil {
				f = now.fault
			}
			out.BeginObject("error")
			out.Text("code", f.Code)
			out.Text("field", a.field+"."+f.Field)
			out.Text("message", f.Message)
			out.End()
			out.End()
			faults++
			continue
		}
		old.write(out, "before")
		now.write(out, "after")
		out.Flag("changed", old.verdict != now.verdict)
		now.writeTaken(out, &earlier, &later)
		if old.verdict != now.verdict {
			changed++
		}
		out.BeginList("readings")
		for i := range old.steps {
			if old.verdicts[i] != now.verdicts[i] {
				out.Begin()
				out.Text("step", old.steps[i])
				out.Text("before", old.verdicts[i])
				out.Text("after", now.verdicts[i])
				out.End()
			}
		}
		out.EndList()
		out.End()
	}
	out.EndList()
	out.Whole("changed", changed)
	out.Whole("faults", faults)
	return nil
}

// unitOf is the unit in which a sheet keeps what it was measured with: of a meter that of the
// output.
func unitOf(instrument *document.Value, as string) (*document.Value, bool) {
	if as == "meter" {
		output, ok := instrument.Get("output")
		if !ok || output.Kind != document.Object {
			return nil, false
		}
		instrument = output
	}
	return instrument.Get("unit")
}

// by puts what a barometer showed in the place of what the standard did.
func (j *judged) by(as string) {
	if as != "barometer" {
		return
	}
	for i := range j.taken {
		j.taken[i] = j.air
	}
}
