package office

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"
	"unique"

	"gaugewright/calc/units"
	"gaugewright/server/plant"
	"gaugewright/sync/merge"
)

// InService is the status of an instrument that is tested; "" is of earlier versions.
const InService = "in service"

// methodCard is a method as lists of instruments know it.
type methodCard struct {
	name       string
	definition json.RawMessage
	cautions   []string
}

// facts are what an index keeps of an instrument between starts; the rest of a card follows from
// them.
type facts struct {
	Gauge
	Aliases       []string
	Method        string // id
	Medium, Wants string // Wants: its fields that say which standard serves it, as JSON
	Sends         bool
}

// card is an instrument as lists know it.
type card struct {
	*facts
	texts
	names []string // the tag and the aliases, in small letters
	order string   // the tag, for sorting
	reach string   // the range as lists name it: 0 … 10 bar
	high  float64  // the upper end of the range in SI
	unit  *units.Unit
	wants unique.Handle[string]
}

// readFacts takes what lists show of an instrument; a damaged one is listed with what could be
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
			Manufacturer: v.Manufacturer, Model: v.Model, Range: v.Range, Area: v.Area, Place: v.Place,
			Due: v.Due[:min(len(v.Due), len("2006-01-02"))], IntervalMonths: v.IntervalMonths,
			Status: v.Status, Label: v.Label, Limit: v.Limit, Contested: v.Contested, Damaged: err != nil,
		},
		Aliases: v.Aliases, Method: v.Method, Medium: v.Medium, Wants: wantsOf(&s), Sends: sends,
	}
}

func newCard(f *facts) *card {
	c := &card{facts: f, order: natural(f.Tag), wants: unique.Make(f.Wants)}
	f.Wants = c.wants.Value() // one copy of what many have
	for _, name := range append([]string{f.Tag}, f.Aliases...) {
		c.names = append(c.names, strings.ToLower(name))
	}
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
	c.packed, c.letters = strings.Join(short, " "), lettersOf(c.words)
	if u, ok := units.Find(f.Range.Unit); ok {
		if h, err := strconv.ParseFloat(high, 64); err == nil {
			c.high, c.unit = u.ToSI(h), &u
		}
	}
	return c
}

// overdue says whether it should have been tested before a day.
func (c *card) overdue(today string) bool {
	return c.Due != "" && c.Due < today && c.Status == InService
}

// asks are the fields of an instrument that decide which standard serves it.
var asks = []string{
	"kind", "range", "resolution", "limit", "output", "repeatability_percent", "medium", "cautions",
	"temperature_coefficient_percent_per_k", "reference_temperature_c", "particulars",
}

func wantsOf(s *merge.State) string {
	var b strings.Builder
	b.WriteByte('{')
	for _, name := range asks {
		v, ok := s.Value(name)
		if !ok || string(v) == "null" {
			continue
		}
		if b.Len() > 1 {
			b.WriteByte(',')
		}
		b.WriteString(strconv.Quote(name))
		b.WriteByte(':')
		b.Write(v)
	}
	b.WriteByte('}')
	return b.String()
}

// place is the place of a card in the order of tags.
func (c *card) place() string { return c.Tag + "\n" + c.ID }

// turn is the place of a card in a table that is sorted by tag.
func (c *card) turn() string { return c.order + "\x00" + c.ID }

// search lists the instruments that answer a text, by tag, after a place that an earlier answer
// named ("": from the first), and the place to go on from ("": that was all).
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
		if after != "" && c.place() == after || wanted.fits(&c.texts, c.overdue(today)) != sureFit {
			continue
		}
		if len(found) == most {
			return found, next, nil
		}
		found, next = append(found, c.Gauge), c.place()
	}
	return found, "", nil
}

// named lists the instruments that go by a name, as their tag or as an alias, in whatever letters.
func (x *Index) named(name string, most int) (found []Gauge, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	for _, c := range x.gauges {
		if slices.Contains(c.names, strings.ToLower(name)) {
			found = append(found, c.Gauge)
		}
	}
	slices.SortFunc(found, func(a, b Gauge) int { return strings.Compare(a.ID, b.ID) })
	return found[:min(len(found), most)], nil
}
