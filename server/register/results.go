package register

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// resultFields are the columns of a sheet of past results: a row for each point of a test, or one
// row for a test of which only the verdict is known.
var resultFields = []field{
	{"tag", "the instrument's tag; or the serial number", []string{
		"tag no", "tag nr", "messstelle", "repère", "etiqueta", "instrument",
	}},
	{"serial", "its serial number, which goes before the tag", []string{
		"serial no", "seriennummer", "fabrik nr", "n de série", "nº de serie", "n de serie",
	}},
	{"date", "day of the test", []string{
		"tested", "calibrated", "test date", "calibration date", "datum", "prüfdatum", "kalibriert am",
		"date d étalonnage", "fecha", "fecha calibración",
	}},
	{"point", "test point, in the range's unit", []string{
		"applied", "nominal", "reference", "prüfpunkt", "sollwert", "soll", "point de mesure", "punto", "consigne",
	}},
	{"found", "error as found, in the range's unit", []string{
		"as found", "error", "as found error", "error as found", "abweichung", "abweichung vorher", "vorgefunden", "eingangszustand",
		"erreur", "erreur avant", "error antes", "desviación",
	}},
	{"left", "error as left", []string{
		"as left", "as left error", "error as left", "abweichung nachher", "hinterlassen", "ausgangszustand", "erreur après",
		"error después",
	}},
	{"limit", "largest error that was allowed, in the range's unit", []string{
		"tolerance", "mpe", "fehlergrenze", "grenze", "emt", "tolérance", "tolerancia",
	}},
	{"unit", "unit of point, errors and limit; empty: the range's", []string{"einheit", "unité", "unidad"}},
	{"verdict", "as found: pass or fail", []string{
		"result", "as found result", "ergebnis", "urteil", "befund", "résultat", "verdict avant", "resultado",
	}},
	{"verdict_left", "as left: pass or fail", []string{"as left result", "ergebnis nachher", "résultat après"}},
	{"adjusted", "yes: it was adjusted", []string{"justiert", "ajusté", "ajustado"}},
	{"certificate", "number of its certificate", []string{
		"certificate no", "certificate number", "report", "zertifikat", "kalibrierschein", "schein nr",
		"certificat", "certificado",
	}},
	{"by", "who tested it", []string{"laboratory", "tested by", "labor", "prüfer", "laboratoire", "laboratorio"}},
	{"file", "name of the certificate's file", []string{"pdf", "document", "datei", "fichier", "archivo"}},
	{"note", "a remark", []string{"remark", "bemerkung", "remarque", "nota", "comment"}},
}

// Words for a verdict, compared like headings.
var (
	passes = []string{
		"pass", "passed", "ok", "yes", "good", "in tolerance", "within", "i o", "io", "in ordnung", "bestanden", "gut",
		"ja", "conforme", "bon", "oui", "sí", "apto", "cumple",
	}
	fails = []string{
		"fail", "failed", "not ok", "nok", "no", "bad", "out of tolerance", "out", "n i o", "nio",
		"nicht in ordnung", "nicht bestanden", "schlecht", "nein", "non conforme", "mauvais", "non",
		"no conforme", "no apto", "no cumple",
	}
)

// Result is a past test on a sheet.
type Result struct {
	Lines    []int
	Tag      string
	Date     string
	Problems []PastProblem
	Same     bool // it is here already

	serial, certificate, by, file, note string
	adjusted                            bool
	verdict, verdictLeft                string
	unit                                string
	points                              []pastPoint
	of                                  merge.State
	summary                             map[string]any
}

// PastProblem is what is wrong with a test.
type PastProblem struct {
	Line int    `json:"line"` // of the sheet, 0 where it is of the whole test
	Says string `json:"says"`
}

func (p PastProblem) String() string {
	if p.Line == 0 {
		return p.Says
	}
	return fmt.Sprintf("line %d: %s", p.Line, p.Says)
}

type pastPoint struct{ point, found, left, limit string }

// Results is a sheet of past results as read.
type Results struct {
	Name   string // of the sheet
	Tests  []Result
	Unused []string
}

