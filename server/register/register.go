package register

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"gaugewright/calc/visit"
	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Options say how to read a file.
type Options struct {
	Map       map[string]string // heading → field, or "" to leave a column out
	Set       map[string]string // field → its value in rows with an empty cell
	Delimiter rune              // 0: detected from the header
	Decimal   string            // "", "comma" or "point"
	Dates     string            // "", "dmy" or "mdy"
	NewSites  bool              // make sites whose code is unknown
	Header    int               // line of the header, 0: detected
	// Values replaces the content of cells: by field, then by content.
	Values map[string]map[string]string
	Update bool // a row whose tag exists changes that instrument
	// Twice says which of several rows with one tag is imported: "first", "last", or "" for none.
	Twice string
	// Serials says what it means if a tag exists with another serial number: "correct", "exchange",
	// or "" for a fault of the row. Moved says what it means if a serial number exists under
	// another tag: "move", "new", or "" for a fault.
	Serials, Moved string
}

// Row is one row of the file: an instrument, or its faults.
type Row struct {
	Line       int
	Tag        string
	Problems   []string     // faults that make the row bad
	Lost       []string     // faults for which only a cell is left out
	All        []Problem    // both
	Changes    []Difference // to an existing instrument
	here       *merge.State // that instrument
	replaces   *merge.State // the instrument that this one replaces
	moves      bool         // it exists under another tag
	dropped    bool         // another row with its tag is imported
	cells      []string
	text       map[string]string
	given      map[string]bool // fields with a value for empty cells
	at         map[string]int  // column of each field's heading: the same for every row
	header     []string
	set        []plant.Set
	site       string // code
	methodName string
	siteID     string
}

// Register is a file as read.
type Register struct {
	Encoding  string
	Delimiter string
	Decimal   string // "comma", "point", or "" if no number shows it
	Columns   []string
	Unused    []string // headings that are not used
	Rows      []Row
	NewSites  []string // codes of the sites that the import makes
	Titles    []string // the rows above the header
	HeaderAt  int      // line of the header
	Headings  []Heading
	header    []string
	options   Options
}

// Heading is a column of the file with its field, "" for none, and the content of its first cells.
type Heading struct {
	Text   string   `json:"text"`
	Field  string   `json:"field"`
	Sample []string `json:"sample"`
}

// mostSamples is how many cells of a column are shown.
const mostSamples = 3

// Columns reads only the columns of a file, including unused ones.
//
// Refuses: what Read refuses, except a missing tag.
func Columns(data []byte, o Options) (*Register, error) {
	t, err := cut(data, look{o.Delimiter, o.Header, o.Map})
	if err != nil {
		return nil, err
	}
	at, unused, err := columns(t.header, o.Map)
	if err != nil { // ignore a choice that does not fit
		if at, unused, err = columns(t.header, nil); err != nil {
			at, unused = map[string]int{}, t.header
		}
	}
	return &Register{
		Encoding: t.encoding, Delimiter: string(t.delimiter), Unused: unused, header: t.header, Titles: t.titles,
		HeaderAt: t.headerAt, Headings: headingsOf(t, at),
	}, nil
}

// headingsOf returns the columns with their fields and their first cells.
func headingsOf(t *table, at map[string]int) []Heading {
	list := make([]Heading, len(t.header))
	for i, h := range t.header {
		list[i] = Heading{Text: h, Sample: []string{}}
		for field, k := range at {
			if k == i {
				list[i].Field = field
			}
		}
		for _, l := range t.lines {
			if len(list[i].Sample) == mostSamples {
				break
			}
			if i < len(l.cells) && l.cells[i] != "" && !slices.Contains(list[i].Sample, l.cells[i]) {
				list[i].Sample = append(list[i].Sample, l.cells[i])
			}
		}
	}
	return list
}

