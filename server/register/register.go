package register

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
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

// Options say how a file is to be read.
type Options struct {
	Map       map[string]string // heading → field, or "" for a column to leave out
	Set       map[string]string // field → its value in a row where its cell is empty
	Delimiter rune              // 0: found from the header
	Decimal   string            // "", "comma" or "point"
	Dates     string            // "", "dmy" or "mdy"
	NewSites  bool              // sites whose code is not known are made
}

// Row is one row of the file: an instrument, or what is wrong with it.
type Row struct {
	Line       int
	Tag        string
	Problems   []string
	cells      []string
	text       map[string]string
	at         map[string]int // the columns of the fields, and their headings: the same for every row
	header     []string
	set        []plant.Set
	site       string // code
	methodName string
	siteID     string
}

// Register is a file that was read.
type Register struct {
	Encoding  string
	Delimiter string
	Decimal   string // "comma", "point", or "" where no number shows it
	Columns   []string
	Unused    []string // headings that nothing is taken from
	Rows      []Row
	NewSites  []string // codes of the sites that writing makes
	header    []string
	order     string
}

// Read reads a file and looks at every row by itself.
//
// Refuses: ErrFile for what is no table, ErrColumns where the header lacks what every row needs or
// names it twice. What is wrong with a row is kept with the row.
func Read(data []byte, o Options) (*Register, error) {
	t, err := cut(data, o.Delimiter)
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
	has := func(field string) bool {
		_, column := at[field]
		return column || o.Set[field] != ""
	}
	switch {
	case !has("tag"):
		return nil, fmt.Errorf("%w: none is headed as the tag; there are %q: say --map HEADING=tag", ErrColumns, t.header)
	case !has("range") && !has("high"):
		return nil, fmt.Errorf(
			"%w: none is headed as the range or its upper end; there are %q: say --map HEADING=range or HEADING=high",
			ErrColumns, t.header,
		)
	}
	r := &Register{Encoding: t.encoding, Delimiter: string(t.delimiter), Unused: unused, header: t.header, order: o.Dates}
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
	seen := map[string]int{}
	for _, l := range t.lines {
		row := Row{Line: l.number, cells: l.cells, text: map[string]string{}, at: at, header: t.header}
		for _, f := range fields {
			v := o.Set[f.name]
			if k, ok := at[f.name]; ok && k < len(l.cells) && l.cells[k] != "" {
				v = l.cells[k]
			}
			row.text[f.name] = v
		}
		if len(l.cells) != len(t.header) {
			row.bad("has %d cells, the header has %d", len(l.cells), len(t.header))
		}
		row.read(mark, o.Dates)
		if first, twice := seen[row.Tag]; twice && row.Tag != "" {
			row.wrong("tag", "the tag %s stands in line %d too", row.Tag, first)
		} else {
			seen[row.Tag] = l.number
		}
		r.Rows = append(r.Rows, row)
	}
	return r, nil
}

var numbers = []string{"range", "low", "high", "resolution", "class", "percent", "volume", "weakest", "set_point", "set_tolerance", "dead_band", "set_point_2", "set_tolerance_2", "dead_band_2", "marked",
	"requested", "coincident_temperature"}

func (r *Register) mark(t *table, at map[string]int, decimal string) (byte, error) {
	switch r.Decimal = decimal; decimal {
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
		return 0, fmt.Errorf(
			"%w: %d numbers have a decimal comma and %d a decimal point; say --decimal comma or --decimal point",
			ErrFile, m.comma, m.point,
		)
	case m.comma > 0:
		r.Decimal = "comma"
		return ',', nil
	case m.point > 0:
		r.Decimal = "point"
		return '.', nil
	}
	return 0, nil
}

func (row *Row) bad(format string, args ...any) {
	row.Problems = append(row.Problems, fmt.Sprintf(format, args...))
}

func (row *Row) put(field string, value any) {
	row.set = append(row.set, plant.Set{Field: field, Value: value})
}