// ReadResults reads a sheet of past results. The rows of one instrument and day are one test.
//
// Refuses: ErrFile, ErrColumns.
func ReadResults(name string, data []byte, o Options) (*Results, error) {
	t, err := cutBy(data, look{o.Delimiter, o.Header, o.Map}, resultFields)
	if err != nil {
		return nil, err
	}
	at, unused, err := columnsBy(t.header, o.Map, resultFields)
	if err != nil {
		return nil, err
	}
	_, tag := at["tag"]
	_, serial := at["serial"]
	if _, date := at["date"]; !date || !tag && !serial {
		return nil, fmt.Errorf("%w: a date and a tag or a serial number are needed; there are %q", ErrColumns, t.header)
	}
	mark, err := markIn(t, at, o.Decimal, []string{"point", "found", "left", "limit"})
	if err != nil {
		return nil, err
	}
	if mark == both {
		mark = 0
	}
	r := &Results{Name: name, Unused: unused}
	index := map[string]int{}
	for _, l := range t.lines {
		cell := func(field string) string {
			if k, ok := at[field]; ok && k < len(l.cells) {
				return l.cells[k]
			}
			return o.Set[field]
		}
		date, err := date(cell("date"), o.Dates)
		key := Same(cell("tag")) + "\n" + Same(cell("serial")) + "\n" + cmp.Or(date, cell("date"))
		n, ok := index[key]
		if !ok {
			n = len(r.Tests)
			index[key] = n
			r.Tests = append(r.Tests, Result{Tag: cell("tag"), Date: date, serial: cell("serial"), unit: cell("unit")})
		}
		one := &r.Tests[n]
		called := func(field string) string { return columnOf(t.header, at, field) }
		if err != nil {
			one.bad(l.number, "%s: %v", called("date"), err)
		}
		one.line(l.number, cell, called, mark)
	}
	return r, nil
}

// columnOf names a column as the sheet does; without one it names the value that is given instead.
func columnOf(header []string, at map[string]int, field string) string {
	if k, ok := at[field]; ok {
		return fmt.Sprintf("column %q", header[k])
	}
	return "the value for an empty " + field
}

func (r *Result) bad(line int, format string, args ...any) {
	r.Problems = append(r.Problems, PastProblem{line, fmt.Sprintf(format, args...)})
}

// line adds a row to its test; called names the column of a field.
func (r *Result) line(n int, cell, called func(string) string, mark byte) {
	r.Lines = append(r.Lines, n)
	for name, to := range map[string]*string{
		"certificate": &r.certificate, "by": &r.by, "file": &r.file, "note": &r.note,
	} {
		if v := cell(name); v != "" {
			*to = v
		}
	}
	if u := cell("unit"); u != r.unit {
		r.bad(n, "the unit %q is not that of the rows before, %q", u, r.unit)
	}
	r.adjusted = r.adjusted || isOne(yes, cell("adjusted"))
	for name, to := range map[string]*string{"verdict": &r.verdict, "verdict_left": &r.verdictLeft} {
		switch v := cell(name); {
		case v == "":
		case isOne(fails, v):
			*to = "fail" // a failure at one point fails the test
		case isOne(passes, v):
			*to = cmp.Or(*to, "pass")
		default:
			r.bad(n, "%s: %q is neither pass nor fail", called(name), v)
		}
	}
	var p pastPoint
	unread := false
	for _, x := range []struct {
		name string
		to   *string
	}{{"point", &p.point}, {"found", &p.found}, {"left", &p.left}, {"limit", &p.limit}} {
		v := strings.TrimLeft(cell(x.name), "±")
		if v == "" {
			continue
		}
		text, err := number(strings.TrimSpace(v), mark)
		if err != nil {
			r.bad(n, "%s: %v", called(x.name), err)
			unread = true
		}
		*x.to = text
	}
	switch {
	case p == (pastPoint{}), unread:
	case p.point == "":
		r.bad(n, "there is an error or a limit here but no point")
	case p.found == "" && p.left == "":
		r.bad(n, "there is a point here but no error")
	default:
		r.points = append(r.points, p)
	}
}

// Check finds the instrument of each test, and evaluates its errors.
func (r *Results) Check(src plant.Source) error {
	here, err := instrumentsOf(src)
	if err != nil {
		return err
	}
	for i := range r.Tests {
		t := &r.Tests[i]
		if err := t.meet(src, here); err != nil {
			return err
		}
		if len(t.Problems) == 0 {
			t.judge()
		}
	}
	return nil
}

