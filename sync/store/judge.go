package store

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"slices"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Judge returns why a change may not be written, or nil. The store calls it in the writer's
// transaction, and again if that has to be repeated. It must use the store only through the view.
type Judge func(v View, c *change.Change) error

// CannotTell is what a judge returns where it could not read what it judges by. It refuses nothing:
// the transaction fails as a whole, and the sender keeps its work and sends it again.
func CannotTell(err error) error { return unjudged{err} }

type unjudged struct{ error }

func (u unjudged) Unwrap() error { return u.error }

// View shows a judge the records as they are in the writer's transaction.
type View interface {
	// Record returns the state of a record, if it is there.
	Record(id string) (merge.State, bool, error)
	// Children returns the records whose parent is id.
	Children(id string) ([]merge.State, error)
	// Change returns a change of the journal by its id, if it is there.
	Change(id string) (change.Change, bool, error)
	// Count returns the highest count of any change in the journal.
	Count() uint64
	// Came returns which changes of a device have come.
	Came(device string) (*Came, error)
}

type view struct{ w *writer }

func (v view) Record(id string) (merge.State, bool, error) {
	if t, ok := v.w.records[id]; ok {
		return t.state, t.state.ID != "", nil
	}
	r, err := v.w.read(id)
	if err != nil {
		return merge.State{ID: id}, true, err
	}
	v.w.looked[id] = r
	return r.state, r.state.ID != "", nil
}

func (v view) Children(id string) (list []merge.State, err error) {
	prefix := key(id, "")
	c := v.w.tx.Bucket(bucketParents).Cursor()
	for k, _ := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
		child := string(k[len(prefix):])
		if t, ok := v.w.records[child]; ok && t.state.ID != "" {
			list = append(list, t.state)
			continue
		}
		if r, ok := v.w.warm.get(child); ok {
			list = append(list, r.state)
			continue
		}
		s, err := listed(v.w.tx, child, "")
		if err != nil {
			return nil, err
		}
		list = append(list, s)
	}
	for _, child := range v.w.order { // made in this transaction
		if s := v.w.records[child].state; s.Parent == id && s.ID != "" &&
			!slices.ContainsFunc(list, func(x merge.State) bool { return x.ID == child }) {
			list = append(list, s)
		}
	}
	return list, nil
}

func (v view) Change(id string) (change.Change, bool, error) {
	seq := v.w.tx.Bucket(bucketIDs).Get([]byte(id))
	if seq == nil {
		return change.Change{}, false, nil
	}
	c, err := change.Parse(v.w.tx.Bucket(bucketJournal).Get(seq))
	return c, err == nil, err
}

func (v view) Count() uint64 { return v.w.count }

func (v view) Came(device string) (*Came, error) { return v.w.came(device) }

// metaCount holds the highest count of any change.
var metaCount = []byte("count")

// highest returns the highest count of any change in the journal. A file of an earlier version does
// not record it, so every entry is read.
func highest(tx *transaction) (count uint64, err error) {
	if b := tx.Bucket(bucketMeta).Get(metaCount); len(b) == 8 {
		return binary.BigEndian.Uint64(b), nil
	}
	err = tx.Bucket(bucketJournal).ForEach(func(_, v []byte) error {
		c, err := change.Parse(v)
		if err != nil {
			return nil // a check reports damage; a damaged entry does not count here
		}
		count = max(count, c.Stamp.Count)
		return nil
	})
	if err != nil {
		return 0, err
	}
	return count, tx.Bucket(bucketMeta).Put(metaCount, number(count))
}

// checkSize refuses a change that would make a record too large to work with.
func checkSize(next *merge.State) error {
	if size := next.Size(); size > MaxRecord {
		return fmt.Errorf("%w: it would have %d bytes, and may have %d", ErrRecordFull, size, MaxRecord)
	}
	return nil
}