// Read reads a file and examines every row by itself.
//
// Refuses: ErrFile if it is not a table, ErrColumns if the header lacks what every row needs or has
// it twice. A fault of a row is kept with the row.
func Read(data []byte, o Options) (*Register, error) {
	t, err := cut(data, look{o.Delimiter, o.Header, o.Map})
	if err != nil {
		return nil, err
	}
	at, unused, err := columns(t.header, o.Map)
	if err != nil {
		return nil, err
	}
	for field := range o.Set {
		if !known(field) {
			return nil, fmt.Errorf(
				"%w: --set %s: no such field; there are %s", ErrColumns, field,
				strings.Join(FieldNames(), " "),
			)
		}
	}
	_, column := at["tag"]
	if !column && o.Set["tag"] == "" {
		return nil, fmt.Errorf(
			"%w: no column has the tag's heading; there are %q: say --map HEADING=tag", ErrColumns, t.header,
		)
	}
	r := &Register{Encoding: t.encoding, Delimiter: string(t.delimiter), Unused: unused, header: t.header, options: o,
		Titles: t.titles, HeaderAt: t.headerAt, Headings: headingsOf(t, at)}
	for i, h := range t.header {
		for field, k := range at {
			if k == i {
				r.Columns = append(r.Columns, h+" → "+field)
			}
		}
	}
	mark, err := r.mark(t, at, o.Decimal)
	if err != nil {
		return nil, err
	}
	seen := map[string]int{} // rows by tag
	for _, l := range t.lines {
		row := Row{
			Line: l.number, cells: l.cells, text: map[string]string{}, given: map[string]bool{}, at: at,
			header: t.header,
		}
		for _, f := range fields {
			v := o.Set[f.name]
			if k, ok := at[f.name]; ok && k < len(l.cells) && l.cells[k] != "" {
				v = l.cells[k]
				if other, ok := o.Values[f.name][v]; ok {
					v = other
				}
			}
			row.text[f.name] = v
			row.given[f.name] = v != "" && v == o.Set[f.name] && !row.filled(f.name)
		}
		if len(l.cells) != len(t.header) {
			row.bad(Cells, "", "has %d cells, the header has %d", len(l.cells), len(t.header))
		}
		row.read(mark, o.Dates)
		r.Rows = append(r.Rows, row)
		r.twice(seen, o.Twice)
	}
	r.serialsTwice()
	return r, nil
}

// filled reports whether the file has a cell for a field.
func (row *Row) filled(field string) bool {
	k, ok := row.at[field]
	return ok && k < len(row.cells) && row.cells[k] != ""
}

var numbers = []string{"range", "low", "high", "resolution", "overload", "class", "percent", "volume", "weakest", "set_point", "set_tolerance", "dead_band", "set_point_2", "set_tolerance_2", "dead_band_2", "marked",
	"requested", "coincident_temperature"}

func (r *Register) mark(t *table, at map[string]int, decimal string) (mark byte, err error) {
	if mark, err = markIn(t, at, decimal, numbers); err != nil {
		return 0, err
	}
	r.Decimal = map[byte]string{',': "comma", '.': "point", both: "both"}[mark]
	if mark == both {
		mark = 0
	}
	return mark, nil
}

// both is the mark of a file with decimal commas and decimal points.
const both = 'b'

// markIn finds the decimal mark of the numbers in some columns, 0 if none shows it.
func markIn(t *table, at map[string]int, decimal string, numbers []string) (byte, error) {
	switch decimal {
	case "comma":
		return ',', nil
	case "point":
		return '.', nil
	case "":
	default:
		return 0, fmt.Errorf("%w: --decimal %q: comma or point", ErrColumns, decimal)
	}
	var m marks
	for _, l := range t.lines {
		for _, field := range numbers {
			if k, ok := at[field]; ok && k < len(l.cells) {
				m.note(l.cells[k])
			}
		}
	}
	switch {
	case m.comma > 0 && m.point > 0:
		return both, nil
	case m.comma > 0:
		return ',', nil
	case m.point > 0:
		return '.', nil
	}
	return 0, nil
}

// put gives the instrument a value, unless the cell is left out.
func (row *Row) put(field string, value any) {
	if !row.loses(field) {
		row.set = append(row.set, plant.Set{Field: field, Value: value})
	}
}