// meet finds the instrument. The serial number takes precedence over the tag, since the history
// follows it.
func (r *Result) meet(src plant.Source, here present) error {
	found := here.bySerial[Same(r.serial)]
	if Same(r.serial) == "" || len(found) == 0 {
		found = here.byTag[Same(r.Tag)]
	}
	if len(found) > 1 && r.Tag != "" {
		found = slices.DeleteFunc(slices.Clone(found), func(s merge.State) bool {
			return Same(textOf(&s, "tag")) != Same(r.Tag)
		})
	}
	switch {
	case len(found) == 0:
		r.bad(0, "no instrument here has the tag %q or the serial number %q", r.Tag, r.serial)
		return nil
	case len(found) > 1:
		r.bad(0, "%d instruments here have the tag %q or the serial number %q", len(found), r.Tag, r.serial)
		return nil
	}
	r.of = found[0]
	if serial := textOf(&r.of, "serial"); r.serial != "" && serial != "" && Same(serial) != Same(r.serial) {
		r.bad(0, "the tag %s is here with the serial number %s, the sheet has %s", r.Tag, serial, r.serial)
		return nil
	}
	kids, err := src.Children(r.of.ID)
	if err != nil {
		return err
	}
	r.Same = slices.ContainsFunc(kids, func(s merge.State) bool {
		return s.Kind == "result" && strings.HasPrefix(textOf(&s, "started"), r.Date)
	})
	return nil
}

// judge makes a summary of the test, like those of visits. A missing verdict is derived from errors
// and limits only; without limits it is undecided.
func (r *Result) judge() {
	i, err := plant.ReadInstrument(r.of)
	if err != nil {
		r.bad(0, "%v", err)
		return
	}
	scale, err := factor(r.unit, i.Range.Unit)
	if err != nil {
		r.bad(0, "%v", err)
		return
	}
	today := limitOf(&i)
	run := func(pick func(pastPoint) string, verdict string) map[string]any {
		points, worst, whole := []any{}, 0.0, true
		for _, p := range r.points {
			if pick(p) == "" {
				continue
			}
			e, at := value(pick(p))*scale, value(p.point)*scale
			one := map[string]any{"point": at, "direction": "", "error": e}
			limit := today
			if p.limit != "" {
				limit = value(p.limit) * scale
			}
			if limit > 0 {
				one["limit"] = limit
				worst = max(worst, math.Abs(e)/limit)
			} else {
				one["limit"], whole = nil, false
			}
			points = append(points, one)
		}
		if len(points) == 0 && verdict == "" {
			return nil
		}
		out := map[string]any{"points": points, "worst_fraction": nil}
		if len(points) > 0 && whole {
			out["worst_fraction"] = worst
		}
		switch {
		case verdict != "":
		case !whole:
			verdict = "undecided"
		case worst > 1:
			verdict = "fail"
		default:
			verdict = "pass"
		}
		out["verdict"] = verdict
		return out
	}
	r.summary = map[string]any{}
	if found := run(func(p pastPoint) string { return p.found }, r.verdict); found != nil {
		r.summary["as_found"] = found
	}
	if left := run(func(p pastPoint) string { return p.left }, r.verdictLeft); left != nil {
		r.summary["as_left"] = left
	}
	if len(r.summary) == 0 {
		r.bad(0, "says neither an error nor a verdict")
	}
}

// value reads a number that was already checked.
func value(text string) float64 {
	x, _ := strconv.ParseFloat(text, 64)
	return x
}

// factor converts differences and pressures from one unit to another.
func factor(from, to string) (float64, error) {
	if from == "" || from == to {
		return 1, nil
	}
	name, _, err := unitOf(from)
	if err != nil {
		return 0, err
	}
	a, ok := units.Find(name)
	b, ok2 := units.Find(to)
	if !ok || !ok2 || a.Kind != b.Kind {
		return 0, fmt.Errorf("the unit %q is not one of the instrument's, %s", from, to)
	}
	return a.ToSI(1) / b.ToSI(1), nil
}

// limitOf is the largest error that the instrument's present limit allows over its whole range, in
// the range's unit; 0 if it is not one number.
func limitOf(i *plant.Instrument) float64 {
	percent := i.Limit.OfSpanPercent
	if i.Limit.Rule == "en837" && !i.Limit.StopPin {
		percent = i.Limit.Class
	}
	if percent == "" || i.Limit.OfReadingPercent != "" || i.Limit.Absolute != "" {
		return 0
	}
	return value(string(percent)) / 100 * (value(string(i.Range.High)) - value(string(i.Range.Low)))
}

