package office

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"gaugewright/calc/document"
	"gaugewright/calc/units"
)

// Query selects and sorts instruments of the register.
type Query struct {
	Text     string
	Only     map[string][]string // the values that a column of filters may have, "" for none
	Sites    []string            // ids of the sites it is at; none for all
	Due      string              // "overdue", "none", or the day by which it is due
	Unit     string              // of AtLeast and AtMost
	AtLeast  string              // the upper end of the range is at least this
	AtMost   string              // and at most this
	Standard string              // the id of a standard that serves it; NoStandard: none does
	Sort     string              // a column of sorts; "": tag
	Down     bool                // descending; rows without a value come last either way
	From     int                 // how many rows to skip
	After    string              // the place to continue from, as an earlier answer gave it; only when sorted by tag
	Most     int                 // how many rows to return; below 0: all
	IDs      bool                // return the ids of everything found
}

// Count is how many instruments have a value.
type Count struct {
	Value string `json:"value"`
	Count int    `json:"count"`
}

// Table is a page of the register.
type Table struct {
	Rows   []Gauge            `json:"rows"`
	Found  int                `json:"found"` // how many the query finds
	All    int                `json:"all"`   // how many there are
	Next   string             `json:"-"`     // the place to continue from, "" at the end
	IDs    []string           `json:"ids,omitempty"`
	Near   bool               `json:"near"`   // nothing matches as typed; these match apart from a slip
	Values map[string][]Count `json:"values"` // by filter: the values that could be chosen
}

// filter is a column by whose values the register can be filtered.
type filter struct {
	name string
	of   func(c *card) string
}

// columns is how many filter columns there are.
const columns = 7

var filters = [columns]filter{
	{"area", func(c *card) string { return c.Area }},
	{"kind", func(c *card) string { return c.Kind }},
	{"range", func(c *card) string { return c.reach }},
	{"manufacturer", func(c *card) string { return c.Manufacturer }},
	{"method", func(c *card) string { return c.Gauge.Method }},
	{"status", func(c *card) string { return c.Status }},
	{"verdict", func(c *card) string { return c.Verdict }},
}

// values are the values of a filter column; cards refer to them by number.
type values struct {
	names   []string
	numbers map[string]uint32
}

func (v *values) number(name string) uint32 {
	n, known := v.numbers[name]
	if !known {
		if v.numbers == nil {
			v.numbers = map[string]uint32{}
		}
		n = uint32(len(v.names))
		v.names, v.numbers[name] = append(v.names, name), n
	}
	return n
}

// Filters names the columns that can be filtered by value.
func Filters() (names []string) {
	for _, f := range filters {
		names = append(names, f.name)
	}
	return names
}

// key is what a row is sorted by.
type key struct {
	none   bool
	number float64
	text   string
}

func byText(s string) key { return key{none: s == "", text: natural(s)} }

func byNumber(n float64) key { return key{none: n == 0, number: n} }

// severity sorts failures first.
var severity = map[string]float64{
	"fail": 1, "conditional-fail": 2, "undecided": 3, "conditional-pass": 4, "pass": 5,
}

// sorts are the columns by which a register can be sorted.
var sorts = map[string]func(c *card) key{
	"tag":             func(c *card) key { return key{text: c.order} },
	"serial":          func(c *card) key { return byText(c.Serial) },
	"description":     func(c *card) key { return byText(c.Description) },
	"kind":            func(c *card) key { return byText(c.Kind) },
	"manufacturer":    func(c *card) key { return byText(c.Manufacturer) },
	"model":           func(c *card) key { return byText(c.Model) },
	"range":           func(c *card) key { return key{none: c.unit == nil, number: c.high} },
	"area":            func(c *card) key { return byText(c.Area) },
	"place":           func(c *card) key { return byText(c.Place) },
	"method":          func(c *card) key { return byText(c.Gauge.Method) },
	"interval_months": func(c *card) key { return byNumber(float64(c.IntervalMonths)) },
	"due":             func(c *card) key { return key{none: c.Due == "", text: c.Due} },
	"status":          func(c *card) key { return byText(c.Status) },
	"tested":          func(c *card) key { return key{none: c.Tested == "", text: c.Tested} },
	"verdict":         func(c *card) key { return byNumber(severity[c.Verdict]) },
}

// sieve is one condition of a query; at is its index in filters, or -1.
type sieve struct {
	at   int
	lets func(*card) bool
}

// Table returns a page of the register: what a query finds, in its order, with the values that each
// filter could have instead.
//
// Refuses: a Fault that names the part of the query.
func (o *Office) Table(q Query) (t Table, err error) { return o.index.table(q) }

