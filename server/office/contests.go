package office

import (
	"encoding/json"
	"errors"
	"fmt"
	"sync"

	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// contests knows the records whose fields have contested values. It follows the
// journal and keeps what it knows, so that a start does not read every record.
type contests struct {
	store  *store.Store
	mu     sync.Mutex
	loaded bool
	cursor uint64
	open   map[string][]string // by record: the fields
}

// keyCursor is no record's id: those have no spaces.
const keyCursor = " cursor"

func newContests(s *store.Store) *contests {
	return &contests{store: s, open: map[string][]string{}}
}

func (k *contests) load() error {
	err := k.store.Private("contested").Each(func(id string, v []byte) error {
		if id == keyCursor {
			return json.Unmarshal(v, &k.cursor)
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

// all returns the contested fields by record, as of the journal's end.
func (k *contests) all() (map[string][]string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !k.loaded {
		if err := k.load(); err != nil {
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
		b, err := json.Marshal(k.cursor)
		if err != nil {
			return nil, err
		}
		put[keyCursor] = b
		var remove []string
		for id := range gone {
			remove = append(remove, id)
		}
		if err := k.store.Private("contested").Batch(put, remove); err != nil {
			return nil, err
		}
	}
	out := make(map[string][]string, len(k.open))
	for id, fields := range k.open {
		out[id] = fields
	}
	return out, nil
}

// look reads a record and notes what is contested in it.
func (k *contests) look(id string, put map[string][]byte, gone map[string]bool) error {
	state, ok, err := k.store.Record(id)
	if errors.Is(err, store.ErrDamaged) {
		return nil // it is shown as damaged elsewhere, and hides no other
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
