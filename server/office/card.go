package office

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unique"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// InService is the status of an instrument that is tested; earlier versions wrote "".
const InService = "in service"

// methodCard is a method in the lists of instruments.
type methodCard struct {
	name       string
	definition json.RawMessage
	cautions   []string
}

// facts are what an index keeps of an instrument between starts. The rest of a card follows from
// them.
type facts struct {
	Gauge
	Aliases       []string
	Method        string // id
	Medium, Wants string // Wants: its fields that say which standard serves it, as JSON
	Sends         bool
}

// card is an instrument in the lists.
type card struct {
	*facts
	texts
	order string  // the tag, for sorting
	reach string  // the range as lists show it: 0 … 10 bar
	high  float64 // the upper end of the range in SI
	unit  *units.Unit
	wants unique.Handle[string]
	// values are the numbers of its values in each filter column.
	values [columns]uint32
}

// readFacts reads what lists show of an instrument. A damaged record is listed with what could be
// read.
func readFacts(s merge.State) *facts {
	v, err := plant.ReadInstrument(s)
	if v.Status == "" {
		v.Status = InService
	}
	output, ok := s.Value("output")
	sends := ok && string(output) != "null"
	kind := v.Kind
	if sends {
		kind = "transmitter"
	}
	return &facts{
		Gauge: Gauge{
			ID: s.ID, Tag: v.Tag, Serial: v.Serial, Description: v.Description, Kind: kind,
			Manufacturer: v.Manufacturer, Model: v.Model, Range: &v.Range, Area: v.Area,
			Site: strings.Clone(s.Site), Place: v.Place,
			Due: v.Due[:min(len(v.Due), len("2006-01-02"))], IntervalMonths: v.IntervalMonths,
			Status: v.Status, Label: v.Label, Limit: &v.Limit, Contested: v.Contested, Damaged: err != nil,
			Orders: slices.DeleteFunc(v.Orders, func(o plant.Ordered) bool { return o.Done != "" }),
		},
		Aliases: v.Aliases, Method: v.Method, Medium: v.Medium, Wants: plant.Wants(&s), Sends: sends,
	}
}

func newCard(f *facts) *card {
	f.Range, f.Limit = shared(&ranges, f.Range), shared(&limits, f.Limit)
	c := &card{facts: f, order: natural(f.Tag), wants: unique.Make(f.Wants)}
	f.Wants = c.wants.Value() // one copy for all instruments with the same value
	low, high := string(f.Range.Low), string(f.Range.High)
	if f.Range.Unit != "" {
		c.reach = low + " … " + high + " " + f.Range.Unit
	}
	kinds := strings.ReplaceAll(f.Kind, "-", " ")
	if f.Sends {
		kinds += " gauge"
	}
	c.words = plain(strings.Join(append([]string{
		f.Tag, f.Serial, f.Description, f.Manufacturer, f.Model, f.Medium, f.Area, f.Place, f.Label,
		kinds, low, high, f.Range.Unit}, f.Aliases...), " "))
	short := []string{packed(f.Tag), packed(f.Serial), packed(low + high + f.Range.Unit)}
	for _, name := range f.Aliases {
		short = append(short, packed(name))
	}
	c.packed = strings.Join(short, " ")
	if u, ok := units.Find(f.Range.Unit); ok {
		if h, err := strconv.ParseFloat(high, 64); err == nil {
			c.high, c.unit = u.ToSI(h), oneUnit(u)
		}
	}
	return c
}

// oneUnit returns the shared copy of a unit that many instruments have.
func oneUnit(u units.Unit) *units.Unit {
	one, _ := unitsOnce.LoadOrStore(u.Name, &u)
	return one.(*units.Unit)
}

var (
	unitsOnce      sync.Map // by name
	ranges, limits sync.Map // by their values
)

// shared returns the one copy of a value, which nobody may change; nil counts as a zero value.
func shared[T comparable](all *sync.Map, v *T) *T {
	if v == nil {
		v = new(T)
	}
	known, ok := all.Load(*v)
	if !ok {
		known, _ = all.LoadOrStore(*v, v)
	}
	return known.(*T)
}

// overdue reports whether the instrument was due before a day.
func (c *card) overdue(today string) bool {
	return c.Due != "" && c.Due < today && c.Status == InService
}

// named reports whether the instrument goes by a name, as its tag or as an alias, in whatever letters.
func (c *card) named(name string) bool {
	return strings.EqualFold(c.Tag, name) ||
		slices.ContainsFunc(c.Aliases, func(alias string) bool { return strings.EqualFold(alias, name) })
}

// place returns the key that orders cards by tag.
func (c *card) place() string { return c.Tag + "\n" + c.ID }

// turn returns the key of a card in a table sorted by tag.
func (c *card) turn() string { return c.order + "\x00" + c.ID }

// search lists the instruments that match a text, ordered by tag, after the place that an earlier
// call returned ("": from the start). It also returns the place to continue from ("": there are no
// more).
func (x *Index) search(text, after string, most int) (found []Gauge, next string, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, "", err
	}
	sorted := x.sorted(order{})
	from, _ := slices.BinarySearchFunc(
		sorted, after, func(c *card, at string) int { return strings.Compare(c.place(), at) },
	)
	wanted, today := newSearch(text), x.now().Format("2006-01-02")
	for _, c := range sorted[from:] {
		if after != "" && c.place() == after || wanted.fits(&c.texts, c.overdue(today), sureFit) != sureFit {
			continue
		}
		if len(found) == most {
			return found, next, nil
		}
		found, next = append(found, c.Gauge), c.place()
	}
	return found, "", nil
}

// named lists the instruments of some sites, of all where none is named, that go by a name, as their tag
// or as an alias, in whatever letters.
func (x *Index) named(name string, sites []string, most int) (found []Gauge, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	for _, c := range x.gauges {
		if ofSites(sites, c.Site) && c.named(name) {
			found = append(found, c.Gauge)
		}
	}
	slices.SortFunc(found, func(a, b Gauge) int { return strings.Compare(a.ID, b.ID) })
	return found[:min(len(found), most)], nil
}
