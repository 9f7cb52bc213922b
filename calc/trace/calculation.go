package trace

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
)

// Calculations returns the calculation trace.
func Calculations() []document.Calculation {
	return []document.Calculation{{Name: "trace", Call: func(in *document.Reader, out *document.Writer) error {
		var text []byte
		if in.Has("text") {
			text = []byte(in.Text("text"))
		}
		return call(in, out, text, in.Has("text"))
	}}}
}

// Bytes is the calculation with the record's bytes beside the document, in place of a text in it.
//
// Takes:   a document without text, the bytes as they are in the file, the version of the
// calculations.
// Gives:   the calculation's output, or the error form.
func Bytes(doc, text []byte, version string) []byte {
	d := document.Calculation{
		Name: "trace",
		Call: func(in *document.Reader, out *document.Writer) error { return call(in, out, text, true) },
	}
	return d.Run(doc, version)
}

func call(in *document.Reader, out *document.Writer, text []byte, given bool) error {
	do := in.Choice("do", "look", "read", "thin")
	if in.Err() == nil && do != "thin" && !given {
		in.Fail(document.CodeMissing, "text", "this field is missing")
	}
	if err := in.Err(); err != nil {
		return err
	}
	switch do {
	case "look":
		return calculateLook(in, out, text)
	case "read":
		return calculateRead(in, out, text)
	}
	return calculateThin(in, out)
}

func calculateLook(in *document.Reader, out *document.Writer, text []byte) error {
	last := in.Flag("last", false)
	if err := in.Err(); err != nil {
		return err
	}
	v, err := Look(text, last)
	if err != nil {
		return err
	}
	out.Flag("bom", v.BOM)
	encoding := "utf-8"
	if v.Latin {
		encoding = "latin-1"
	}
	out.Text("encoding", encoding)
	out.Text("separator", string(rune(v.Separator)))
	out.Text("decimal", string(rune(v.Decimal)))
	out.Text("comment", v.Comment)
	texts(out, "comments", v.Comments)
	out.Whole("header_line", v.Header)
	out.Whole("unit_line", v.UnitRow)
	out.Whole("first_line", v.FirstLine)
	out.Whole("rows", v.Rows)
	out.Number("row_bytes", v.RowBytes)
	out.BeginList("columns")
	for i := range v.Columns {
		c := &v.Columns[i]
		out.Begin()
		out.Whole("column", i+1)
		for _, f := range [...][2]string{{"name", c.Name}, {"unit", c.Unit}, {"kind", string(c.Kind)}, {"guess", c.Guess}} {
			out.Text(f[0], f[1])
		}
		texts(out, "samples", c.Samples)
		texts(out, "words", c.Words)
		out.Whole("empty", c.Empty)
		if c.Kind == Numbers {
			out.Number("low", c.Low)
			out.Number("high", c.High)
		}
		out.End()
	}
	out.EndList()
	v.timeGuess(out)
	out.BeginList("warnings")
	if v.Thousands {
		out.Warn(
			"both_marks", "decimal",
			"some numbers hold both a point and a comma; digits in groups are not read as numbers",
		)
	}
	if v.Order == "" && v.Zone != "" {
		out.Warn("order", "time.order", "day and month cannot be told apart in these rows")
	}
	if v.Zone == "none" {
		out.Warn("zone", "time", "the times have no zone: a change between summer and winter time looks like a step")
	}
	out.EndList()
	return nil
}

func (v *View) timeGuess(out *document.Writer) {
	time, date, index := 0, 0, 0
	for i := range v.Columns {
		switch v.Columns[i].Guess {
		case "time":
			time = i + 1
		case "date":
			date = i + 1
		case "index":
			index = i + 1
		}
	}
	out.BeginObject("time")
	switch {
	case time > 0 && v.Columns[time-1].Kind == Numbers:
		unit := v.timeUnit(time - 1)
		form := "number"
		if unit != "d" && v.Columns[time-1].Low*float64(UnitNS(unit)) > 3e17 { // seconds since 1970 are above this since 1979
			form = "epoch"
		}
		out.Text("form", form)
		out.Whole("column", time)
		out.Text("unit", unit)
	case time > 0 && (v.Columns[time-1].Kind == Dates || date > 0):
		out.Text("form", "date")
		out.Whole("column", time)
		if v.Columns[time-1].Kind != Dates {
			out.Whole("date_column", date)
		}
		out.Text("order", v.Order)
		out.Text("zone", v.Zone)
	case time > 0:
		out.Text("form", "clock")
		out.Whole("column", time)
	default:
		out.Text("form", "index")
		if index > 0 {
			out.Whole("column", index)
		}
	}
	if v.IntervalS > 0 {
		out.Number("interval_s", v.IntervalS)
	}
	out.End()
}

func texts(out *document.Writer, name string, list []string) {
	out.BeginList(name)
	for _, s := range list {
		out.TextItem(s)
	}
	out.EndList()
}

