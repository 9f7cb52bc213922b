package choose

import (
	"cmp"
	"slices"
	"strconv"

	"gaugewright/calc/document"
	"gaugewright/calc/visit"
)

// Calculation is another calculation: it takes a document and returns one.
type Calculation func(doc []byte) []byte

// Has reports whether a kind of work uses a meter or a barometer.
type Has func(kind, role string) bool

// Calculations returns the calculations choose and bring, which call serves and expand and use the
// table of kinds; suitable, which calls expand; and certify, certificates, uses and stated, which
// call no other.
func Calculations(serves, expand Calculation, has Has) []document.Calculation {
	c := chooser{serves, expand, has}
	return []document.Calculation{
		{Name: "choose", Call: c.calculate}, {Name: "certify", Call: calculateCertify},
		{Name: "certificates", Call: calculateCertificates}, {Name: "uses", Call: calculateUses},
		{Name: "stated", Call: calculateStated}, {Name: "bring", Call: c.calculateBring},
		{Name: "suitable", Call: c.calculateSuitable},
	}
}

// Objections to a range, besides those of the calculation serves.
const (
	noDate    = "no_date"
	outOfDate = "out_of_date"
	status    = "status"
	programme = "programme"
	kind      = "kind"         // it measures something else
	mode      = "mode"         // it is not of the mode asked for: absolute, gauge or differential
	nothing   = "no_statement" // its uncertainty cannot be stated
	unstated  = "no_specification"
	// besides is the code of serves for a range that measures an absolute pressure only with a
	// barometer beside it. It is no objection here: the barometer is chosen too.
	besides = "barometer"
)

// The roles of devices that are chosen beside the standard.
const (
	meter     = "meter"     // what reads a transmitter's signal
	barometer = "barometer" // what measures the air beside a gauge standard
)

// inService is the status of a standard that may be used; "" counts as in service.
const inService = "in service"

// Years returns the years from one day to another with three decimals, as a visit keeps them for
// the drift of its standard; "" if they run backwards or one of them is no date or moment.
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

// OutOfDate reports whether a calibration that is due on one day has expired on another. Either may
// be a date or a moment, of which the date counts. On the due day itself the calibration still
// holds. A calibration without a due day counts as out of date.
func OutOfDate(due, on string) bool { return day(due) < day(on) }

type chooser struct {
	serves, expand Calculation
	has            Has
}

// work is a method on an instrument, with the day and the role for which a standard is chosen.
type work struct {
	method, instrument *document.Value
	today, role        string
	oxygen             bool   // the instrument is in oxygen service
	air                string // the pressure of the air in hPa, "" if not known
}

// reads reports whether a meter reads a signal of the instrument.
func (c chooser) reads(w *work) bool {
	output, ok := w.instrument.Get("output")
	return ok && output.Kind == document.Object && c.has(text(w.method, "kind"), meter)
}

// objection is one reason against a range, with its details.
type objection struct {
	code          string
	text, point   string
	due, measures string
	ratio, needed float64
	hasRatio      bool
}

