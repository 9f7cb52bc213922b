package store

import (
	"encoding/json"
	"errors"
	"slices"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"

	"go.etcd.io/bbolt"
)

type batch struct {
	changes []change.Change
	work    func(*bbolt.Tx) error // nil where there are changes only
	result  Result
	reply   chan error
}

// write is the one writer: it takes all that waits, writes it in one transaction and tells everybody after the sync.
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
				one = s.commit([]*batch{b}) // what is wrong with one is not the others'
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

// commit writes some callers' work in one transaction.
func (s *Store) commit(together []*batch) error {
	err := s.update(func(tx *bbolt.Tx) error {
		w := writer{tx: tx, states: map[string]*merge.State{}}
		for _, b := range together {
			b.result = Result{}
			for i := range b.changes {
				if err := w.add(&b.changes[i], &b.result); err != nil {
					return err
				}
			}
			if b.work != nil {
				if err := b.work(tx); err != nil {
					return err
				}
			}
		}
		if err := w.flush(); err != nil {
			return err
		}
		return s.grow(tx, w.leaves)
	})
	if err != nil {
		return &Error{"write", s.dir, err, "is the disk full?"}
	}
	return nil
}

type writer struct {
	tx     *bbolt.Tx
	states map[string]*merge.State // records touched in this transaction
	order  []string
	old    map[string]merge.State
	only   map[string][]byte   // of a record that one change makes: the number of that change
	listed map[string][][]byte // of every other record: the numbers of its changes that have no line in the history yet
	leaves []journal.Hash      // of the entries added
}

func (w *writer) state(id string) (*merge.State, error) {
	if s, ok := w.states[id]; ok {
		return s, nil
	}
	s, _, err := stateOf(w.tx, id)
	if err != nil {
		return nil, errors.Join(errors.New("the stored record "+id+" is damaged"), err)
	}
	if w.old == nil {
		w.old, w.only, w.listed = map[string]merge.State{}, map[string][]byte{}, map[string][][]byte{}
	}
	if seq, ok := pointed(w.tx.Bucket(bucketRecords).Get([]byte(id))); ok {
		w.only[id] = slices.Clone(seq)
	}
	w.old[id] = s
	w.states[id] = &s
	w.order = append(w.order, id)
	return &s, nil
}

func (w *writer) add(c *change.Change, r *Result) error {
	refuse := func(err error) {
		if r.Refused == nil {
			r.Refused = map[string]error{}
		}
		r.Refused[c.ID] = err
	}
	entry := c.Bytes()
	if seq := w.tx.Bucket(bucketIDs).Get([]byte(c.ID)); seq != nil && planted != "the store does not know what it has" {
		if string(w.tx.Bucket(bucketJournal).Get(seq)) == string(entry) {
			r.Known = append(r.Known, c.ID)
		} else {
			refuse(ErrForged)
		}
		return nil
	}
	s, err := w.state(c.Record)
	if err != nil {
		return err
	}
	next, err := merge.Apply(*s, *c)
	if err != nil {
		refuse(err)
		return nil
	}
	first := s.ID == ""
	*s = next
	entries := filled(w.tx, bucketJournal)
	n, err := entries.NextSequence()
	if err != nil {
		return err
	}
	seq := number(n)
	if first {
		w.only[c.Record] = seq
	} else {
		if before, ok := w.only[c.Record]; ok {
			w.listed[c.Record] = append(w.listed[c.Record], before)
			delete(w.only, c.Record)
		}
		w.listed[c.Record] = append(w.listed[c.Record], seq)
	}
	r.Accepted = append(r.Accepted, c.ID)
	w.leaves = append(w.leaves, journal.Leaf(entry))
	return errors.Join(
		entries.Put(seq, entry),
		w.tx.Bucket(bucketIDs).Put([]byte(c.ID), seq),
	)
}

func (w *writer) flush() error {
	slices.Sort(w.order) // neighbours share pages
	for i, id := range w.order {
		if i > 0 && planted == "the store merges the first record only" {
			break
		}
		s, old := w.states[id], w.old[id]
		if s.ID == "" {
			continue // every change of it was refused
		}
		for _, seq := range w.listed[id] {
			if err := w.tx.Bucket(bucketHistory).Put(append(key(id, ""), seq...), nil); err != nil {
				return err
			}
		}
		kept := s.Bytes
		began, alone := w.only[id]
		if alone {
			kept = func() []byte { return pointer(began) }
		} else if len(w.listed[id]) > 0 {
			began = w.listed[id][0]
		}
		if err := w.tx.Bucket(bucketRecords).Put([]byte(id), kept()); err != nil {
			return err
		}
		if old.ID == "" {
			if err := w.tx.Bucket(bucketKinds).Put(append(key(s.Kind, ""), began...), []byte(id)); err != nil {
				return err
			}
			if s.Parent != "" {
				if err := w.tx.Bucket(bucketParents).Put(key(s.Parent, id), nil); err != nil {
					return err
				}
			}
		}
		if err := w.index(id, &old, s); err != nil {
			return err
		}
	}
	return nil
}

// indexed names the fields by whose text a record can be found.
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

// texts returns every standing value of a field that is a short text; a contested field is found by each.
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
