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
)

// Index lists visits by day and instruments by tag. It is in memory and follows the journal.
type Index struct {
	store *store.Store
	now   func() time.Time

	mu     sync.Mutex // held by whoever reads the lists
	loaded bool
	cursor uint64 // the journal's entries that the lists know
	visits map[string]visitCard
	gauges map[string]*gaugeCard
	sorted []*gaugeCard // by tag; nil after a change
}

type visitCard struct {
	id, started, signed string // moments
	status              plant.Status
	damaged             bool
}

type gaugeCard struct {
	id, tag, words string   // words: what a search looks in, in small letters
	names          []string // the tag and the aliases, in small letters
}

// piece is how many entries or records are read at once: each piece is one short read transaction.
const piece = 2000

// NewIndex returns an index of a store; it reads the records when it is first asked. The calendar
// is that of now.
func NewIndex(s *store.Store, now func() time.Time) *Index {
	return &Index{store: s, now: now, visits: map[string]visitCard{}, gauges: map[string]*gaugeCard{}}
}

// follow brings the lists up to the journal's end; mu is held.
func (x *Index) follow() error {
	if !x.loaded {
		if err := x.load(); err != nil {
			return err
		}
	}
	from, touched := x.cursor, map[string]string{}
	for {
		list, last, err := x.store.Since(from, piece, nil)
		if err != nil {
			return err
		}
		for i := range list {
			if c := &list[i].Change; c.Kind == "visit" || c.Kind == "instrument" {
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
	return nil
}

func (x *Index) load() error {
	last, err := x.store.Last()
	if err != nil {
		return err
	}
	x.cursor = last // what arrives while the records are read is looked at again
	for _, kind := range []string{"visit", "instrument"} {
		for after := ""; ; {
			states, err := x.store.ByKind(kind, after, piece)
			if err != nil {
				return err
			}
			if len(states) == 0 {
				break
			}
			for _, s := range states {
				x.take(s)
			}
			after = states[len(states)-1].ID
		}
	}
	x.loaded = true
	return nil
}

// take puts a record on its list.
func (x *Index) take(s merge.State) {
	switch s.Kind {
	case "visit":
		v, err := plant.ReadVisit(s)
		card := visitCard{id: s.ID, started: v.Started, status: v.Status, damaged: err != nil}
		if v.Signature != nil {
			card.signed = v.Signature.At
		}
		x.visits[s.ID] = card
	case "instrument":
		v, _ := plant.ReadInstrument(s) // a damaged one is listed with what could be read
		card := gaugeCard{id: s.ID, tag: v.Tag, words: strings.ToLower(strings.Join(append([]string{
			v.Tag, v.Serial, v.Description, v.Manufacturer, v.Model, v.Area, v.Place, v.Label}, v.Aliases...), "\n"))}
		for _, name := range append([]string{v.Tag}, v.Aliases...) {
			card.names = append(card.names, strings.ToLower(name))
		}
		x.gauges[s.ID] = &card
		x.sorted = nil
	}
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

// search lists the instruments that have every word, by tag, after a place that an earlier answer
// named ("": from the first), and the place to go on from ("": that was all).
func (x *Index) search(text, after string, most int) (ids []string, next string, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, "", err
	}
	if x.sorted == nil {
		for _, c := range x.gauges {
			x.sorted = append(x.sorted, c)
		}
		slices.SortFunc(x.sorted, func(a, b *gaugeCard) int { return strings.Compare(a.place(), b.place()) })
	}
	wanted := strings.Fields(strings.ToLower(text))
	from, _ := slices.BinarySearchFunc(
		x.sorted, after, func(c *gaugeCard, at string) int { return strings.Compare(c.place(), at) },
	)
	for _, c := range x.sorted[from:] {
		if after != "" && c.place() == after || slices.ContainsFunc(wanted, func(w string) bool { return !strings.Contains(c.words, w) }) {
			continue
		}
		if len(ids) == most {
			return ids, next, nil
		}
		ids, next = append(ids, c.id), c.place()
	}
	return ids, "", nil
}

// named lists the instruments that go by a name, as their tag or as an alias, in whatever letters.
func (x *Index) named(name string, most int) (ids []string, err error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if err := x.follow(); err != nil {
		return nil, err
	}
	for id, c := range x.gauges {
		if slices.Contains(c.names, strings.ToLower(name)) {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids[:min(len(ids), most)], nil
}

// place is where a card stands in the order of tags.
func (c *gaugeCard) place() string { return c.tag + "\n" + c.id }
