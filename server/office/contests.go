package office

import (
	"encoding/json"
	"errors"
	"fmt"
	"hash/maphash"
	"math/bits"
	"strings"
	"sync"

	"gaugewright/sync/change"
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
}

// keyCursor cannot be a record's id: ids have no spaces.
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

// all returns the contested fields by record, up to the journal's end.
func (k *contests) all() (map[string][]string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !k.loaded {
		if err := k.load(); err != nil {
			return nil, err
		}
	}
	from, put, gone := k.cursor, map[string][]byte{}, map[string]bool{}
	if k.cursor == 0 {
		if err := k.first(put, gone); err != nil {
			return nil, err
		}
	}
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

// first goes through the whole journal of a plant that is not known yet. It reads the records of
// which several changes set the same field: no other can have a contested one, and in most plants
// they are few.
func (k *contests) first(put map[string][]byte, gone map[string]bool) error {
	last, err := k.store.Last()
	if err != nil {
		return err
	}
	several, set, from := map[string]bool{}, newWritten(last), uint64(0)
	for {
		_, last, err := k.store.Piece(from, store.Bounds{Scan: piece}, func(c *change.Change) (bool, error) {
			for i := range c.Set {
				if set.add(c.Record, c.Set[i].Field) && !several[c.Record] {
					several[strings.Clone(c.Record)] = true
				}
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
	for id := range several {
		if err := k.look(id, put, gone); err != nil {
			return err
		}
	}
	k.cursor = from
	return nil
}

// written remembers which fields of records were written, in little memory. It may take one for
// another that it knows, and forgets none.
type written struct {
	seed  maphash.Seed
	shift int // of 64 bits, to the number of a bit
	bits  []uint64
}

// The bits for each change, and as a power of two the fewest and the most of them: 32 MB, in which ten
// million fields are taken for another once in 200 times.
const bitsEach, fewestBits, mostBits = 256, 14, 28

func newWritten(changes uint64) *written {
	n := min(max(bits.Len64(changes*bitsEach), fewestBits), mostBits)
	return &written{maphash.MakeSeed(), 64 - n, make([]uint64, 1<<(n-6))}
}

// add notes a field of a record and reports whether it was noted before.
func (w *written) add(record, field string) (before bool) {
	var h maphash.Hash
	h.SetSeed(w.seed)
	h.WriteString(record)
	h.WriteByte(0)
	h.WriteString(field)
	sum := h.Sum64()
	before = true
	for _, at := range []uint64{sum >> w.shift, sum << 32 >> w.shift} {
		word, bit := &w.bits[at>>6], uint64(1)<<(at&63)
		before = before && *word&bit != 0
		*word |= bit
	}
	return before
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
