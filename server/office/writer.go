package office

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"gaugewright/server/plant"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// errRefused is wrapped when the store refuses what the office wrote.
var errRefused = errors.New("the office's own change was refused")

// Writer writes changes of the office, one at a time. The office has one device in the store.
type Writer struct {
	store *store.Store

	mu     sync.Mutex // held while changes are drafted and written
	loaded bool
	kept   remembered
	fresh  bool   // nothing is kept yet
	wrote  uint64 // the cursor that was kept last
	// catching: catchUp reads the journal meanwhile.
	catching bool
	seal     seal
}

// remembered is what the office's own device remembers between starts.
type remembered struct {
	Device string `json:"device"`
	Cursor uint64 `json:"cursor"` // entries that Count and Seq include
	Count  uint64 `json:"count"`
	Seq    uint64 `json:"seq"`
	// Numbers are the highest certificate numbers by year. Each year counts separately, so that a
	// clock that was wrong once affects no other year.
	Numbers map[int]int `json:"numbers"`
	Year    int         `json:"year,omitempty"` // from earlier versions, which knew the last year only
	Number  int         `json:"number,omitempty"`
}

// NewWriter returns the writer of a store; a store has only one.
func NewWriter(s *store.Store) *Writer { return &Writer{store: s} }

// Write is WriteIf without a guard.
func (w *Writer) Write(ctx context.Context, author string,
	draft func(*plant.Drafter) ([]change.Change, error), noted ...store.Step) error {
	return w.WriteIf(ctx, author, draft, nil, noted...)
}

// WriteIf lets a person in the office ("": the program itself) draft changes and stores them all in
// one transaction, where phones find them. guard can still refuse one inside that transaction; it
// is nil if nothing can come between. noted runs in the same transaction.
func (w *Writer) WriteIf(ctx context.Context, author string,
	draft func(*plant.Drafter) ([]change.Change, error), guard store.Judge, noted ...store.Step) error {
	return w.writeNoted(ctx, author, func(p *plant.Drafter) ([]change.Change, []store.Step, error) {
		list, err := draft(p)
		return list, noted, err
	}, guard)
}

// writeNoted is WriteIf with steps that depend on the changes.
func (w *Writer) writeNoted(ctx context.Context, author string,
	draft func(*plant.Drafter) ([]change.Change, []store.Step, error), guard store.Judge) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	free, err := w.store.Alone("office")
	if err != nil {
		return err
	}
	defer free()
	if err := w.follow(); err != nil {
		return err
	}
	if author == "" {
		author = w.kept.Device
	}
	if err := w.publish(ctx); err != nil {
		return err
	}
	list, noted, err := draft(w.drafter(author))
	if err == nil {
		err = w.sealed(list)
	}
	if err != nil || len(list)+len(noted) == 0 {
		return err
	}
	return w.add(ctx, list, guard, noted...)
}

// add stores changes of the office's device; mu must be held.
func (w *Writer) add(ctx context.Context, list []change.Change, guard store.Judge, noted ...store.Step) error {
	r, err := w.store.AddWith(ctx, list, guard, noted...)
	if err != nil {
		return err
	}
	for id, reason := range r.Refused {
		return fmt.Errorf("%w: %s: %w", errRefused, id, reason)
	}
	if err := w.follow(); err != nil {
		return err
	}
	return w.keep()
}

// drafter drafts for a person with the office's device; mu must be held.
func (w *Writer) drafter(author string) *plant.Drafter {
	return &plant.Drafter{Device: w.kept.Device, Author: author, Seq: w.kept.Seq, Count: w.kept.Count,
		Random: rand.Reader}
}

// follow reads the journal to its end and counts what it sees; mu must be held.
//
// Refuses: ErrReading while catchUp has a long way to go.
func (w *Writer) follow() error {
	if !w.loaded {
		if err := w.load(); err != nil {
			return err
		}
	}
	if last, err := w.store.Last(); err != nil {
		return err
	} else if w.catching && last > w.kept.Cursor+farBehind {
		return reading(100 * w.kept.Cursor / last)
	}
	for end := false; !end; {
		var err error
		if end, err = w.count(); err != nil {
			return err
		}
	}
	if w.fresh || w.kept.Cursor >= w.wrote+keptPart {
		return w.keep()
	}
	return nil
}

// count reads the next piece of the journal, and reports whether that was the end.
func (w *Writer) count() (end bool, err error) {
	list, last, err := w.store.Since(w.kept.Cursor, piece, nil)
	if err != nil {
		return false, err
	}
	for i := range list {
		c := &list[i].Change
		w.kept.Count = max(w.kept.Count, c.Stamp.Count)
		if c.Device == w.kept.Device {
			w.kept.Seq = max(w.kept.Seq, c.Seq)
		}
		w.kept.number(c)
	}
	w.kept.Cursor = last
	return len(list) == 0, nil
}

const (
	// farBehind is how many entries a write reads itself before it is done.
	farBehind = 50_000
	// keptPart is after how many entries it is kept how far the writer is.
	keptPart = 10_000
)

// catchUp follows a long journal a part at a time, so that the first decision in a folder from
// elsewhere does not wait for all of it. It keeps how far it is.
func (w *Writer) catchUp() error {
	catching := func(on bool) { w.mu.Lock(); w.catching = on; w.mu.Unlock() }
	catching(true)
	defer catching(false)
	defer w.store.ReadsAll()()
	for end := false; !end; {
		var err error
		if end, err = w.someMore(); err != nil {
			return err
		}
	}
	return nil
}

func (w *Writer) someMore() (end bool, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	free, err := w.store.Alone("office")
	if err != nil {
		return false, err
	}
	defer free()
	if !w.loaded {
		if err := w.load(); err != nil {
			return false, err
		}
	}
	for from := w.kept.Cursor; !end && w.kept.Cursor < from+keptPart; {
		if end, err = w.count(); err != nil {
			return false, err
		}
	}
	if w.fresh || w.kept.Cursor >= w.wrote+keptPart { // fresh: another server begins with this device
		err = w.keep()
	}
	return end, err
}

func (w *Writer) load() error {
	b, err := w.store.Private("office").Get("pen")
	if err != nil {
		return err
	}
	if b == nil {
		w.kept.Device, err = change.NewID(rand.Reader)
		w.loaded, w.fresh = err == nil, true
		return err
	}
	if err := json.Unmarshal(b, &w.kept); err != nil {
		return fmt.Errorf("what the office's drafter remembers is damaged: %w", err)
	}
	if w.kept.Year != 0 {
		w.kept.reached(w.kept.Year, w.kept.Number)
		w.kept.Year, w.kept.Number = 0, 0
	}
	w.loaded, w.wrote = true, w.kept.Cursor
	return nil
}

func (w *Writer) keep() error {
	b, err := json.Marshal(w.kept)
	if err != nil {
		return err
	}
	w.fresh, w.wrote = false, w.kept.Cursor
	return w.store.Private("office").Put("pen", b)
}
