package office

import (
	"cmp"
	"errors"
	"iter"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
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
	loading   *loading // while the records are read for the first time
	patience  time.Duration
	after     map[string]string // while records are first read: the last one of each kind
	cursor    uint64            // the journal's entries that the lists know
	keptAt    uint64            // those that the index knew when it was kept last
	visits    visitList
	of        map[string][]uint32   // by instrument: its visits
	days      map[int32][]uint32    // by day: those that were begun or signed on it
	open      map[uint32]*visitCard // those that somebody has to see to
	used      map[string][]uint32   // by standard: those that were measured with it
	gauges    map[string]*card
	methods   map[string]methodCard
	orders    orders
	unkept    map[string]bool // instruments and visits that changed since the index was kept
	values    [columns]values
	words     words
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
	return &Index{store: s, now: now, visits: newVisitList(), of: map[string][]uint32{},
		days: map[int32][]uint32{}, open: map[uint32]*visitCard{}, used: map[string][]uint32{},
		gauges: map[string]*card{}, methods: map[string]methodCard{}, unkept: map[string]bool{},
		words: newWords(), rows: newRows(), patience: firstPatience}
}

// follow brings the lists up to the journal's end; mu must be held.
func (x *Index) follow() error {
	if !x.loaded {
		if err := x.begin(); err != nil {
			return err
		}
	}
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
			x.read(s)()
		}
	}
	x.cursor = from // set after the records, so that one that cannot be read now is read again
	x.keep()
	return nil
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

// word returns the shared copy of a text that many records have.
func (x *Index) word(text string) string { return x.words.one(text) }

func (x *Index) putVisit(v visitCard) {
	n, known := x.visits.find(v.id)
	var e *visitEntry
	var before visitEntry
	var used []string
	if known {
		e = x.visits.at(n)
		before, used = *e, x.standardsOf(e)
	} else {
		n, e = x.visits.add(v.id)
		before = *e
		if e.instrument = x.words.number(v.instrument); v.instrument != "" {
			of := x.word(v.instrument)
			x.of[of] = append(x.of[of], n)
		}
	}
	x.pack(e, &v)
	move(x.days, n, before.days(), e.days())
	move(x.used, n, used, x.standardsOf(e))
	if delete(x.open, n); v.waits() {
		x.open[n] = x.visit(n)
	}
	if c := x.gauges[x.words.texts[e.instrument]]; c != nil && x.loaded {
		before := c.Gauge
		x.complete(c)
		if c.Verdict != before.Verdict || c.Tested != before.Tested {
			x.orders.moved(c.ID)
		}
	}
}

// move takes a visit off the lists that it was on and puts it on those where it belongs.
func move[K comparable](lists map[K][]uint32, visit uint32, was, are []K) {
	for _, name := range was {
		if !slices.Contains(are, name) {
			lists[name] = slices.DeleteFunc(lists[name], func(n uint32) bool { return n == visit })
		}
	}
	for _, name := range are {
		if !slices.Contains(was, name) {
			lists[name] = append(lists[name], visit)
		}
	}
}

func (x *Index) putGauge(c *card) {
	for _, of := range []*string{
		&c.ID, &c.Site, &c.Description, &c.Kind, &c.Manufacturer, &c.Model, &c.Area, &c.Place,
		&c.Due, &c.Status, &c.facts.Method, &c.Medium, &c.reach,
	} {
		*of = x.word(*of)
	}
	if x.gauges[c.ID] = c; x.loaded {
		x.complete(c)
	}
	x.orders.moved(c.ID)
}

func (x *Index) putMethod(id string, m methodCard) {
	x.methods[id] = m
	x.orders.forget()
	for _, c := range x.gauges {
		if c.facts.Method == id && x.loaded {
			x.complete(c)
		}
	}
	x.served.forget()
	x.minutes = nil
}

// complete adds to an instrument what other records say about it. That is done for all at once when
// the records are loaded.
func (x *Index) complete(c *card) {
	c.Gauge.Method = x.methods[c.facts.Method].name
	c.Verdict, c.Tested = "", ""
	if last := x.last(c.ID); last != nil {
		c.Verdict, c.Tested = x.words.texts[last.verdict], x.word(dayText(last.begun))
	}
	for i := range filters {
		c.values[i] = x.values[i].number(filters[i].of(c))
	}
}

// last returns the latest visit to an instrument that has a result as found, or nil.
func (x *Index) last(instrument string) (last *visitEntry) {
	for _, n := range x.of[instrument] {
		e := x.visits.at(n)
		if e.verdict != 0 && (last == nil || x.words.order(e.started, last.started) >= 0) {
			last = e
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

// cardsOf returns the cards of some visits.
func (x *Index) cardsOf(numbers []uint32) iter.Seq[*visitCard] {
	return func(yield func(*visitCard) bool) {
		for _, n := range numbers {
			if !yield(x.visit(n)) {
				return
			}
		}
	}
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
	of := x.days[dayIn(date)]
	today = firstOf(x.cardsOf(of), max(1, len(of)), order)
	var others []*visitCard
	for _, c := range x.open {
		if (c.status == plant.Signed || c.damaged) && c.begun != date && c.ended != date {
			others = append(others, c)
		}
	}
	waiting = firstOf(slices.Values(others), maxWaiting, order)
	return today, waiting, len(others) - len(waiting), nil
}