// Bad counts the tests with a problem.
func (r *Results) Bad() (n int) {
	for i := range r.Tests {
		if len(r.Tests[i].Problems) > 0 {
			n++
		}
	}
	return n
}

// New counts the tests to write.
func (r *Results) New() (n int) {
	for i := range r.Tests {
		if r.Tests[i].new() {
			n++
		}
	}
	return n
}

func (r *Result) new() bool { return len(r.Problems) == 0 && !r.Same }

// Files returns the names of the files that new tests name.
func (r *Results) Files() (names []string) {
	for i := range r.Tests {
		if t := &r.Tests[i]; t.new() && t.file != "" && !slices.Contains(names, t.file) {
			names = append(names, t.file)
		}
	}
	return names
}

// Changes makes a record of the kind result for every new test, marked as imported. files are the
// SHA-256 of stored files by name; sheet is that of the sheet itself.
func (r *Results) Changes(drafter *plant.Drafter, at time.Time, sheet string, files map[string]string) (list []change.Change, err error) {
	for i := range r.Tests {
		t := &r.Tests[i]
		if !t.new() {
			continue
		}
		certificate := map[string]any{}
		for name, v := range map[string]string{"number": t.certificate, "by": t.by, "file": files[t.file]} {
			if v != "" {
				certificate[name] = v
			}
		}
		set := []plant.Set{
			{Field: "instrument", Value: t.of.ID}, {Field: "started", Value: t.Date + "T12:00:00.000Z"},
			{Field: "summary", Value: t.summary}, {Field: "adjusted", Value: map[string]any{"done": t.adjusted}},
			{Field: "brought", Value: map[string]any{
				"sheet": sheet, "name": path.Base(r.Name), "line": strconv.Itoa(t.Lines[0]), "at": plant.Stamp(at),
			}},
		}
		if len(certificate) > 0 {
			set = append(set, plant.Set{Field: "certificate", Value: certificate})
		}
		if t.note != "" {
			set = append(set, plant.Set{Field: "note", Value: t.note})
		}
		c, _, err := drafter.New("result", t.of.Site, t.of.ID, at, set...)
		if err != nil {
			return nil, fmt.Errorf("line %d: %w", t.Lines[0], err)
		}
		list = append(list, c)
	}
	return list, nil
}

func said(problems []PastProblem) (list []string) {
	for _, p := range problems {
		list = append(list, p.String())
	}
	return list
}

// Report writes what becomes of each test.
func (r *Results) Report(w io.Writer, all bool) error {
	var b strings.Builder
	for i := range r.Tests {
		t := &r.Tests[i]
		called := fmt.Sprintf("line %d  %s  %s", t.Lines[0], cmp.Or(t.Tag, t.serial), t.Date)
		switch {
		case len(t.Problems) > 0:
			fmt.Fprintf(&b, "%s  BAD  %s\n", called, strings.Join(said(t.Problems), "; "))
		case t.Same && all:
			fmt.Fprintf(&b, "%s  is here already\n", called)
		case all:
			fmt.Fprintf(&b, "%s  good, %d points\n", called, len(t.points))
		}
	}
	fmt.Fprintf(&b, "%d tests: %d new, %d here already, %d bad\n",
		len(r.Tests), r.New(), len(r.Tests)-r.New()-r.Bad(), r.Bad())
	_, err := io.WriteString(w, b.String())
	return err
}

// ResultHelp lists for every column of a sheet of past results what it holds.
func ResultHelp() string { return helpOf(resultFields) }

// State is the result for a test: new, same or bad.
func (r *Result) State() string {
	switch {
	case len(r.Problems) > 0:
		return "bad"
	case r.Same:
		return "same"
	}
	return "new"
}

// Points is how many points of a test the sheet has.
func (r *Result) Points() int { return len(r.points) }

// Verdicts are the stored verdicts of a test as found and as left, "" for none.
func (r *Result) Verdicts() (found, left string) {
	of := func(run string) string {
		one, _ := r.summary[run].(map[string]any)
		verdict, _ := one["verdict"].(string)
		return verdict
	}
	return of("as_found"), of("as_left")
}
