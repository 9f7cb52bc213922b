package office

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"golang.org/x/sync/errgroup"
)

// Index lists visits by day, and instruments by everything a register is searched, filtered and
// sorted by. It is in memory and follows the journal.
type Index struct {
	store *store.Store
	now   func() time.Time

	mu sync.Mutex // held by whoever reads the lists
	// preparing is held, without mu, while it is asked which standards serve what.
	preparing sync.Mutex
	loaded    bool
	cursor    uint64 // the journal's entries that the lists know
	keptAt    uint64 // those that the index knew when it was kept last
	visits    map[string]*visitCard
	of        map[string][]*visitCard // by instrument: its visits
	days      map[string][]*visitCard // by day: those that were begun or signed on it
	open      map[string]*visitCard   // those that somebody has to see to
	used      map[string][]*visitCard // by standard: those that were measured with it
	gauges    map[string]*card
	methods   map[string]methodCard
	orders    orders
	unkept    map[string]bool // instruments and visits that changed since the index was kept
	values    [columns]values
	words     map[string]string // one copy of what many records say
	served    served
	rows      *rows
	minutes   map[demand]int // what a test takes by its plan; 0 where it cannot be laid out
}

type visitCard struct {
	id, instrument, started, signed string // started and signed are moments
	status                          plant.Status
	verdict                         string // as found, "" if there is none
	left                            string // as left, "" if there is none
	person                          string
	standards                       []string // ids of the standards used
	open                            bool     // a failure is open after it
	damaged                         bool
	begun, ended                    string // the days of started and signed
}

// waits reports whether a visit needs attention.
func (v *visitCard) waits() bool {
	return v.damaged || v.status == plant.Signed || v.status == plant.Returned || v.status == plant.Reopened
}

// followed are the kinds of record in the lists; a standard says what it serves.
var followed = []string{"method", "visit", "instrument", "standard"}

// piece is how many entries or records are read at once, in one short read transaction.
const piece = 500

// NewIndex returns an index of a store. It reads the records when it is first used, and takes its
// calendar from now.
func NewIndex(s *store.Store, now func() time.Time) *Index {
	return &Index{store: s, now: now, visits: map[string]*visitCard{}, of: map[string][]*visitCard{},
		days: map[string][]*visitCard{}, open: map[string]*visitCard{}, used: map[string][]*visitCard{},
		gauges: map[string]*card{}, methods: map[string]methodCard{}, unkept: map[string]bool{},
		words: map[string]string{}, rows: newRows()}
}

// follow brings the lists up to the journal's end; mu must be held.
func (x *Index) follow() error {
	if !x.loaded && !x.recall() {
		if err := x.load(); err != nil {
			return err
		}
	}
	x.loaded = true
	from, touched := x.cursor, map[string]string{}
	for {
		_, last, err := x.store.Piece(from, store.Bounds{Scan: piece}, func(c *change.Change) (bool, error) {
			x.rows.moved(c.Record)
			x.rows.moved(c.Parent)
			if slices.Contains(followed, c.Kind) {
				touched[strings.Clone(c.Record)] = x.word(c.Kind)
			}
			return false, nil
		})
		if err != nil {
			return err
		}
		if last == from {
			break
		}
		from = last
	}
	for id := range touched {
		s, ok, err := x.store.Record(id)
		if errors.Is(err, store.ErrDamaged) { // it is shown as damaged and hides no other
			s, ok, err = merge.State{ID: id, Kind: touched[id], Damaged: err.Error()}, true, nil
		}
		if err != nil {
			return err
		}
		if ok {
			x.take(s)
		}
	}
	x.cursor = from // set after the records, so that one that cannot be read now is read again
	x.keep()
	return nil
}

// load reads the records of the lists, several kinds at a time.
func (x *Index) load() error {
	last, err := x.store.Last()
	if err != nil {
		return err
	}
	x.cursor = last // what arrives while the records are read is read again
	var taking sync.Mutex
	var all errgroup.Group
	for _, kind := range followed {
		all.Go(func() error {
			for after := ""; ; {
				states, err := x.store.ByKind(kind, after, piece)
				if err != nil || len(states) == 0 {
					return err
				}
				after = states[len(states)-1].ID
				put := make([]func(), 0, len(states))
				for _, s := range states {
					put = append(put, x.read(s))
				}
				taking.Lock()
				for _, p := range put {
					p()
				}
				taking.Unlock()
			}
		})
	}
	return all.Wait()
}

// read reads a record for its list, and returns the function that puts it there.
func (x *Index) read(s merge.State) (put func()) {
	// Its ids are substrings of the whole change, which would stay in memory with them.
	s.ID, s.Parent = strings.Clone(s.ID), strings.Clone(s.Parent)
	switch s.Kind {
	case "visit":
		v, err := plant.ReadVisit(s)
		one := visitCard{
			id: s.ID, instrument: s.Parent, started: v.Started, status: v.Status, damaged: err != nil,
		}
		if v.Signature != nil {
			one.signed = v.Signature.At
		}
		if v.Summary.AsFound != nil {
			one.verdict = v.Summary.AsFound.Verdict
		}
		if v.Summary.AsLeft != nil {
			one.left = v.Summary.AsLeft.Verdict
		}
		one.person, one.open = v.Person, v.Summary.After != nil && v.Summary.After.Open
		for _, role := range plant.Roles {
			if u := v.UsedAs(role); u != nil && !slices.Contains(one.standards, u.ID) {
				one.standards = append(one.standards, u.ID)
			}
		}
		return func() { x.putVisit(one); x.unkept[one.id] = true }
	case "instrument":
		c := newCard(readFacts(s))
		return func() { x.putGauge(c); x.unkept[c.ID] = true }
	case "method":
		m, _ := plant.ReadMethod(s) // an unreadable one is listed by its name, if that can be read
		return func() { x.putMethod(s.ID, methodCard{m.Name, m.Definition, m.Cautions}) }
	}
	return x.served.forget
}

