package office

import (
	"cmp"
	"errors"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"golang.org/x/sync/errgroup"
)

// Index lists visits by day and instruments by what a register is searched, filtered and sorted
// for. It is in memory and follows the journal.
type Index struct {
	store *store.Store
	now   func() time.Time

	mu      sync.Mutex // held by whoever reads the lists
	loaded  bool
	cursor  uint64 // the journal's entries that the lists know
	keptAt  uint64 // those that the index knew when it was kept last
	visits  map[string]visitCard
	of      map[string][]string // by instrument: its visits
	gauges  map[string]*card
	methods map[string]methodCard
	orders  map[order][]*card // as they were sorted; nil after a change
	served  served
	minutes map[demand]int // what a test takes by its plan; 0 where it cannot be laid out
}

type visitCard struct {
	id, instrument, started, signed string // started and signed are moments
	status                          plant.Status
	verdict                         string // as found, "" where there is none
	left                            string // as left, "" where there is none
	person                          string
	standards                       []string // ids of what was measured with
	open                            bool     // a failure is open after it
	damaged                         bool
}

// followed are the kinds of record that the lists are made of; a standard says what it serves.
var followed = []string{"method", "visit", "instrument", "standard"}

// piece is how many entries or records are read at once: each piece is one short read transaction.
const piece = 2000

// NewIndex returns an index of a store; it reads the records when it is first asked. The calendar
// is that of now.
func NewIndex(s *store.Store, now func() time.Time) *Index {
	return &Index{store: s, now: now, visits: map[string]visitCard{}, of: map[string][]string{},
		gauges: map[string]*card{}, methods: map[string]methodCard{}}
}

// follow brings the lists up to the journal's end; mu is held.
func (x *Index) follow() error {
	if !x.loaded && !x.recall() {
		if err := x.load(); err != nil {
			return err
		}
	}
	x.loaded = true
	from, touched := x.cursor, map[string]string{}
	for {
		list, last, err := x.store.Since(from, piece, nil)
		if err != nil {
			return err
		}
		for i := range list {
			if c := &list[i].Change; slices.Contains(followed, c.Kind) {
				touched[c.Record] = c.Kind
			}
		}
		from = last
		if len(list) == 0 {
			break
		}
	}
	for id := range touched {
		s, ok, err := x.store.Record(id)
		if errors.Is(err, store.ErrDamaged) { // it is shown as such and hides no other
			s, ok, err = merge.State{ID: id, Kind: touched[id], Damaged: err.Error()}, true, nil
		}
		if err != nil {
			return err
		}
		if ok {
			x.take(s)
		}
	}
	x.cursor = from // after the records: one that cannot be read now is read again
	x.keep()
	return nil
}

// load reads the records of the lists, several kinds at a time.
func (x *Index) load() error {
	last, err := x.store.Last()
	if err != nil {
		return err
	}
	x.cursor = last // what arrives while the records are read is looked at again
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

// read reads a record for its list, and gives what puts it there.
func (x *Index) read(s merge.State) (put func()) {
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
		return func() { x.putVisit(one) }
	case "instrument":
		c := newCard(readFacts(s))
		return func() { x.putGauge(c) }
	case "method":
		m, _ := plant.ReadMethod(s) // one that cannot be read is listed under its name, if that can
		return func() { x.putMethod(s.ID, methodCard{m.Name, m.Definition, m.Cautions}) }
	}
	return x.served.forget
}

// take puts a record on its list.
func (x *Index) take(s merge.State) { x.read(s)() }

func (x *Index) putVisit(v visitCard) {
	if _, known := x.visits[v.id]; !known && v.instrument != "" {
		x.of[v.instrument] = append(x.of[v.instrument], v.id)
	}
	x.visits[v.id] = v
	if c := x.gauges[v.instrument]; c != nil {
		before := c.Gauge
		x.complete(c)
		if c.Verdict != before.Verdict || c.Tested != before.Tested {
			x.orders = nil
		}
	}
}

func (x *Index) putGauge(c *card) {
	x.complete(c)
	x.gauges[c.ID], x.orders = c, nil
}

func (x *Index) putMethod(id string, m methodCard) {
	x.methods[id], x.orders = m, nil
	for _, c := range x.gauges {
		if c.facts.Method == id {
			x.complete(c)
		}
	}
	x.served.forget()
	x.minutes = nil
}

// complete adds to an instrument what other records say of it.
func (x *Index) complete(c *card) {
	last := x.last(c.ID)
	c.Gauge.Method = x.methods[c.facts.Method].name
	c.Verdict, c.Tested = last.verdict, x.date(last.started)
}

// last is the latest visit to an instrument that has a result as found.
func (x *Index) last(instrument string) (last visitCard) {
	for _, id := range x.of[instrument] {
		if v := x.visits[id]; v.verdict != "" && v.started >= last.started {
			last = v
		}
	}
	return last
}

// date returns the day of a moment on the office's calendar, or "".
func (x *Index) date(moment string) string {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return ""
	}
	return t.In(x.now().Location()).Format(time.DateOnly)
}

// day lists the visits that were begun or signed on a date, by their beginning, and the signed ones
// of other days that wait for the office.
func (x *Index) day(date string) (today, waiting []visitCard, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, nil, err
	}
	for _, c := range x.visits {
		switch {
		case x.date(c.started) == date || x.date(c.signed) == date:
			today = append(today, c)
		case c.status == plant.Signed || c.damaged:
			waiting = append(waiting, c)
		}
	}
	order := func(a, b visitCard) int {
		return cmp.Or(strings.Compare(a.started, b.started), strings.Compare(a.id, b.id))
	}
	slices.SortFunc(today, order)
	slices.SortFunc(waiting, order)
	return today, waiting, nil
}