// read reads the row and records every problem, not only the first.
func (row *Row) read(mark byte, order string) {
	row.Tag = row.text["tag"]
	switch {
	case row.Tag == "":
		row.fault(Missing, "tag", "has no tag")
	case utf8.RuneCountInString(row.Tag) > visit.LongestTag:
		row.wrong("tag", "the tag has more than %d characters", visit.LongestTag)
	}
	row.put("tag", row.Tag)
	kind := row.readKind()
	row.put("kind", kind)
	for _, field := range []string{"serial", "description", "manufacturer", "model", "medium", "connection", "area", "place", "note"} {
		if v := row.text[field]; v != "" {
			if utf8.RuneCountInString(v) > visit.LongestText {
				row.wrong(field, "has more than %d characters", visit.LongestText)
			}
			row.put(field, v)
		}
	}
	row.readRange(kind, mark)
	row.readLimit(kind, mark)
	row.readParts(kind, mark)
	if v := row.text["resolution"]; v == "" && kind != "gauge" {
		// what such work shows is read from its own record
	} else if v == "" {
		row.bad(Missing, "resolution", "has no resolution")
	} else if n, err := number(v, mark); err != nil {
		row.wrong("resolution", "%v", err)
	} else if strings.Trim(n, "-0.") == "" || strings.HasPrefix(n, "-") {
		row.wrong("resolution", "the resolution %s is not above zero", n)
	} else {
		row.put("resolution", n)
	}
	if v := row.text["overload"]; v != "" {
		n, err := number(v, mark)
		if err != nil {
			row.wrong("overload", "%v", err)
		}
		row.put("overload", n)
	}
	if v := row.text["interval_months"]; v != "" {
		n, err := months(v)
		if err != nil {
			row.wrong("interval_months", "%v", err)
		}
		row.put("interval_months", n)
	}
	if v := row.text["due"]; v != "" {
		d, err := date(v, order)
		if err != nil {
			row.wrong("due", "%v", err)
		}
		row.put("due", d)
	}
	switch v := row.text["status"]; {
	case v == "" || isOne(inService, v):
		row.put("status", "in service")
	case isOne(outOfService, v):
		row.put("status", "out of service")
	default:
		row.wrong("status", "the status %q is neither in service nor out of service", v)
		row.set = append(row.set, plant.Set{Field: "status", Value: "in service"})
	}
	if v := row.text["language"]; v != "" {
		code, err := certificateLanguage(v)
		if err != nil {
			row.wrong("language", "%v", err)
		}
		row.put("language", code)
	}
	row.readLists()
	row.site, row.methodName = row.text["site"], row.text["method"]
}

// Cautions are the codes that a phone has words for.
var Cautions = []string{
	"lock_out", "stand_aside", "vent", "stored_energy", "oxygen", "toxic", "asphyxiation", "flight", "vacuum", "hot",
}

func (row *Row) readLists() {
	list := func(s string) (items []string) {
		for _, v := range strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(",;|/\n", r) }) {
			if v = strings.TrimSpace(v); v != "" {
				items = append(items, v)
			}
		}
		return items
	}
	if codes := list(row.text["cautions"]); len(codes) > 0 {
		for i, c := range codes {
			codes[i] = strings.ReplaceAll(strings.ToLower(c), " ", "_")
			if !slices.Contains(Cautions, codes[i]) {
				row.wrong("cautions", "the caution %q is not one of %s", c, strings.Join(Cautions, " "))
			}
		}
		row.put("cautions", codes)
	}
	if aliases := list(row.text["aliases"]); len(aliases) > 0 {
		row.put("aliases", aliases)
	}
}

// Check compares the rows with the records that exist here: the instrument of each row, and its
// site and method.
func (r *Register) Check(src plant.Source, newSites bool) error {
	sites, methods := map[string][]merge.State{}, map[string][]merge.State{}
	r.NewSites = nil
	here, err := instrumentsOf(src)
	if err != nil {
		return err
	}
	tried := trials{}
	for i := range r.Rows {
		row := &r.Rows[i]
		if row.dropped {
			continue
		}
		if err := row.meet(here, &r.options); err != nil {
			return err
		}
		if row.here == nil {
			if err := r.takeSite(src, sites, row, newSites); err != nil {
				return err
			}
		}
		found, err := lookup(src, methods, "method", "name", row.methodName)
		if err != nil {
			return err
		}
		if err := row.takeMethod(found, tried); err != nil {
			return err
		}
	}
	return nil
}

func (r *Register) takeSite(src plant.Source, sites map[string][]merge.State, row *Row, newSites bool) error {
	if row.replaces != nil && row.site == "" {
		row.siteID = row.replaces.Site
		return nil
	}
	here, err := lookup(src, sites, "site", "code", row.site)
	switch {
	case err != nil:
		return err
	case row.site == "":
	case len(here) == 1:
		row.siteID = here[0].ID
	case len(here) > 1:
		row.wrong("site", "%d sites have the code %q: %s", len(here), row.site, listed(here))
	case !newSites:
		row.fault(NoSite, "site", "the site %q is not known", row.site)
	case !slices.Contains(r.NewSites, row.site):
		r.NewSites = append(r.NewSites, row.site)
	}
	return nil
}