func (x *Index) table(q Query) (t Table, err error) {
	if q.Standard != "" {
		if err := x.prepare(); err != nil {
			return t, err
		}
	}
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return t, err
	}
	if q.Sort == "" {
		q.Sort = "tag"
	}
	if sorts[q.Sort] == nil {
		return t, document.Refuse(
			document.CodeRange, "sort", strconv.Quote(q.Sort)+" is no column to sort by",
		)
	}
	if q.After != "" && (q.Sort != "tag" || q.Down) {
		return t, document.Refuse(document.CodeConflict, "sort", "a table that goes on is sorted by tag")
	}
	sieves, err := x.sieves(&q)
	if err != nil {
		return t, err
	}
	t.All = len(x.gauges)
	list, s := x.sorted(order{q.Sort, q.Down}), newSearch(q.Text)
	found, counts := x.sift(list, sieves, s, sureFit)
	if len(found) == 0 && !s.empty() {
		found, counts = x.sift(list, sieves, s, nearFit)
		t.Near = len(found) > 0
	}
	t.Found, t.Rows, t.Values = len(found), []Gauge{}, map[string][]Count{}
	if q.After != "" {
		q.From, _ = slices.BinarySearchFunc(found, q.After, func(c *card, at string) int {
			return cmp.Or(strings.Compare(c.turn(), at), -1)
		})
	}
	for _, c := range found[min(max(q.From, 0), len(found)):] {
		if len(t.Rows) == q.Most {
			break
		}
		t.Rows, t.Next = append(t.Rows, c.Gauge), c.turn()
	}
	if len(t.Rows) == 0 || t.Next == found[len(found)-1].turn() {
		t.Next = ""
	}
	if q.IDs {
		for _, c := range found {
			t.IDs = append(t.IDs, c.ID)
		}
	}
	for i, f := range filters {
		values := []Count{}
		for v, n := range counts[i] {
			if n > 0 {
				values = append(values, Count{x.values[i].names[v], n})
			}
		}
		slices.SortFunc(values, func(a, b Count) int {
			return strings.Compare(natural(a.Value), natural(b.Value))
		})
		t.Values[f.name] = values
	}
	return t, nil
}

// sift lists what matches a search well enough and passes every sieve. For each filter it also
// counts what would pass without it.
func (x *Index) sift(
	list []*card, sieves []sieve, s *search, enough fit,
) (found []*card, counts [columns][]int) {
	today := x.now().Format(time.DateOnly)
	for i := range counts {
		counts[i] = make([]int, len(x.values[i].names))
	}
	for _, c := range list {
		if s.fits(&c.texts, c.overdue(today), enough) < enough {
			continue
		}
		held, by := 0, -1
		for _, one := range sieves {
			if !one.lets(c) {
				held++
				by = one.at
			}
		}
		if held == 0 {
			found = append(found, c)
		}
		for i, v := range c.values {
			if held == 0 || held == 1 && by == i {
				counts[i][v]++
			}
		}
	}
	return found, counts
}

func (x *Index) sieves(q *Query) (list []sieve, err error) {
	for i, f := range filters {
		if values := q.Only[f.name]; len(values) > 0 {
			let := make([]bool, len(x.values[i].names))
			for _, v := range values {
				if n, known := x.values[i].numbers[v]; known {
					let[n] = true
				}
			}
			list = append(list, sieve{i, func(c *card) bool { return let[c.values[i]] }})
		}
	}
	if len(q.Sites) > 0 {
		list = append(list, sieve{-1, func(c *card) bool { return slices.Contains(q.Sites, c.Site) }})
	}
	today := x.now().Format(time.DateOnly)
	switch q.Due {
	case "":
	case "overdue":
		list = append(list, sieve{-1, func(c *card) bool { return c.overdue(today) }})
	case "none":
		list = append(list, sieve{-1, func(c *card) bool { return c.Due == "" }})
	default:
		if _, err := time.Parse(time.DateOnly, q.Due); err != nil {
			return nil, fmt.Errorf("due: %w", ErrDate)
		}
		list = append(list, sieve{-1, func(c *card) bool { return c.Due != "" && c.Due <= q.Due }})
	}
	if q.AtLeast != "" || q.AtMost != "" {
		low, err := inSI("at_least", q.AtLeast, q.Unit, math.Inf(-1))
		if err != nil {
			return nil, err
		}
		high, err := inSI("at_most", q.AtMost, q.Unit, math.Inf(1))
		if err != nil {
			return nil, err
		}
		u, _ := units.Find(q.Unit)
		list = append(list, sieve{-1, func(c *card) bool {
			return c.unit != nil && c.unit.Kind == u.Kind && c.high >= low && c.high <= high
		}})
	}
	if q.Standard != "" {
		serves, err := x.serving(q.Standard, today)
		if err != nil {
			return nil, err
		}
		list = append(list, sieve{-1, serves})
	}
	return list, nil
}

// ofSites says whether a site is one of some; none are all.
func ofSites(sites []string, site string) bool {
	return len(sites) == 0 || slices.Contains(sites, site)
}

// slack is how far a number may be off in another unit and is the same end of a range: 1 psi in bar
// and back.
const slack = 1e-9

func inSI(field, text, unit string, otherwise float64) (float64, error) {
	u, ok := units.Find(unit)
	if !ok {
		return 0, document.Refuse(
			document.CodeRange, "unit", strconv.Quote(unit)+" is no unit that is known here",
		)
	}
	if text == "" {
		return otherwise, nil
	}
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
		return 0, document.Refuse(document.CodeNotANumber, field, strconv.Quote(text)+" is not a number")
	}
	at := u.ToSI(n)
	return at + math.Copysign(slack*math.Abs(at), otherwise), nil
}
