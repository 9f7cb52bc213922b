package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// A record that one change made is kept as the number of that change in the journal, which already
// has its values. Most records of a plant's past are written once, and otherwise every value would
// be in the file twice. Such a record has no line in the history either.
//
// A record of several changes has a line in the history for each. It is kept as its state after
// some of them, with the number of the last of these (0 and no state: after none). A reader applies
// the later ones, so that a new reading of a long run costs one line and not a copy of the whole
// run. When the later changes outgrow the state, the whole state is written again. Files from
// before schema 6 have the state after all changes, without a number, until the next change.
const (
	pointerMark = '#' // no state begins with it
	stateMark   = '*' // neither does one begin with this
	// maxTail is how many bytes of changes may follow a short state: some fifty readings, which are
	// read in a tenth of a millisecond.
	maxTail = 16 << 10
)

func pointer(seq []byte) []byte { return append([]byte{pointerMark}, seq...) }

// pointed returns the number of the change that alone makes a record, if the record is kept so.
func pointed(kept []byte) (seq []byte, ok bool) {
	if len(kept) != 9 || kept[0] != pointerMark {
		return nil, false
	}
	return kept[1:], true
}

// based returns the number of the last change that a kept state includes, and the state's bytes.
func based(kept []byte) (seq, state []byte, ok bool) {
	if len(kept) < 9 || kept[0] != stateMark {
		return nil, nil, false
	}
	return kept[1:9], kept[9:], true
}

// record is a record together with how it is kept.
type record struct {
	state  merge.State
	only   []byte // the number of the change that alone makes it
	marked bool   // it is kept with the number of the last change that the kept state includes
	base   int    // bytes of that state
	tail   int    // bytes of the changes that came after it
}

var errNoEntry = errors.New("the change that makes the record is missing from the journal")

// beginning returns the number of the change that began a record, or nil if there is none.
func beginning(tx *transaction, id string) []byte {
	if seq, ok := pointed(tx.Bucket(bucketRecords).Get([]byte(id))); ok {
		return seq
	}
	prefix := key(id, "")
	if k, _ := tx.Bucket(bucketHistory).Cursor().Seek(prefix); bytes.HasPrefix(k, prefix) {
		return k[len(prefix):]
	}
	return nil
}

// Began returns the sequence number of the change that began a record, or 0 if there is none.
func (s *Store) Began(id string) (seq uint64, err error) {
	err = s.view(func(tx *transaction) error {
		if began := beginning(tx, id); began != nil {
			seq = binary.BigEndian.Uint64(began)
		}
		return nil
	})
	if err != nil {
		return 0, &Error{"read record " + id + " of", s.dir, err, ""}
	}
	return seq, nil
}

// stateOf reads a record, if it is there. Refuses: ErrDamaged for one that cannot be read; the
// state then still has its id.
func stateOf(tx *transaction, id string) (merge.State, bool, error) {
	s, ok, err := readState(tx, id)
	if err != nil {
		return merge.State{ID: id}, true, fmt.Errorf("%w: %s: %v", ErrDamaged, id, err)
	}
	return s, ok, nil
}

func readState(tx *transaction, id string) (merge.State, bool, error) {
	r, ok, err := readRecord(tx, id)
	return r.state, ok, err
}

func readRecord(tx *transaction, id string) (r record, ok bool, err error) {
	kept := tx.Bucket(bucketRecords).Get([]byte(id))
	if kept == nil {
		return record{}, false, nil
	}
	if seq, alone := pointed(kept); alone {
		one, size, err := entryOf(tx, id, seq)
		if err != nil {
			return record{}, true, err
		}
		r.only, r.tail = bytes.Clone(seq), size
		r.state, err = merge.Apply(merge.State{}, one)
		return r, true, err
	}
	seq, state, marked := based(kept)
	if r.marked = marked; !marked {
		state = kept
	}
	if r.base = len(state); r.base > 0 {
		if r.state, err = merge.ParseState(state); err != nil {
			return record{}, true, err
		}
	}
	if !marked || planted == "the changes after a kept state are forgotten" && r.base > 0 {
		return r, true, nil
	}
	var tail []change.Change
	prefix := key(id, "")
	c := tx.Bucket(bucketHistory).Cursor()
	k, _ := c.Seek(append(bytes.Clone(prefix), seq...))
	for ; k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
		at := k[len(prefix):]
		if bytes.Equal(at, seq) {
			continue
		}
		one, size, err := entryOf(tx, id, at)
		if err != nil {
			return record{}, true, err
		}
		tail, r.tail = append(tail, one), r.tail+size
	}
	if r.state, err = merge.Apply(r.state, tail...); err == nil && r.state.ID != id {
		err = errNoEntry
	}
	return r, true, err
}

// entryOf reads an entry of the journal that belongs to a record, and returns its length.
func entryOf(tx *transaction, id string, seq []byte) (change.Change, int, error) {
	entry := tx.Bucket(bucketJournal).Get(seq)
	if entry == nil {
		return change.Change{}, 0, errNoEntry
	}
	one, err := change.Parse(entry)
	if err == nil && one.Record != id {
		err = errNoEntry
	}
	return one, len(entry), err
}

// warm caches recently written or read records as the writer knows them, so that the next readings
// of a run do not read all of it again. Only the one writer uses it.
type warm struct {
	now, before map[string]record // the older ones are dropped together
	size        int               // bytes of now
}

// maxWarm is how many bytes of records now and before may each have.
const maxWarm = 8 << 20

func (w *warm) get(id string) (record, bool) {
	r, ok := w.now[id]
	if !ok {
		r, ok = w.before[id]
	}
	return r, ok
}

func (w *warm) put(id string, r record) {
	if w.size > maxWarm {
		w.before, w.now, w.size = w.now, nil, 0
	}
	if w.now == nil {
		w.now = map[string]record{}
	}
	if _, known := w.now[id]; !known {
		w.size += r.base + r.tail + 512
	}
	w.now[id] = r
}

// filled is a bucket whose keys only ever grow. Its pages are filled completely, since nothing is
// inserted between.
func filled(tx *transaction, name []byte) *bucket {
	b := tx.Bucket(name)
	b.fill(1)
	return b
}