func calculateRead(in *document.Reader, out *document.Writer, text []byte) error {
	last := in.Flag("last", false)
	r, form := readReading(in.Object("reading"))
	var s State
	if o, ok := in.OptionalObject("state"); ok {
		s = readState(o)
	}
	if err := in.Err(); err != nil {
		return err
	}
	p := Read(text, last, &r, s)
	out.Whole("used", p.Used)
	writeSamples(out, p.Samples, r.Temperature.At > 0, r.Barometer.At > 0, r.Contact.At > 0)
	out.BeginList("faults")
	for _, f := range p.Faults {
		out.Begin()
		out.Whole("line", f.Line)
		out.Text("code", faultWords[f.Code][0])
		out.Text("message", faultWords[f.Code][1])
		out.Text("cell", f.Cell)
		out.End()
	}
	out.EndList()
	out.BeginList("gaps")
	for _, g := range p.Gaps {
		out.Begin()
		out.Whole("line", g.Line)
		out.Number("from_s", float64(g.From)/1e9)
		out.Number("to_s", float64(g.To)/1e9)
		if g.Bridged != 0 {
			out.Number("bridged_s", float64(g.Bridged)/1e9)
		}
		out.End()
	}
	out.EndList()
	if p.State.Started && (form == "date" || form == "epoch") {
		out.Text("start", moment(p.State.First, p.State.Zoned || form == "epoch"))
	}
	writeState(out, &p.State)
	return nil
}

func writeSamples(out *document.Writer, list []Sample, temperature, barometer, contact bool) {
	out.BeginObject("samples")
	column := func(name string, of func(*Sample) float64) {
		out.BeginList(name)
		for i := range list {
			out.NumberItem(of(&list[i]))
		}
		out.EndList()
	}
	column("t_s", func(x *Sample) float64 { return x.T })
	column("p", func(x *Sample) float64 { return x.P })
	if temperature {
		column("temperature_c", func(x *Sample) float64 { return x.Temperature })
	}
	if barometer {
		column("barometer_pa", func(x *Sample) float64 { return x.Barometer })
	}
	if contact {
		b := make([]byte, len(list))
		for i := range list {
			b[i] = '0'
			if list[i].Contact {
				b[i] = '1'
			}
		}
		out.Text("contact", string(b))
	}
	out.End()
}

// moment writes nanoseconds since 1970 as a time of RFC 3339, with Z where its zone is known.
func moment(ns int64, zoned bool) string {
	days := ns / day
	if ns%day < 0 {
		days--
	}
	rest := ns - days*day
	y, m, d := document.Date(int(days))
	b := []byte{}
	pair := func(n int, sep byte) {
		b = append(b, byte('0'+n/10), byte('0'+n%10))
		if sep != 0 {
			b = append(b, sep)
		}
	}
	pair(y/100, 0)
	pair(y%100, '-')
	pair(m, '-')
	pair(d, 'T')
	pair(int(rest/hour), ':')
	pair(int(rest%hour/(60*second)), ':')
	pair(int(rest%(60*second)/second), 0)
	if part := rest % second; part != 0 {
		text := strconv.Itoa(int(part + second))[1:]
		for text[len(text)-1] == '0' {
			text = text[:len(text)-1]
		}
		b = append(append(b, '.'), text...)
	}
	if zoned {
		b = append(b, 'Z')
	}
	return string(b)
}

// mostThinned bounds the input of thin.
const mostThinned = 2_000_000

func calculateThin(in *document.Reader, out *document.Writer) error {
	most := in.Whole("most", 10, mostThinned)
	means := in.Choice("to", "extremes", "mean") == "mean"
	c := in.Object("samples")
	t, p := c.Numbers("t_s"), c.Numbers("p")
	optional := func(name string) []float64 {
		if !c.Has(name) {
			c.Raw(name)
			return nil
		}
		list := c.Numbers(name)
		if in.Err() == nil && len(list) != len(t) {
			c.Fail(document.CodeShape, name, "has another number of values than the time")
		}
		return list
	}
	temperature, barometer := optional("temperature_c"), optional("barometer_pa")
	contact := ""
	has := c.Has("contact")
	if has {
		contact = c.Text("contact")
	}
	if in.Err() == nil && (len(p) != len(t) || has && len(contact) != len(t) || len(t) == 0) {
		c.Fail(document.CodeShape, "p", "time, pressure and contact need the same number of values, at least one")
	}
	if in.Err() == nil && has && means {
		in.Fail(document.CodeConflict, "to", "a contact has no mean; take extremes")
	}
	if err := in.Err(); err != nil {
		return err
	}
	list := make([]Sample, len(t))
	for i := range list {
		list[i] = Sample{T: t[i], P: p[i]}
		if temperature != nil {
			list[i].Temperature = temperature[i]
		}
		if barometer != nil {
			list[i].Barometer = barometer[i]
		}
		if has {
			list[i].Contact = contact[i] == '1'
		}
	}
	kept, block := Thin(list, has, most, means)
	out.Whole("block", block)
	steps := make([]float64, 0, len(t))
	for i := 1; i < len(t); i++ {
		steps = append(steps, t[i]-t[i-1])
	}
	out.Number("interval_s", median(steps))
	writeSamples(out, kept, temperature != nil, barometer != nil, has)
	return nil
}

// anything is a time after the end of any record, in ns.
const anything = math.MaxInt64 / 4

// seconds reads a decimal number of seconds as ns.
func seconds(in *document.Reader, name string, otherwise int64) int64 {
	d, ok := in.OptionalDecimal(name)
	if !ok || in.Err() != nil {
		return otherwise
	}
	ns, ok := nanoseconds([]byte(d.Text), '.', second)
	if !ok || math.Abs(d.Value) > 1e9 {
		in.Fail(document.CodeRange, name, "must be a number of seconds below 1e9")
	}
	return ns
}
