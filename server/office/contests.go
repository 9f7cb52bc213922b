package office

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"sync"

	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// contests knows the records with contested fields. It follows the journal and stores what it
// knows, so that a start does not read every record.
type contests struct {
	store  *store.Store
	mu     sync.Mutex
	loaded bool
	cursor uint64
	open   map[string][]string // contested fields by record
	at     firstAt
}

// firstAt is how far the first look at all records is.
type firstAt struct {
	Journal uint64 // the journal's end when it began
	After   string // the last record looked at
}

// keyCursor and keyFirst cannot be a record's id: ids have no spaces.
const keyCursor, keyFirst = " cursor", " first"

func newContests(s *store.Store) *contests {
	return &contests{store: s, open: map[string][]string{}}
}

func (k *contests) load() error {
	err := k.store.Private("contested").Each(func(id string, v []byte) error {
		switch id {
		case keyCursor:
			return json.Unmarshal(v, &k.cursor)
		case keyFirst:
			return json.Unmarshal(v, &k.at)
		}
		var fields []string
		if err := json.Unmarshal(v, &fields); err != nil {
			return err
		}
		k.open[id] = fields
		return nil
	})
	if err != nil {
		return fmt.Errorf("the list of contested records is damaged: %w", err)
	}
	k.loaded = true
	return nil
}

// all returns the contested fields by record, up to the journal's end.
func (k *contests) all() (map[string][]string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !k.loaded {
		if err := k.load(); err != nil {
			return nil, err
		}
	}
	if k.cursor == 0 {
		if err := k.first(); err != nil {
			return nil, err
		}
	}
	from, put, gone := k.cursor, map[string][]byte{}, map[string]bool{}
	for {
		list, last, err := k.store.Since(k.cursor, piece, nil)
		if err != nil {
			return nil, err
		}
		if len(list) == 0 {
			break
		}
		touched := map[string]bool{}
		for i := range list {
			touched[list[i].Change.Record] = true
		}
		for id := range touched {
			if err := k.look(id, put, gone); err != nil {
				return nil, err
			}
		}
		k.cursor = last
	}
	if k.cursor != from {
		if err := k.keep(put, gone); err != nil {
			return nil, err
		}
	}
	out := make(map[string][]string, len(k.open))
	for id, fields := range k.open {
		out[id] = fields
	}
	return out, nil
}

// first looks at the records of a plant that is not known yet. It reads those that several changes
// made: no other can have a contested field. What it found is kept meanwhile, and a start after a
// stop goes on from there.
func (k *contests) first() error {
	defer k.store.ReadsAll()()
	if k.at.Journal == 0 {
		last, err := k.store.Last()
		if err != nil || last == 0 {
			return err
		}
		k.at.Journal = last
	}
	put, gone := map[string][]byte{}, map[string]bool{}
	for n := 1; ; n++ {
		ids, last, err := k.store.Merged(k.at.After, piece)
		if err != nil {
			return err
		}
		for _, id := range ids {
			if err := k.look(id, put, gone); err != nil {
				return err
			}
		}
		if last == "" {
			k.cursor = k.at.Journal
			return k.keep(put, gone)
		}
		if k.at.After = last; n%20 == 0 {
			if err := k.keep(put, gone); err != nil {
				return err
			}
		}
	}
}

// keep writes what changed, and from where to go on.
func (k *contests) keep(put map[string][]byte, gone map[string]bool) (err error) {
	if k.cursor == 0 {
		put[keyFirst], err = json.Marshal(k.at)
	} else {
		if k.at != (firstAt{}) {
			gone[keyFirst], k.at = true, firstAt{}
		}
		put[keyCursor], err = json.Marshal(k.cursor)
	}
	if err != nil {
		return err
	}
	if err := k.store.Private("contested").Batch(put, slices.Collect(maps.Keys(gone))); err != nil {
		return err
	}
	clear(put)
	clear(gone)
	return nil
}

// look reads a record and notes its contested fields.
func (k *contests) look(id string, put map[string][]byte, gone map[string]bool) error {
	state, ok, err := k.store.Record(id)
	if errors.Is(err, store.ErrDamaged) {
		return nil // shown as damaged elsewhere; it must not hide others
	}
	if err != nil || !ok {
		return err
	}
	fields := contestedFields(&state)
	if len(fields) > 0 {
		b, err := json.Marshal(fields)
		if err != nil {
			return err
		}
		k.open[id], put[id] = fields, b
		delete(gone, id)
		return nil
	}
	if _, was := k.open[id]; was {
		delete(k.open, id)
		delete(put, id)
		gone[id] = true
	}
	return nil
}

func contestedFields(s *merge.State) (names []string) {
	for i := range s.Fields {
		if s.Fields[i].Contested() {
			names = append(names, s.Fields[i].Name)
		}
	}
	return names
}