type candidate struct {
	standard, name string
	barred         bool // it may not be used, whatever reason is given
	beside         bool // it needs a barometer beside it
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
// Takes:   {method, instrument, own?, today, meter?, barometer?, air_hpa?, medium?, cautions?,
// standards: [{id, name?, status?, due?, calibrated?, medium?, cleaned_for_oxygen?, ranges}]}; own
// is the id of the instrument's record, since no instrument is its own standard; with meter, a
// device that reads a transmitter's signal is chosen, and ranges of other quantities are left out;
// with barometer, a device that measures the air beside a gauge standard (air_hpa if known), and
// ranges of other than absolute pressure are left out; medium and cautions tell whether the
// instrument is in oxygen service.
// Gives:   {needed_ratio?, meter?, list: [{standard, index, range, fit, worst?, objections,
// barred?, barometer?}]}, the best first; meter means that a signal is read and a meter must be
// chosen too; range is in the instrument's unit; a barred range may not be used, whatever reason is
// given; barometer means that a barometer must be chosen too.
// Refuses: a today that is no date; a meter or a barometer for a kind of work that uses none, and
// both at once.
func (c chooser) calculate(in *document.Reader, out *document.Writer) error {
	w := work{method: in.RawObject("method"), instrument: in.RawObject("instrument")}
	own := in.TextOr("own", "")
	for _, r := range []string{meter, barometer} {
		switch asked := in.Flag(r, false); {
		case asked && in.Err() == nil && w.role != "":
			in.Fail(document.CodeConflict, r, "a meter or a barometer is chosen, not both at once")
		case asked && in.Err() == nil && !c.has(text(w.method, "kind"), r):
			in.Fail(document.CodeConflict, r, "work of this kind uses no "+r)
		case asked:
			w.role = r
		}
	}
	if in.Has("air_hpa") {
		w.air = in.Decimal("air_hpa").Text
	}
	medium, cautions := in.TextOr("medium", ""), []string(nil)
	if in.Has("cautions") {
		cautions = in.Texts("cautions")
	}
	w.oxygen = visit.Oxygen(medium, cautions)
	w.today = readToday(in)
	var all []*candidate
	for _, r := range in.List("standards") {
		s := readStandard(r, w.today)
		if s.id == own {
			continue
		}
		for i := range s.ranges {
			if in.Err() != nil {
				return in.Err()
			}
			if one := c.candidate(&w, &s, i); w.role == "" || !one.other(w.role) {
				all = append(all, one)
			}
		}
	}
	if err := in.Err(); err != nil {
		return err
	}
	slices.SortStableFunc(all, better)
	write(out, all, w.role == "" && c.reads(&w))
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
	return standard{
		id: r.Text("id"), name: r.TextOr("name", ""), status: r.TextOr("status", ""),
		due: day(r.TextOr("due", "")), years: Years(r.TextOr("calibrated", ""), today),
		unclean: visit.Unclean(r.TextOr("medium", ""), r.TextOr("cleaned_for_oxygen", ""), today),
		ranges:  r.Values("ranges"),
	}
}

// day returns the date of a date or a moment.
func day(s string) string { return s[:min(len(s), len("2006-01-02"))] }

// candidate finds the objections to one range.
func (c chooser) candidate(w *work, s *standard, i int) *candidate {
	oxygen := w.oxygen && w.role == "" // a meter and a barometer do not touch the medium
	original := &s.ranges[i]
	one := &candidate{
		standard: s.id, name: s.name, index: i, objections: s.against(w.today, oxygen),
		barred: oxygen && s.unclean != "",
	}
	served := c.served(w, original, s.years)
	if e, ok := served.Get("error"); ok {
		one.objections = append(one.objections, objection{code: nothing, text: text(e, "message")})
	} else {
		one.read(&served)
	}
	moved, _ := served.Get("range")
	one.rng = rangeOf(original, moved, s.years)
	if w.role == "" && !one.other("") && text(w.method, "kind") == programme {
		if why := c.refused(w, &one.rng); why != "" {
			one.objections = append(one.objections, objection{code: programme, text: why})
		}
	}
	if w.role == barometer && one.has(unstated) { // without it the applied pressure has no uncertainty
		one.barred = true
	}
	return one
}

// has reports whether an objection is among those of a range.
func (one *candidate) has(code string) bool {
	return slices.ContainsFunc(one.objections, func(o objection) bool { return o.code == code })
}

// other reports whether a range measures something else. For a barometer, gauge pressure is
// something else too.
func (one *candidate) other(role string) bool {
	return one.has(kind) || role == barometer && one.has(mode)
}

// against returns the objections to using a standard on a day that follow from its record.
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

// known are the fields of a record's range that decide whether it serves.
var known = []string{
	"low", "high", "unit", "mode", "of_reading_percent", "of_span_percent", "absolute",
	"stability_ppm", "k", "drift_per_year", "resolution", "max_rate", "points",
}

// served runs the calculation serves for a range.
func (c chooser) served(w *work, original *document.Value, years string) document.Value {
	doc := document.NewWriter(nil)
	doc.Begin()
	doc.Value("method", w.method)
	doc.Value("instrument", w.instrument)
	doc.BeginObject("range")
	items := original.Items()
	for i, name := range original.Names() {
		if slices.Contains(known, name) {
			doc.Value(name, &items[i])
		}
	}
	doc.End()
	if years != "" {
		doc.Text("years_since", years)
	}
	if w.role != "" {
		doc.Flag(w.role, true)
	}
	if w.role == barometer && w.air != "" {
		doc.Text("air_hpa", w.air)
	}
	doc.End()
	return reply(c.serves(doc.Bytes()))
}

// refused returns why a programme may not be run with a range, "" if it may.
func (c chooser) refused(w *work, rng *document.Value) string {
	doc := document.NewWriter(nil)
	doc.Begin()
	doc.Value("method", w.method)
	doc.Value("instrument", w.instrument)
	doc.Text("label", "as found")
	if text(rng, "unit") != "" {
		doc.Value("standard", rng)
	}
	doc.End()
	said := reply(c.expand(doc.Bytes()))
	if e, ok := said.Get("error"); ok {
		return text(e, "message")
	}
	return ""
}

func reply(doc []byte) document.Value {
	v, err := document.Parse(doc)
	if err != nil { // never: a calculation writes JSON
		v, _ = document.Parse(document.ErrorDocument(err))
	}
	return v
}

// read reads the reply of serves.
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
		case besides:
			one.beside = true
			continue
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
// since its calibration if it drifts.
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

// better orders two ranges. Those without an objection come first, and of them those that need no
// barometer; then the best ratio counts, or if none is known, how much of the range is used. Ranges
// that measure something else come last.
func better(a, b *candidate) int {
	return cmp.Or(
		cmp.Compare(a.weight(), b.weight()), cmp.Compare(b.ratio, a.ratio), cmp.Compare(b.fit, a.fit),
		cmp.Compare(a.name, b.name),
	)
}

func (one *candidate) weight() int {
	n := 2 * len(one.objections)
	if one.beside {
		n++
	}
	if one.barred {
		n += 200
	}
	if one.has(kind) {
		n += 200
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

func write(out *document.Writer, all []*candidate, reads bool) {
	if reads {
		out.Flag(meter, true)
	}
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
		if c.beside {
			out.Flag("barometer", true)
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