// takeMethod picks the row's method among those with its name, and tries a row that is good so far
// with it.
func (row *Row) takeMethod(here []merge.State, tried trials) error {
	switch {
	case row.methodName == "":
		return row.likely(tried)
	case len(here) == 0:
		row.fault(NoMethod, "method", "the method %q is not known", row.methodName)
		return row.likely(tried)
	}
	method, err := row.chosen(here)
	if err != nil {
		return err
	}
	if method == nil {
		return row.likely(tried)
	}
	if len(row.Problems) > 0 {
		return nil
	}
	before := len(row.All)
	if err := row.fits(*method, tried); err != nil {
		return err
	}
	if len(row.All) > before { // if imported at all, then without the method
		return row.likely(tried)
	}
	if row.here == nil {
		row.put("method", method.ID)
	} else if b, _ := row.here.Value("method"); string(b) != strconv.Quote(method.ID) {
		after, err := plant.Canonical(method.ID)
		if err != nil {
			return err
		}
		if b == nil {
			b = []byte("null")
		}
		row.put("method", method.ID)
		row.Changes = append(row.Changes, Difference{"method", b, after})
	}
	return nil
}

// lookup finds the records with a value in a field, looking up each value only once.
func lookup(src plant.Source, known map[string][]merge.State, kind, field, value string) ([]merge.State, error) {
	if value == "" {
		return nil, nil
	}
	found, ok := known[value]
	if ok {
		return found, nil
	}
	found, err := src.Lookup(kind, field, value)
	known[value] = found
	return found, err
}

// listed writes the ids of records, by which the office can find them.
func listed(states []merge.State) string {
	var ids []string
	for _, s := range states {
		ids = append(ids, s.ID)
	}
	return strings.Join(ids, ", ")
}

// Fields are the values that a row gives its instrument.
func (row *Row) Fields() []plant.Set { return row.set }

// State is the result for a row: new, changed, same, bad, or dropped for another with its tag.
func (row *Row) State() string {
	switch {
	case row.dropped:
		return "dropped"
	case len(row.Problems) > 0:
		return "bad"
	case row.here == nil:
		return "new"
	case len(row.Changes) > 0:
		return "changed"
	}
	return "same"
}

// Count counts the rows in a state.
func (r *Register) Count(state string) (n int) {
	for i := range r.Rows {
		if r.Rows[i].State() == state {
			n++
		}
	}
	return n
}

// Good counts the rows that are imported, or unchanged.
func (r *Register) Good() int { return len(r.Rows) - r.Bad() - r.Count("dropped") }

// Bad counts the rows with a problem.
func (r *Register) Bad() (n int) {
	for i := range r.Rows {
		if r.Rows[i].State() == "bad" {
			n++
		}
	}
	return n
}

// ErrBadRows is returned when there are rows with problems.
var ErrBadRows = errors.New("some rows are not good")

// Changes makes a change for every row that is new or changes something, and for every new site.
func (r *Register) Changes(drafter *plant.Drafter, at time.Time) ([]change.Change, error) {
	var list []change.Change
	sites := map[string]string{}
	keep := func(c change.Change, s merge.State, err error) (string, error) {
		list = append(list, c)
		return s.ID, err
	}
	for _, code := range r.NewSites {
		id, err := keep(
			drafter.New("site", "", "", at, plant.Set{Field: "code", Value: code}, plant.Set{Field: "name", Value: code}),
		)
		if err != nil {
			return nil, err
		}
		sites[code] = id
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		switch row.State() {
		case "bad", "dropped", "same":
			continue
		case "changed":
			if _, err := keep(drafter.Edit(*row.here, at, row.set...)); err != nil {
				return nil, fmt.Errorf("line %d: %w", row.Line, err)
			}
			continue
		}
		label, err := change.NewID(drafter.Random)
		if err != nil {
			return nil, err
		}
		const labelLength = 10 // 50 bits: a million labels share one with a chance below one in two thousand
		site := row.siteID
		if site == "" {
			site = sites[row.site]
		}
		if row.replaces != nil {
			if _, err := keep(drafter.Edit(*row.replaces, at, Replaced(row.replaces)...)); err != nil {
				return nil, fmt.Errorf("line %d: %w", row.Line, err)
			}
		}
		set := slices.Clone(row.set)
		if row.replaces != nil {
			set = TakenOver(set, row.replaces)
		}
		set = append(set, plant.Set{Field: "label", Value: label[:labelLength]})
		if _, err := keep(drafter.New("instrument", site, "", at, set...)); err != nil {
			return nil, fmt.Errorf("line %d: %w", row.Line, err)
		}
	}
	return list, nil
}
