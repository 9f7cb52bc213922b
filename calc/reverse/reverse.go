package reverse

import (
	"gaugewright/calc/document"
	"gaugewright/calc/numeric"
	"gaugewright/calc/rounding"
	"gaugewright/calc/standard"
	"gaugewright/calc/units"
	"gaugewright/calc/work"
)

// mostSheets is the largest number of sheets in one document. The caller splits more into pieces.
const mostSheets = 2000

// inPressure are the fields of a standard that are pressures; the others are shares, factors and
// times.
var inPressure = map[string]bool{
	"u": true, "low": true, "high": true, "absolute": true, "applied": true, "error": true,
	"expanded": true, "drift_per_year": true,
}

// moved returns a standard with its pressures converted to another unit, without rounding if the
// decimal ends there.
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

// judged holds the parts of a finding that are compared.
type judged struct {
	verdict, reason string
	worst           float64
	hasWorst        bool
	steps           []string
	verdicts        []string
	taken           []float64 // readings of the standard, meter or barometer that the verdict rests on
	fault           *document.Fault
}

// judge judges a sheet by the device in its field as, and beyond the points of that device by
// elsewhere.
func judge(kinds work.Kinds, sheet document.Value, as string, elsewhere *standard.Standard) judged {
	var j judged
	in, out := document.Open(sheet), document.NewWriter(nil)
	out.Begin()
	k := kinds.Of(in)
	look := k.On(as)
	err := in.Err()
	switch {
	case err != nil:
	case look != nil:
		err = look(in, out, elsewhere, func(typed float64) { j.taken = append(j.taken, typed) })
	case as != "standard":
		in.Fail(document.CodeConflict, "method.kind", work.Without(as))
		err = in.Err()
	default:
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
	for _, one := range r.List("readings") {
		j.steps = append(j.steps, one.Text("step"))
		j.verdicts = append(j.verdicts, one.TextOr("verdict", ""))
	}
	return j
}

// writeTaken counts the readings of a run: all, those taken where the standard was out, which are
// doubtful, and those beyond the points known now, which are judged as before because nothing new
// is known about them.
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
		out.Text("of_limit", rounding.OfLimit(j.worst))
	}
	out.End()
}

// Calculations returns the calculation of the package.
func Calculations(kinds work.Kinds) []document.Calculation {
	call := func(in *document.Reader, out *document.Writer) error { return calculate(kinds, in, out) }
	return []document.Calculation{{Name: "reverse", Call: call}}
}

// asking is a sheet to be judged twice.
type asking struct {
	id, as string
	field  string // path of the sheet
	sheet  document.Value
	unit   units.Unit // unit of the device in the sheet
}

// calculate is the calculation reverse: the verdicts of sheets with a standard, meter or barometer
// as it was thought to be, and as it is known to be now.
//
// A reading beyond the points known now is judged as before: nothing is extrapolated. A sheet that
// cannot be judged is listed with its fault, and the others are still judged.
//
// Takes:   {unit, before, after, affected: [{id?, as?, sheet}]}: before and after are in that unit
// and take the place of the sheet's field as, "standard", "meter" or "barometer".
// Gives:   {sheets: [{id?, before, after, changed, taken?, readings} or {id?, error}], changed,
// faults}: taken counts the readings that rest on the device, those taken where it was out, and
// those beyond the points known now.
// Refuses: no sheet, or more than 2000; for one sheet: a unit of another quantity, a role that its
// kind of work does not use, and whatever evaluate refuses.
func calculate(kinds work.Kinds, in *document.Reader, out *document.Writer) error {
	unit := units.Of(in, "unit", units.Pressure, units.Current, units.Voltage)
	before, after := *in.RawObject("before"), *in.RawObject("after")
	list := in.List("affected")
	if in.Err() == nil && (len(list) == 0 || len(list) > mostSheets) {
		in.Fail(document.CodeRange, "affected", "from 1 to 2000 sheets are needed")
	}
	asked := make([]asking, 0, len(list))
	for _, one := range list {
		asked = append(asked, asking{
			id: one.TextOr("id", ""), as: one.ChoiceOr("as", "standard", "meter", "barometer"),
			field: one.Path("sheet"), sheet: *one.RawObject("sheet"),
		})
	}
	if err := in.Err(); err != nil {
		return err
	}
	changed, faults := 0, 0
	out.BeginList("sheets")
	for i := range asked {
		switch verdict, fault := asked[i].compare(kinds, out, unit, before, after); {
		case fault:
			faults++
		case verdict:
			changed++
		}
	}
	out.EndList()
	out.Whole("changed", changed)
	out.Whole("faults", faults)
	return nil
}

// compare judges a sheet twice and writes both verdicts and their differences.
func (a *asking) compare(
	kinds work.Kinds, out *document.Writer, unit units.Unit, before, after document.Value,
) (changed, fault bool) {
	out.Begin()
	defer out.End()
	if a.id != "" {
		out.Text("id", a.id)
	}
	if f := a.findUnit(kinds, unit); f != nil {
		a.writeFault(out, f)
		return false, true
	}
	was, is := moved(before, unit, a.unit), moved(after, unit, a.unit)
	// The judgements below report any fault of these.
	earlier, later := standard.Read(document.Open(was)), standard.Read(document.Open(is))
	old := judge(kinds, with(a.sheet, was, a.as), a.as, nil)
	now := judge(kinds, with(a.sheet, is, a.as), a.as, &earlier)
	for _, j := range []*judged{&old, &now} {
		if j.fault != nil {
			a.writeFault(out, j.fault)
			return false, true
		}
	}
	changed = old.verdict != now.verdict
	old.write(out, "before")
	now.write(out, "after")
	out.Flag("changed", changed)
	now.writeTaken(out, &earlier, &later)
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
	return changed, false
}

func (a *asking) writeFault(out *document.Writer, f *document.Fault) {
	out.BeginObject("error")
	out.Text("code", f.Code)
	out.Text("field", a.field+"."+f.Field)
	out.Text("message", f.Message)
	out.End()
}

// findUnit finds the unit of the device in the sheet: that of the instrument, or of its output for
// a meter. It leaves an unknown unit, and a device that the verdict does not rest on, to the
// evaluation.
func (a *asking) findUnit(kinds work.Kinds, unit units.Unit) *document.Fault {
	a.unit = unit
	field := "instrument"
	v, ok := a.sheet.Get(field)
	if ok && v.Kind == document.Object && a.as == "meter" {
		field += ".output"
		v, ok = v.Get("output")
	}
	if !ok || v.Kind != document.Object {
		return nil
	}
	name, ok := v.Get("unit")
	if !ok {
		return nil
	}
	u, known := units.Find(name.Text)
	switch {
	case !known:
	case u.Kind == unit.Kind:
		a.unit = u
	case kinds.Of(document.Open(a.sheet)).On(a.as) != nil:
		return document.AsFault(document.Refuse(
			document.CodeUnit, field+".unit",
			"is "+document.Quote(name.Text)+", which is no unit of what "+document.Quote(unit.Name)+" measures",
		))
	}
	return nil
}
