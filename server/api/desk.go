package api

import (
	"cmp"
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// desk is what the office works with: its pen, and lists of visits by day and of instruments by tag that follow the journal.
type desk struct {
	store *store.Store
	now   func() time.Time

	mu     sync.Mutex // held by whoever reads the lists or writes
	loaded bool
	cursor uint64 // the journal's entries that the lists know
	pen    penState
	visits map[string]visitCard
	gauges map[string]*gaugeCard
	sorted []*gaugeCard // by tag; nil after a change
}

// penState is what the office's own device remembers between starts.
type penState struct {
	Device string `json:"device"`
	Cursor uint64 `json:"cursor"` // entries that Count and Seq know
	Count  uint64 `json:"count"`
	Seq    uint64 `json:"seq"`
	Year   int    `json:"year"`   // of the last certificate's number
	Number int    `json:"number"` // its number in that year
}

// number remembers the highest number of a certificate.
func (p *penState) number(c *change.Change) {
	if c.Kind != "certificate" {
		return
	}
	for _, set := range c.Set {
		var year, n int
		if _, err := fmt.Sscanf(string(set.Value), "\"%d-%d\"", &year, &n); set.Field != "number" || err != nil {
			continue
		}
		if year > p.Year || year == p.Year && n > p.Number {
			p.Year, p.Number = year, n
		}
	}
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

func newDesk(s *store.Store, now func() time.Time) *desk {
	return &desk{store: s, now: now, visits: map[string]visitCard{}, gauges: map[string]*gaugeCard{}}
}

// follow brings the lists and the pen up to the journal's end; mu is held.
func (d *desk) follow() error {
	if !d.loaded {
		if err := d.load(); err != nil {
			return err
		}
	}
	touched := map[string]string{}
	err := d.read(d.cursor, func(c *change.Change) {
		if c.Kind == "visit" || c.Kind == "instrument" {
			touched[c.Record] = c.Kind
		}
	})
	if err != nil {
		return err
	}
	for id := range touched {
		s, ok, err := d.store.Record(id)
		if err != nil {
			return err
		}
		if ok {
			d.take(s)
		}
	}
	d.cursor = d.pen.Cursor
	return nil
}

// read goes through the journal from an entry on; the pen counts what it sees.
func (d *desk) read(from uint64, each func(*change.Change)) error {
	for {
		list, last, err := d.store.Since(from, piece, nil)
		if err != nil {
			return err
		}
		for i := range list {
			c := &list[i].Change
			d.pen.Count = max(d.pen.Count, c.Stamp.Count)
			if c.Device == d.pen.Device {
				d.pen.Seq = max(d.pen.Seq, c.Seq)
			}
			d.pen.number(c)
			each(c)
		}
		from, d.pen.Cursor = last, last
		if len(list) == 0 {
			return nil
		}
	}
}

func (d *desk) load() error {
	b, err := d.store.Private("office").Get("pen")
	if err != nil {
		return err
	}
	if b != nil {
		if err := json.Unmarshal(b, &d.pen); err != nil {
			return fmt.Errorf("what the office's pen remembers is damaged: %w", err)
		}
	} else if d.pen.Device, err = change.NewID(rand.Reader); err != nil {
		return err
	}
	if err := d.read(d.pen.Cursor, func(*change.Change) {}); err != nil {
		return err
	}
	d.cursor = d.pen.Cursor // what arrives while the records are read is looked at again
	for _, kind := range []string{"visit", "instrument"} {
		for after := ""; ; {
			states, err := d.store.ByKind(kind, after, piece)
			if err != nil {
				return err
			}
			if len(states) == 0 {
				break
			}
			for _, s := range states {
				d.take(s)
			}
			after = states[len(states)-1].ID
		}
	}
	d.loaded = true
	return d.keep()
}

func (d *desk) keep() error {
	b, err := json.Marshal(d.pen)
	if err != nil {
		return err
	}
	return d.store.Private("office").Put("pen", b)
}

// take puts a record on its list.
func (d *desk) take(s merge.State) {
	switch s.Kind {
	case "visit":
		v, err := plant.ReadVisit(s)
		card := visitCard{id: s.ID, started: v.Started, status: v.Status, damaged: err != nil}
		if v.Signature != nil {
			card.signed = v.Signature.At
		}
		d.visits[s.ID] = card
	case "instrument":
		v, _ := plant.ReadInstrument(s) // a damaged one is listed with what could be read
		card := gaugeCard{id: s.ID, tag: v.Tag, words: strings.ToLower(strings.Join(append([]string{
			v.Tag, v.Serial, v.Description, v.Manufacturer, v.Model, v.Area, v.Place, v.Label}, v.Aliases...), "\n"))}
		for _, name := range append([]string{v.Tag}, v.Aliases...) {
			card.names = append(card.names, strings.ToLower(name))
		}
		d.gauges[s.ID] = &card
		d.sorted = nil
	}
}

// date returns the day of a moment on the office's calendar, or "".
func (d *desk) date(moment string) string {
	t, err := time.Parse(time.RFC3339, moment)
	if err != nil {
		return ""
	}
	return t.In(d.now().Location()).Format(time.DateOnly)
}

// day lists the visits that were begun or signed on a date, by their beginning, and the signed ones of other days that wait for the office.
func (d *desk) day(date string) (today, waiting []visitCard, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.follow(); err != nil {
		return nil, nil, err
	}
	for _, c := range d.visits {
		switch {
		case d.date(c.started) == date || d.date(c.signed) == date:
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

// search lists the instruments that have every word, by tag, after a place that an earlier answer named ("": from the first), and the place to go on from ("": that
// was all).
func (d *desk) search(text, after string, most int) (ids []string, next string, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.follow(); err != nil {
		return nil, "", err
	}
	if d.sorted == nil {
		for _, c := range d.gauges {
			d.sorted = append(d.sorted, c)
		}
		slices.SortFunc(d.sorted, func(a, b *gaugeCard) int { return strings.Compare(a.place(), b.place()) })
	}
	wanted := strings.Fields(strings.ToLower(text))
	from, _ := slices.BinarySearchFunc(d.sorted, after, func(c *gaugeCard, at string) int { return strings.Compare(c.place(), at) })
	for _, c := range d.sorted[from:] {
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
func (d *desk) named(name string, most int) (ids []string, err error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.follow(); err != nil {
		return nil, err
	}
	for id, c := range d.gauges {
		if slices.Contains(c.names, strings.ToLower(name)) {
			ids = append(ids, id)
		}
	}
	slices.Sort(ids)
	return ids[:min(len(ids), most)], nil
}

// place is where a card stands in the order of tags.
func (c *gaugeCard) place() string { return c.tag + "\n" + c.id }

// errRefused is wrapped when the store does not take what the office wrote.
var errRefused = errors.New("the office's own change was refused")

// write lets a person of the office ("": the program itself) draft changes and keeps them all in one transaction, where phones find them.
func (d *desk) write(ctx context.Context, author string, draft func(*plant.Pen) ([]change.Change, error)) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.follow(); err != nil {
		return err
	}
	if author == "" {
		author = d.pen.Device
	}
	p := &plant.Pen{Device: d.pen.Device, Author: author, Seq: d.pen.Seq, Count: d.pen.Count, Random: rand.Reader}
	list, err := draft(p)
	if err != nil || len(list) == 0 {
		return err
	}
	r, err := d.store.Add(ctx, list)
	if err != nil {
		return err
	}
	for id, reason := range r.Refused {
		return fmt.Errorf("%w: %s: %w", errRefused, id, reason)
	}
	if err := d.follow(); err != nil {
		return err
	}
	return d.keep()
}
