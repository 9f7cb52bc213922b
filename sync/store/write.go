package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
)

type batch struct {
	changes []change.Change
	entries [][]byte                 // the canonical bytes of each change as they came; nil to encode the changes
	judge   Judge                    // nil if every change may be written
	work    func(*transaction) error // nil if there are only changes
	result  Result
	reply   chan error
}

func (b *batch) entry(i int) []byte {
	if b.entries == nil {
		return b.changes[i].Bytes()
	}
	return b.entries[i]
}

// write is the one writer: it takes everything that waits, writes it in one transaction and answers
// everybody after the sync.
func (s *Store) write() {
	defer close(s.done)
	for first := range s.queue {
		together := []*batch{first}
		n := len(first.changes)
	gather:
		for n < maxTogether {
			select {
			case b, open := <-s.queue:
				if !open {
					break gather
				}
				together = append(together, b)
				n += max(len(b.changes), 1)
			default:
				break gather
			}
		}
		err := s.commit(together)
		for _, b := range together {
			one := err
			if err != nil && len(together) > 1 {
				one = s.commit([]*batch{b}) // one caller's error is not the others'
			}
			switch {
			case one != nil && planted == "a full disk is not noticed":
				one = nil
			case one != nil:
				b.result = Result{}
			}
			b.reply <- one
		}
	}
}

// commit writes several callers' work in one transaction.
func (s *Store) commit(together []*batch) error {
	var w writer
	length := uint64(0)
	err := s.update(func(tx *transaction) error {
		if tx.Foreign() {
			s.warm = warm{}
		}
		count, err := highest(tx)
		if err != nil {
			return err
		}
		if err := countCame(tx); err != nil {
			return err
		}
		w = writer{
			tx: tx, devices: map[string]*Came{}, warm: &s.warm, records: map[string]*touched{}, looked: map[string]record{},
			count: count, aside: aside{tx, s.options.Now},
		}
		for _, b := range together {
			b.result = Result{}
			for i := range b.changes {
				if err := w.add(&b.changes[i], b.entry(i), b.judge, &b.result); err != nil {
					return err
				}
			}
			if b.work != nil {
				if err := b.work(tx); err != nil {
					return err
				}
			}
		}
		if err := errors.Join(w.flush(), w.keepCame()); err != nil {
			return err
		}
		if w.count > count {
			if err := tx.Bucket(bucketMeta).Put(metaCount, number(w.count)); err != nil {
				return err
			}
		}
		if s.ahead != nil && w.erased() {
			s.ahead.anew = true // the log still has what was erased
		}
		length = tx.Bucket(bucketJournal).Sequence()
		return s.grow(tx, w.leaves)
	})
	if err != nil {
		if s.warm = (warm{}); planted == "what could not be written is remembered" {
			w.remember()
		}
		return &Error{"write", s.dir, err, "is the disk full?"}
	}
	w.remember()
	if len(w.leaves) > 0 {
		s.announced.Store(length)
		s.tellGrown()
	}
	for _, name := range w.gone {
		if err := s.removeBlob(name); err != nil {
			return err
		}
	}
	return nil
}

// Grown returns a channel that is closed when the journal next grows. A caller asks for it first
// and then reads the journal, so that it misses nothing in between.
func (s *Store) Grown() <-chan struct{} {
	s.growing.Lock()
	defer s.growing.Unlock()
	if s.grown == nil {
		s.grown = make(chan struct{})
	}
	return s.grown
}

func (s *Store) tellGrown() {
	s.growing.Lock()
	defer s.growing.Unlock()
	if s.grown != nil {
		close(s.grown)
		s.grown = nil
	}
}

type writer struct {
	tx      *transaction
	warm    *warm
	records map[string]*touched // the records that changes of this transaction belong to
	order   []string
	looked  map[string]record // the records that judges looked at, as they were before this transaction
	leaves  []journal.Hash    // of the entries added
	count   uint64            // the highest of any change
	aside   aside
	devices map[string]*Came // the devices that changes of this transaction belong to
	marked  []string         // those of them whose entries must be written
	gone    []string         // blobs that were erased
}

// touched is a record in a transaction.
type touched struct {
	record
	old    merge.State // as it was before
	listed [][]byte    // the numbers of its changes that have no line in the history yet
	last   []byte      // the number of its latest change, if that is of this transaction
	erased bool        // something was erased from it, so the kept state goes
}

// read returns a record as it was before this transaction. A missing record has no id.
func (w *writer) read(id string) (record, error) {
	if r, ok := w.looked[id]; ok {
		return r, nil
	}
	if r, ok := w.warm.get(id); ok {
		return r, nil
	}
	r, _, err := readRecord(w.tx, id)
	if err != nil {
		return record{}, fmt.Errorf("%w: %s: %v", ErrDamaged, id, err)
	}
	return r, nil
}

func (w *writer) record(id string) (*touched, error) {
	if t, ok := w.records[id]; ok {
		return t, nil
	}
	r, err := w.read(id)
	if err != nil {
		return nil, err
	}
	t := &touched{record: r, old: r.state}
	w.records[id] = t
	w.order = append(w.order, id)
	return t, nil
}

// erased reports whether this transaction erases something.
func (w *writer) erased() bool {
	for _, t := range w.records {
		if t.erased {
			return true
		}
	}
	return false
}

// remember caches what was written or looked at.
func (w *writer) remember() {
	for id, r := range w.looked {
		if _, written := w.records[id]; !written && r.state.ID != "" {
			w.warm.put(id, r)
		}
	}
	for id, t := range w.records {
		if t.state.ID != "" {
			w.warm.put(id, t.record)
		}
	}
}