// read takes what the row says; every problem is kept, not only the first.
func (row *Row) read(mark byte, order string) {
	row.Tag = row.text["tag"]
	switch {
	case row.Tag == "":
		row.wrong("tag", "has no tag")
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
		row.bad("has no resolution; a column for it, or --set resolution=…")
	} else if n, err := number(v, mark); err != nil {
		row.wrong("resolution", "%v", err)
	} else if strings.Trim(n, "-0.") == "" || strings.HasPrefix(n, "-") {
		row.wrong("resolution", "the resolution %s is not above zero", n)
	} else {
		row.put("resolution", n)
	}
	if v := row.text["interval_months"]; v != "" {
		first, _, _ := strings.Cut(strings.TrimSpace(v), " ")
		n, err := strconv.Atoi(first)
		if err != nil || n < 1 || n > visit.MostMonths {
			row.wrong("interval_months", "the interval %q is not a number of months from 1 to %d", v, visit.MostMonths)
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
	switch v := strings.ToLower(row.text["status"]); v {
	case "", "in service", "in use", "active", "yes", "ok", "in betrieb", "aktiv", "en service":
		row.put("status", "in service")
	case "out of service", "inactive", "spare", "no", "removed", "außer betrieb", "inaktiv", "hors service":
		row.put("status", "out of service")
	default:
		row.wrong("status", "the status %q is neither in service nor out of service", v)
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

// Check compares the rows with the records that are here: no tag twice, every site and method
// known.
func (r *Register) Check(src plant.Source, newSites bool) error {
	sites, methods := map[string][]merge.State{}, map[string][]merge.State{}
	r.NewSites = nil
	for i := range r.Rows {
		row := &r.Rows[i]
		if row.Tag != "" {
			found, err := src.Lookup("instrument", "tag", row.Tag)
			if err != nil {
				return err
			}
			if len(found) > 0 {
				row.wrong("tag", "an instrument with the tag %s is here already", row.Tag)
			}
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
			row.wrong("site", "the site %q is not known; --new-sites makes it", row.site)
		case !slices.Contains(r.NewSites, row.site):
			r.NewSites = append(r.NewSites, row.site)
		}
		if here, err = lookup(src, methods, "method", "name", row.methodName); err != nil {
			return err
		}
		if err := row.takeMethod(here); err != nil {
			return err
		}
	}
	return nil
}

// takeMethod takes the row's method of those that have its name, and holds a row that is good so
// far against it.
func (row *Row) takeMethod(here []merge.State) error {
	switch {
	case row.methodName == "":
		return row.likely()
	case len(here) == 0:
		row.wrong("method", "the method %q is not known", row.methodName)
		return nil
	}
	method, err := row.chosen(here)
	if err != nil || method == nil {
		return err
	}
	row.put("method", method.ID)
	if len(row.Problems) > 0 {
		return nil
	}
	return row.fits(*method)
}

// lookup finds the records that have a value in a field, each value once in the store.
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

// listed writes the ids of records, by which the office finds them.
func listed(states []merge.State) string {
	var ids []string
	for _, s := range states {
		ids = append(ids, s.ID)
	}
	return strings.Join(ids, ", ")
}

// Good and Bad count the rows.
func (r *Register) Good() int { return len(r.Rows) - r.Bad() }

// Bad counts the rows with a problem.
func (r *Register) Bad() (n int) {
	for i := range r.Rows {
		if len(r.Rows[i].Problems) > 0 {
			n++
		}
	}
	return n
}

// ErrBadRows is returned when there are rows with problems.
var ErrBadRows = errors.New("some rows are not good")

// Changes makes a change for every good row, and for every new site.
func (r *Register) Changes(pen *plant.Pen, at time.Time) ([]change.Change, error) {
	var list []change.Change
	sites := map[string]string{}
	keep := func(c change.Change, s merge.State, err error) (string, error) {
		list = append(list, c)
		return s.ID, err
	}
	for _, code := range r.NewSites {
		id, err := keep(
			pen.New("site", "", "", at, plant.Set{Field: "code", Value: code}, plant.Set{Field: "name", Value: code}),
		)
		if err != nil {
			return nil, err
		}
		sites[code] = id
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		if len(row.Problems) > 0 {
			continue
		}
		label, err := change.NewID(pen.Random)
		if err != nil {
			return nil, err
		}
		const labelLength = 10 // 50 bits: a million labels share one with a chance below one in two thousand
		site := row.siteID
		if site == "" {
			site = sites[row.site]
		}
		set := append(slices.Clone(row.set), plant.Set{Field: "label", Value: label[:labelLength]})
		if _, err := keep(pen.New("instrument", site, "", at, set...)); err != nil {
			return nil, fmt.Errorf("line %d: %w", row.Line, err)
		}
	}
	return list, nil
}

// Report writes what was understood, and every row with what is wrong with it; all says to list the
// good rows too.
func (r *Register) Report(w io.Writer, all bool) error {
	decimal := r.Decimal
	if decimal == "" {
		decimal = "not told by any number"
	}
	name := map[string]string{",": "comma", ";": "semicolon", "\t": "tab"}[r.Delimiter]
	var err error
	say := func(format string, args ...any) {
		if err == nil {
			_, err = fmt.Fprintf(w, format, args...)
		}
	}
	say("%s, parted by %s, decimal mark: %s\n", r.Encoding, name, decimal)
	for _, c := range r.Columns {
		say("  %s\n", c)
	}
	if len(r.Unused) > 0 {
		say("  not used: %s\n", strings.Join(r.Unused, ", "))
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		switch {
		case len(row.Problems) > 0:
			say("line %d  %s  BAD  %s\n", row.Line, row.Tag, strings.Join(row.Problems, "; "))
		case all:
			say("line %d  %s  good\n", row.Line, row.Tag)
		}
	}
	for _, s := range r.NewSites {
		say("new site %s\n", s)
	}
	say("%d rows: %d good, %d bad\n", len(r.Rows), r.Good(), r.Bad())
	return err
}

// LeftOut writes the bad rows as a table of the same columns, with a last one that says what is
// wrong.
func (r *Register) LeftOut(w io.Writer) error {
	out := csv.NewWriter(w)
	if r.Delimiter != "" {
		out.Comma = rune(r.Delimiter[0])
	}
	if err := out.Write(append(slices.Clone(r.header), "problem")); err != nil {
		return err
	}
	for i := range r.Rows {
		row := &r.Rows[i]
		if len(row.Problems) == 0 {
			continue
		}
		cells := slices.Clone(row.cells)
		for len(cells) < len(r.header) {
			cells = append(cells, "")
		}
		if err := out.Write(append(cells, fmt.Sprintf("line %d: %s", row.Line, strings.Join(row.Problems, "; ")))); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
