package trace

import (
	"math"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

const mostColumns = 1000

// readReading reads a reading and the word for its form of time.
func readReading(in *document.Reader) (r Reading, form string) {
	r.Separator = mark(in, "separator", ',')
	r.Decimal = mark(in, "decimal", '.')
	if in.Err() == nil && (r.Decimal != '.' && r.Decimal != ',') {
		in.Fail(document.CodeRange, "decimal", "must be a point or a comma")
	}
	if in.Err() == nil && (r.Separator == '"' || r.Separator == '\n' || r.Separator == '\r') {
		in.Fail(document.CodeRange, "separator", "this cannot separate columns")
	}
	r.Comment = in.TextOr("comment", "")
	r.FirstLine = in.WholeOr("first_line", 1, math.MaxInt32, 1)
	form = readTime(in.Object("time"), &r)
	p := in.Object("p")
	r.Pressure = column(p, units.Pressure, in.Text("unit"), "unit")
	p.Choice("mode", "gauge", "absolute", "differential")
	if c, ok := in.OptionalObject("temperature"); ok {
		r.Temperature = column(c, units.Temperature, "degC", "unit")
	}
	if c, ok := in.OptionalObject("barometer"); ok {
		r.Barometer = column(c, units.Pressure, "Pa", "unit")
	}
	if c, ok := in.OptionalObject("contact"); ok {
		readContact(c, &r.Contact)
	}
	r.GapNS = seconds(in, "gap_s", 0)
	r.FromNS, r.ToNS = -anything, anything
	if part, ok := in.OptionalObject("part"); ok {
		r.FromNS, r.ToNS = seconds(part, "from_s", -anything), seconds(part, "to_s", anything)
		if in.Err() == nil && r.FromNS > r.ToNS {
			part.Fail(document.CodeRange, "to_s", "must not lie before from_s")
		}
	}
	r.Block = 1
	if thin, ok := in.OptionalObject("thin"); ok {
		r.Mean = thin.Choice("to", "extremes", "mean") == "mean"
		r.Block = thin.Whole("block", 1, mostThinned)
		if in.Err() == nil && r.Mean && r.Block > 1 && r.Contact.At > 0 {
			thin.Fail(document.CodeConflict, "to", "a contact has no mean; take extremes")
		}
	}
	if span, ok := in.OptionalObject("range"); ok {
		low, high := span.Number("low"), span.Number("high")
		u := units.Of(span, "unit", units.Pressure)
		to, ok := units.Find(in.TextOr("unit", ""))
		if in.Err() == nil && ok {
			r.Plausible = float64(beyondEnd * math.Abs(to.FromSI(u.ToSI(max(math.Abs(low), math.Abs(high))))))
		}
	}
	return r, form
}

// mark reads one character.
func mark(in *document.Reader, name string, otherwise byte) byte {
	s := in.TextOr(name, string(rune(otherwise)))
	if in.Err() == nil && (len(s) != 1 || s[0] >= 0x80) {
		in.Fail(document.CodeRange, name, "must be one character")
	}
	if len(s) != 1 {
		return otherwise
	}
	return s[0]
}

// column reads a column with the conversion of its numbers.
func column(in *document.Reader, kind units.Kind, to, name string) Column {
	c := Column{At: in.Whole("column", 1, mostColumns)}
	from := units.Of(in, name, kind)
	into, ok := units.Find(to)
	if in.Err() == nil && (!ok || into.Kind != kind) {
		in.Fail(document.CodeUnit, name, document.Quote(to)+" is not a unit of "+string(kind))
	}
	c.Shift, c.Mul, c.Div, c.Back = from.Shift, from.Factor, into.Factor, into.Shift
	c.Same = from.Name == into.Name
	return c
}

func readTime(in *document.Reader, r *Reading) (form string) {
	t := &r.Time
	form = in.Choice("form", "number", "epoch", "index", "clock", "date")
	t.Bridge = in.Flag("bridge", false)
	if form == "index" {
		t.Form = Indexed
		t.At = in.WholeOr("column", 1, mostColumns, 0)
		d := in.Decimal("interval_s")
		ns, ok := nanoseconds([]byte(d.Text), '.', second)
		if in.Err() == nil && (!ok || ns <= 0) {
			in.Fail(document.CodeRange, "interval_s", "must be above zero")
		}
		t.UnitNS = ns
		return form
	}
	t.At = in.Whole("column", 1, mostColumns)
	switch form {
	case "number", "epoch":
		t.UnitNS = UnitNS(in.Text("unit"))
		if in.Err() == nil && t.UnitNS == 0 {
			in.Fail(document.CodeUnit, "unit", "must be one of: us, ms, s, min, h, d")
		}
	case "clock":
		t.Form = Clocked
	default:
		t.Form = Dated
		t.Order = in.Choice("order", orders[:]...)
		t.DateAt = in.WholeOr("date_column", 1, mostColumns, 0)
	}
	return form
}

func readContact(in *document.Reader, c *Contact) {
	c.At = in.Whole("column", 1, mostColumns)
	if above, ok := in.Optional("above"); ok {
		c.Above, c.ByNumber = above, true
		return
	}
	c.Actuated, c.Rest = words(in, "actuated"), words(in, "rest")
	for _, a := range c.Actuated {
		for _, b := range c.Rest {
			if a == b && in.Err() == nil {
				in.Fail(document.CodeConflict, "rest", document.Quote(a)+" stands for both states")
			}
		}
	}
}

func words(in *document.Reader, name string) []string {
	list := in.Texts(name)
	if in.Err() == nil && len(list) == 0 {
		in.Fail(document.CodeShape, name, "at least one word is needed")
	}
	for i, s := range list {
		list[i] = small(s)
	}
	return list
}

// counts lists the state's counts and times with their names in documents, in one order for reading
// and writing.
func (s *State) counts() []namedCount {
	return []namedCount{
		{"line", &s.Line}, {"rows", &s.Rows}, {"used", &s.Used}, {"kept", &s.Kept}, {"outside", &s.Outside}, {"comments", &s.Comments},
		{"blank", &s.Blank}, {"missing_p", &s.Missing[0]}, {"missing_temperature", &s.Missing[1]}, {"missing_barometer", &s.Missing[2]},
		{"missing_contact", &s.Missing[3]}, {"faults", &s.Faults}, {"gaps", &s.Gaps}, {"contact_changes", &s.Changes}, {"after", &s.After},
	}
}

type namedCount struct {
	name string
	n    *int
}

type namedTime struct {
	name string
	ns   *int64
}

func (s *State) times() []namedTime {
	return []namedTime{
		{"first", &s.First}, {"clock", &s.Clock}, {"last", &s.Last}, {"step", &s.Step}, {"day", &s.Day},
		{"bridged", &s.Bridged}, {"end", &s.EndNS},
	}
}

type namedFlag struct {
	name string
	b    *bool
}

func (s *State) flags() []namedFlag {
	return []namedFlag{
		{"started", &s.Started}, {"zoned", &s.Zoned}, {"contact", &s.Contact},
		{"has_contact", &s.HasContact}, {"implausible", &s.Implausible},
	}
}

func writeState(out *document.Writer, s *State) {
	out.BeginObject("state")
	for _, c := range s.counts() {
		out.Whole(c.name, *c.n)
	}
	out.BeginObject("faults_by")
	for i, n := range s.FaultsBy {
		if n > 0 {
			out.Whole(faultWords[i][0], n)
		}
	}
	out.End()
	out.Number("low", s.Low)
	out.Number("high", s.High)
	for _, t := range s.times() {
		out.Text(t.name+"_ns", strconv.FormatInt(*t.ns, 10))
	}
	for _, f := range s.flags() {
		out.Flag(f.name, *f.b)
	}
	out.End()
}

func readState(in *document.Reader) (s State) {
	for _, c := range s.counts() {
		*c.n = in.Whole(c.name, 0, 1<<53)
	}
	by := in.Object("faults_by")
	for i := range s.FaultsBy {
		s.FaultsBy[i] = by.WholeOr(faultWords[i][0], 0, 1<<53, 0)
	}
	s.Low, s.High = in.Number("low"), in.Number("high")
	for _, t := range s.times() {
		ns, err := strconv.ParseInt(in.Text(t.name+"_ns"), 10, 64)
		if err != nil {
			in.Fail(document.CodeRange, t.name+"_ns", "must be a whole number of nanoseconds")
		}
		*t.ns = ns
	}
	for _, f := range s.flags() {
		*f.b = in.Flag(f.name, false)
	}
	return s
}
