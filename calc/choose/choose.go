package choose

import (
	"cmp"
	"slices"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// Calculation is another calculation, from document to document.
type Calculation func(doc []byte) []byte

// Calculations returns the calculations choose, which asks serves and expand, certify, certificates,
// uses, stated and bring, which asks both too.
func Calculations(serves, expand Calculation) []document.Calculation {
	c := chooser{serves, expand}
	return []document.Calculation{{Name: "choose", Call: c.calculate}, {Name: "certify", Call: calculateCertify},
		{Name: "certificates", Call: calculateCertificates}, {Name: "uses", Call: calculateUses},
		{Name: "stated", Call: calculateStated}, {Name: "bring", Call: c.calculateBring}}
}

// What speaks against a range, beside what "serves" says.
const (
	noDate    = "no_date"
	outOfDate = "out_of_date"
	status    = "status"
	programme = "programme"
	kind      = "kind"         // it measures something else
	mode      = "mode"         // absolute, gauge or differential, and another is asked for
	nothing   = "no_statement" // nothing can be said of its uncertainty
)

// inService is the status of a standard that may be used; "" counts as that.
const inService = "in service"

// Years returns the years from one day to another with three decimals, as they stand on a visit
// for the drift of its standard; "" where they run backwards or either is no date or moment.
//
// Source: a mean year of 365.25 days; common practice, no source.
func Years(calibrated, on string) string {
	from, ok := document.ParseDate(day(calibrated))
	to, ok2 := document.ParseDate(day(on))
	if !ok || !ok2 || to < from {
		return ""
	}
	return strconv.FormatFloat(float64(to-from)/365.25, 'f', 3, 64)
}

// OutOfDate says whether a calibration that is due on one day has run out on another. Either may be
// a date or a moment, of which the date counts; on the day itself it still holds. One of which
// nobody knows when it is due counts as out of date.
func OutOfDate(due, on string) bool { return day(due) < day(on) }

type chooser struct{ serves, expand Calculation }

// objection is what speaks against a range, with what it is about.
type objection struct {
	code          string
	text, point   string
	due, measures string
	ratio, needed float64
	hasRatio      bool
}

type candidate struct {
	standard, name string
	barred         bool // no reason makes it a standard for this
	index          int
	rng            document.Value
	ratio, fit     float64
	worst, needed  *document.Value
	objections     []objection
}

type standard struct {
	id, name, status, due string
	years                 string
	unclean               string // why it may not touch an instrument in oxygen service
	ranges                []document.Value
}

// calculate is the calculation choose.
//
// Takes:   {method, instrument, own?, today, meter?, barometer?, medium?, cautions?, standards: [{id,
// name?, status?, due?, calibrated?, medium?, cleaned_for_oxygen?, ranges}]}; own is the id of the
// instrument's record, which is no standard for itself; with meter what reads a transmitter's signal
// is chosen, and ranges of other quantities than the signal's are left out; with barometer what
// measures the air beside a gauge standard, and ranges that do not measure absolute pressure are
// left out; medium and cautions say whether the instrument is in oxygen service.
// Gives:   {needed_ratio?, list: [{standard, index, range, fit, worst?, objections, barred?}]}, the
// best first; range is in the instrument's unit; of one that is barred no reason makes a standard.
// Refuses: a today that is no date.
func (c chooser) calculate(in *document.Reader, out *document.Writer) error {
	method, instrument := in.RawObject("method"), in.RawObject("instrument")
	own, role := in.TextOr("own", ""), ""
	for _, r := range []string{"meter", "barometer"} {
		if in.Flag(r, false) {
			role = r
		}
	}
	medium, cautions := in.TextOr("medium", ""), []string(nil)
	if in.Has("cautions") {
		cautions = in.Texts("cautions")
	}
	oxygen := visit.Oxygen(medium, cautions) && role == "" // meter and barometer do not touch the medium
	today := readToday(in)
	var all []*candidate
	for _, r := range in.List("standards") {
		s := readStandard(r, today)
		if s.id == own {
			continue
		}
		for i := range s.ranges {
			if in.Err() == nil {
				if one := c.candidate(method, instrument, &s, i, today, role, oxygen); role == "" || !one.other(role) {
					all = append(all, one)
				}
			}
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	slices.SortStableFunc(all, better)
	write(out, all)
	return nil
}

// readToday reads the day of the work.
func readToday(in *document.Reader) string {
	today := in.Text("today")
	if _, ok := document.ParseDate(today); in.Err() == nil && !ok {
		in.Fail(document.CodeRange, "today", document.Quote(today)+" is not a date such as 2024-05-31, from 1900 on")
	}
	return today
}

func readStandard(r *document.Reader, today string) standard {
	why := visit.Unclean(r.TextOr("medium", ""), r.TextOr("cleaned_for_oxygen", ""), today)
	return standard{unclean: why, id: r.Text("id"), name: r.TextOr("name", ""), status: r.TextOr("status", ""), due: day(r.TextOr("due", "")),
		years: Years(r.TextOr("calibrated", ""), today), ranges: r.Values("ranges")}
}

// day returns the date of a date or a moment.
func day(s string) string { return s[:min(len(s), len("2006-01-02"))] }

// candidate asks about one range.
func (c chooser) candidate(
	method, instrument *document.Value, s *standard, i int, today, role string, oxygen bool,
) *candidate {
	original := &s.ranges[i]
	one := &candidate{
		standard: s.id, name: s.name, index: i, objections: s.against(today, oxygen), barred: oxygen && s.unclean != "",
	}
	served := c.served(method, instrument, original, s.years, role)
	if e, ok := served.Get("error"); ok {
		one.objections = append(one.objections, objection{code: nothing, text: text(e, "message")})
	} else {
		one.read(&served)
	}
	moved, _ := served.Get("range")
	one.rng = rangeOf(original, moved, s.years)
	if role == "" && !one.other("") && text(method, "kind") == programme {
		if why := c.refused(method, instrument, &one.rng); why != "" {
			one.objections = append(one.objections, objection{code: programme, text: why})
		}
	}
	return one
}

// other says whether a range measures something else; as a barometer a gauge does too.
func (one *candidate) other(role string) bool {
	return slices.ContainsFunc(one.objections, func(o objection) bool {
		return o.code == kind || role == "barometer" && o.code == mode
	})
}

// against says what the record of a standard says against using it on a day.
func (s *standard) against(today string, oxygen bool) []objection {
	var list []objection
	switch {
	case s.due == "":
		list = append(list, objection{code: noDate})
	case OutOfDate(s.due, today):
		list = append(list, objection{code: outOfDate, due: s.due})
	}
	if s.status != "" && s.status != inService {
		list = append(list, objection{code: status, text: s.status})
	}
	if oxygen && s.unclean != "" {
		list = append(list, objection{code: s.unclean})
	}
	return list
}

// known is what a range of a record may say that matters for whether it serves.
var known = []string{"low", "high", "unit", "mode", "of_reading_percent", "of_span_percent", "absolute", "stability_ppm", "k",
	"drift_per_year", "resolution", "max_rate", "points"}

// served asks the calculation serves about a range.
func (c chooser) served(method, instrument, original *document.Value, years, role string) document.Value {
	w := document.NewWriter(nil)
	w.Begin()
	w.Value("method", method)
	w.Value("instrument", instrument)
	w.BeginObject("range")
	items := original.Items()
	for i, name := range original.Names() {
		if slices.Contains(known, name) {
			w.Value(name, &items[i])
		}
	}
	w.End()
	if years != "" {
		w.Text("years_since", years)
	}
	if role != "" {
		w.Flag(role, true)
	}
	w.End()
	return reply(c.serves(w.Bytes()))
}

// refused asks why a programme may not be run with a range; "" where it may.
func (c chooser) refused(method, instrument, rng *document.Value) string {
	w := document.NewWriter(nil)
	w.Begin()
	w.Value("method", method)
	w.Value("instrument", instrument)
	w.Text("label", "as found")
	if text(rng, "unit") != "" {
		w.Value("standard", rng)
	}
	w.End()
	said := reply(c.expand(w.Bytes()))
	if e, ok := said.Get("error"); ok {
		return text(e, "message")
	}
	return ""
}

func reply(doc []byte) document.Value {
	v, err := document.Parse(doc)
	if err != nil { // a calculation writes JSON
		v, _ = document.Parse(document.ErrorDocument(err))
	}
	return v
}

// read takes what serves said.
func (one *candidate) read(served *document.Value) {
	one.fit, _ = number(served, "fit")
	one.needed, _ = served.Get("needed_ratio")
	ratio := 0.0
	if w, ok := served.Get("worst"); ok {
		one.worst = w
		ratio, _ = number(w, "ratio")
		one.ratio = ratio
	}
	list, ok := served.Get("objections")
	if !ok {
		return
	}
	for _, o := range list.List() {
		said := objection{code: text(&o, "code"), text: text(&o, "text"), point: text(&o, "point")}
		switch said.code {
		case kind:
			said.measures = text(served, "measures")
		case "ratio":
			said.ratio, said.hasRatio = ratio, true
			said.needed, _ = number(served, "needed_ratio")
		}
		one.objections = append(one.objections, said)
	}
}

// rangeOf returns a record's range as a visit keeps it: in the instrument's unit, with the years
// since its calibration where it drifts.
func rangeOf(original, moved *document.Value, years string) document.Value {
	names, items := []string{}, []document.Value{}
	put := func(name string, v document.Value) {
		if at := slices.Index(names, name); at >= 0 {
			items[at] = v
			return
		}
		names, items = append(names, name), append(items, v)
	}
	own := original.Items()
	for i, name := range original.Names() {
		if moved != nil && slices.Contains(known, name) {
			if _, ok := moved.Get(name); !ok {
				continue
			}
		}
		put(name, own[i])
	}
	if moved != nil {
		theirs := moved.Items()
		for i, name := range moved.Names() {
			put(name, theirs[i])
		}
	}
	if slices.Contains(names, "drift_per_year") && years != "" {
		put("years_since", document.Value{Kind: document.String, Text: years})
	}
	return document.ObjectOf(names, items)
}

// better puts the ranges without an objection first; of those the one with the best ratio, or
// where none can be told the one that is used most. What measures something else comes last.
func better(a, b *candidate) int {
	return cmp.Or(
		cmp.Compare(a.weight(), b.weight()), cmp.Compare(b.ratio, a.ratio), cmp.Compare(b.fit, a.fit),
		cmp.Compare(a.name, b.name),
	)
}

func (one *candidate) weight() int {
	n := len(one.objections)
	if one.barred {
		n += 100
	}
	for _, o := range one.objections {
		if o.code == kind {
			n += 100
		}
	}
	return n
}

func text(v *document.Value, name string) string {
	if v.Kind != document.Object {
		return ""
	}
	if p, ok := v.Get(name); ok && (p.Kind == document.String || p.Kind == document.Number) {
		return p.Text
	}
	return ""
}

func number(v *document.Value, name string) (float64, bool) {
	x, err := strconv.ParseFloat(text(v, name), 64)
	return x, err == nil
}

func write(out *document.Writer, all []*candidate) {
	for i := range all {
		if all[i].worst != nil && all[i].needed != nil {
			out.Value("needed_ratio", all[i].needed)
			break
		}
	}
	out.BeginList("list")
	for i := range all {
		c := all[i]
		out.Begin()
		out.Text("standard", c.standard)
		out.Whole("index", c.index)
		out.Value("range", &c.rng)
		out.Number("fit", c.fit)
		if c.worst != nil {
			out.Value("worst", c.worst)
		}
		out.BeginList("objections")
		for _, o := range c.objections {
			o.write(out)
		}
		out.EndList()
		if c.barred || c.other("") {
			out.Flag("barred", true)
		}
		out.End()
	}
	out.EndList()
}

func (o *objection) write(out *document.Writer) {
	out.Begin()
	out.Text("code", o.code)
	for _, f := range [...][2]string{{"text", o.text}, {"point", o.point}, {"due", o.due}, {"measures", o.measures}} {
		if f[1] != "" {
			out.Text(f[0], f[1])
		}
	}
	if o.hasRatio {
		out.Number("ratio", o.ratio)
		out.Number("needed", o.needed)
	}
	out.End()
}