// take puts a record on its list.
func (x *Index) take(s merge.State) { x.read(s)() }

// word returns the shared copy of a text that many records have.
func (x *Index) word(text string) string {
	if one, known := x.words[text]; known {
		return one
	}
	text = strings.Clone(text)
	x.words[text] = text
	return text
}

func (x *Index) putVisit(v visitCard) {
	for _, of := range []*string{&v.verdict, &v.left, &v.person, (*string)(&v.status)} {
		*of = x.word(*of)
	}
	for i := range v.standards {
		v.standards[i] = x.word(v.standards[i])
	}
	v.begun, v.ended = x.word(x.date(v.started)), x.word(x.date(v.signed))
	one := x.visits[v.id]
	if one == nil {
		one = &visitCard{}
		x.visits[v.id] = one
		if v.instrument != "" {
			if c := x.gauges[v.instrument]; c != nil {
				v.instrument = c.ID
			}
			x.of[v.instrument] = append(x.of[v.instrument], one)
		}
	} else {
		v.instrument = one.instrument
	}
	before := *one
	*one = v
	for _, of := range []struct {
		lists    map[string][]*visitCard
		was, are []string
	}{
		{x.days, before.dates(), v.dates()}, {x.used, before.standards, v.standards},
	} {
		for _, name := range of.was {
			if !slices.Contains(of.are, name) {
				of.lists[name] = slices.DeleteFunc(of.lists[name], func(c *visitCard) bool { return c == one })
			}
		}
		for _, name := range of.are {
			if !slices.Contains(of.was, name) {
				of.lists[name] = append(of.lists[name], one)
			}
		}
	}
	if delete(x.open, v.id); v.waits() {
		x.open[v.id] = one
	}
	if c := x.gauges[v.instrument]; c != nil {
		before := c.Gauge
		x.complete(c)
		if c.Verdict != before.Verdict || c.Tested != before.Tested {
			x.orders.moved(c.ID)
		}
	}
}

// dates returns the days on which a visit began and was signed.
func (v *visitCard) dates() (list []string) {
	if v.begun != "" {
		list = append(list, v.begun)
	}
	if v.ended != "" && v.ended != v.begun {
		list = append(list, v.ended)
	}
	return list
}

func (x *Index) putGauge(c *card) {
	for _, of := range []*string{
		&c.Description, &c.Kind, &c.Manufacturer, &c.Model, &c.Range.Unit, &c.Range.Mode, &c.Area, &c.Place,
		&c.Due, &c.Status, &c.facts.Method, &c.Medium, &c.reach,
	} {
		*of = x.word(*of)
	}
	x.complete(c)
	x.gauges[c.ID] = c
	x.orders.moved(c.ID)
}

func (x *Index) putMethod(id string, m methodCard) {
	x.methods[id] = m
	x.orders.forget()
	for _, c := range x.gauges {
		if c.facts.Method == id {
			x.complete(c)
		}
	}
	x.served.forget()
	x.minutes = nil
}

// complete adds to an instrument what other records say about it.
func (x *Index) complete(c *card) {
	c.Gauge.Method = x.methods[c.facts.Method].name
	c.Verdict, c.Tested = "", ""
	if last := x.last(c.ID); last != nil {
		c.Verdict, c.Tested = last.verdict, last.begun
	}
	for i := range filters {
		c.values[i] = x.values[i].number(filters[i].of(c))
	}
}

// last returns the latest visit to an instrument that has a result as found, or nil.
func (x *Index) last(instrument string) (last *visitCard) {
	for _, v := range x.of[instrument] {
		if v.verdict != "" && (last == nil || v.started >= last.started) {
			last = v
		}
	}
	return last
}

// date returns the day of a moment in the office's calendar, or "".
func (x *Index) date(moment string) string {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return ""
	}
	return t.In(x.now().Location()).Format(time.DateOnly)
}

// day lists the visits that began or were signed on a date, ordered by when they began, and the
// signed ones of other days that wait for the office, at most maxWaiting. more is how many of these
// are not listed.
func (x *Index) day(date string) (today, waiting []visitCard, more int, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, nil, 0, err
	}
	order := func(a, b *visitCard) int {
		return cmp.Or(strings.Compare(a.started, b.started), strings.Compare(a.id, b.id))
	}
	today = firstOf(slices.Values(x.days[date]), max(1, len(x.days[date])), order)
	var others []*visitCard
	for _, c := range x.open {
		if (c.status == plant.Signed || c.damaged) && c.begun != date && c.ended != date {
			others = append(others, c)
		}
	}
	waiting = firstOf(slices.Values(others), maxWaiting, order)
	return today, waiting, len(others) - len(waiting), nil
}