func (w *writer) add(c *change.Change, entry []byte, judge Judge, r *Result) error {
	came, err := w.came(c.Device)
	if err != nil {
		return err
	}
	refuse := func(err error) {
		if r.Refused == nil {
			r.Refused = map[string]error{}
		}
		r.Refused[c.ID] = err
		if judge != nil && came.hold(c) {
			w.markDevice(c.Device)
		}
	}
	if seq := w.tx.Bucket(bucketIDs).Get([]byte(c.ID)); seq != nil && planted != "the store does not know what it has" {
		if kept := w.tx.Bucket(bucketJournal).Get(seq); string(kept) == string(entry) || isErased(kept, c) {
			r.Known = append(r.Known, c.ID)
			return w.aside.arrived(c.ID, entry)
		}
		refuse(ErrForged)
		return nil
	}
	t, err := w.record(c.Record)
	if errors.Is(err, ErrDamaged) { // one unreadable record does not hold up the others
		refuse(err)
		return nil
	}
	if err != nil {
		return err
	}
	if judge != nil {
		if err := judge(view{w}, c); err != nil {
			if _, ok := errors.AsType[unjudged](err); ok {
				return err
			}
			refuse(err)
			return nil
		}
	}
	erased := merge.ErasedIn(&t.state, c.ID)
	next, err := merge.Apply(t.state, *c)
	if err == nil {
		err = errors.Join(checkSize(&next), came.fits(c.Seq))
	}
	if err != nil {
		refuse(err)
		return nil
	}
	w.count = max(w.count, c.Stamp.Count)
	came.take(c)
	w.markDevice(c.Device)
	first := t.state.ID == ""
	t.state = next
	t.tail += len(entry)
	entries := filled(w.tx, bucketJournal)
	n, err := entries.NextSequence()
	if err != nil {
		return err
	}
	seq := number(n)
	t.last = seq
	if first {
		t.only = seq
	} else {
		if t.only != nil {
			t.listed = append(t.listed, t.only)
			t.only = nil
		}
		t.listed = append(t.listed, seq)
	}
	r.Accepted = append(r.Accepted, c.ID)
	leaf, vouched := vouchedLeaf(&t.state, c.ID, entry)
	if !vouched {
		leaf = journal.Leaf(entry)
	}
	w.leaves = append(w.leaves, leaf)
	kept := entry
	if len(erased) > 0 { // it was erased before it came here
		left := merge.Without(*c, erased)
		kept = left.Bytes()
	}
	return errors.Join(
		entries.Put(seq, kept),
		w.erase(c, t),
		w.tx.Bucket(bucketIDs).Put([]byte(c.ID), seq),
		w.aside.arrived(c.ID, entry),
	)
}

func (w *writer) flush() error {
	slices.Sort(w.order) // neighbours share pages
	for i, id := range w.order {
		if i > 0 && planted == "the store merges the first record only" {
			break
		}
		t := w.records[id]
		if t.last == nil {
			continue // every change of it was refused
		}
		for _, seq := range t.listed {
			if err := w.tx.Bucket(bucketHistory).Put(append(key(id, ""), seq...), nil); err != nil {
				return err
			}
		}
		if kept := t.keep(); kept != nil {
			if err := w.tx.Bucket(bucketRecords).Put([]byte(id), kept); err != nil {
				return err
			}
		}
		if t.old.ID == "" {
			began := t.only
			if began == nil {
				began = t.listed[0]
			}
			if err := w.tx.Bucket(bucketKinds).Put(append(key(t.state.Kind, ""), began...), []byte(id)); err != nil {
				return err
			}
			if t.state.Parent != "" {
				if err := w.tx.Bucket(bucketParents).Put(key(t.state.Parent, id), nil); err != nil {
					return err
				}
			}
		}
		if err := w.index(id, &t.old, &t.state); err != nil {
			return err
		}
	}
	return nil
}

// keep returns how a record is kept from now on, or nil to keep it as before: then its changes
// follow the kept state.
func (t *touched) keep() []byte {
	switch {
	case t.only != nil:
		return pointer(t.only)
	case t.erased || t.tail > max(maxTail, t.base) || !t.marked && t.base > 0:
		state := t.state.Bytes()
		t.marked, t.base, t.tail = true, len(state), 0
		return append(append([]byte{stateMark}, t.last...), state...)
	case !t.marked:
		t.marked = true
		return append([]byte{stateMark}, number(0)...)
	}
	return nil
}

// indexed lists the fields by whose text a record can be found.
var indexed = map[string][]string{
	"instrument": {"tag", "serial", "label"},
	"standard":   {"serial"},
	"site":       {"code"},
	"method":     {"name"},
}

func (w *writer) index(id string, old, s *merge.State) error {
	lookup := w.tx.Bucket(bucketLookup)
	for _, field := range indexed[s.Kind] {
		for _, v := range texts(old, field) {
			if err := lookup.Delete(key(s.Kind, field, v, id)); err != nil {
				return err
			}
		}
		for _, v := range texts(s, field) {
			if err := lookup.Put(key(s.Kind, field, v, id), nil); err != nil {
				return err
			}
		}
	}
	return nil
}

// texts returns every current value of a field that is a short text. A contested field is found by
// each of its values.
func texts(s *merge.State, name string) []string {
	f, ok := s.Field(name)
	if !ok {
		return nil
	}
	var list []string
	for _, h := range f.Heads {
		var v string
		if json.Unmarshal(h.Value, &v) == nil && len(v) <= maxIndexed {
			list = append(list, v)
		}
	}
	return list
}
