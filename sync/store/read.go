package store

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
)

// Record returns the state of a record, if it is there.
//
// Refuses: ErrDamaged for a record that cannot be read.
func (s *Store) Record(id string) (state merge.State, ok bool, err error) {
	err = s.view(func(tx *transaction) error {
		state, ok, err = stateOf(tx, id)
		return err
	})
	if err != nil {
		return merge.State{ID: id, Damaged: err.Error()}, false, &Error{"read record " + id + " of", s.dir, err, ""}
	}
	return state, ok, nil
}

// listed reads a record that an index names. If its bytes cannot be read, it returns the id and
// what is wrong, so that the record hides no other.
func listed(tx *transaction, id, kind string) (merge.State, error) {
	state, ok, err := stateOf(tx, id)
	switch {
	case errors.Is(err, ErrDamaged):
		return merge.State{ID: id, Kind: kind, Damaged: err.Error()}, nil
	case err == nil && !ok:
		return merge.State{
			ID: id, Kind: kind,
			Damaged: fmt.Sprintf("%v: %s: an index names it, and it is not here", ErrDamaged, id),
		}, nil
	}
	return state, err
}

// collect reads the records whose ids follow a prefix in an index.
func (s *Store) collect(index []byte, prefix []byte) ([]merge.State, error) {
	var list []merge.State
	err := s.view(func(tx *transaction) error {
		c := tx.Bucket(index).Cursor()
		for k, _ := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
			id := string(k[len(prefix):])
			state, err := listed(tx, id, "")
			if err != nil {
				return err
			}
			list = append(list, state)
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read records of", s.dir, err, ""}
	}
	return list, nil
}

// ByKind returns the records of a kind in the order in which they came here, from the one after an
// id, at most limit (0: all). After an unknown id there is nothing.
func (s *Store) ByKind(kind, after string, limit int) (list []merge.State, err error) {
	err = s.view(func(tx *transaction) error {
		c, prefix := tx.Bucket(bucketKinds).Cursor(), key(kind, "")
		k, id := c.Seek(prefix)
		if after != "" {
			began := beginning(tx, after)
			if began == nil {
				return nil
			}
			if k, id = c.Seek(append(bytes.Clone(prefix), began...)); string(id) == after {
				k, id = c.Next()
			}
		}
		for ; k != nil && bytes.HasPrefix(k, prefix); k, id = c.Next() {
			state, err := listed(tx, string(id), kind)
			if err != nil {
				return err
			}
			if list = append(list, state); len(list) == limit {
				return nil
			}
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read records of", s.dir, err, ""}
	}
	return list, nil
}

// Merged lists records that several changes made, in the order of their ids, of those after an id
// ("": from the first). It looks at no more than scan records and returns the last one, from which
// the next call goes on, "" after all of them.
func (s *Store) Merged(after string, scan int) (ids []string, last string, err error) {
	err = s.view(func(tx *transaction) error {
		c := tx.Bucket(bucketRecords).Cursor()
		k, kept := c.Seek([]byte(after))
		if k != nil && string(k) == after {
			k, kept = c.Next()
		}
		for ; k != nil; k, kept = c.Next() {
			if _, alone := pointed(kept); !alone {
				ids = append(ids, string(k))
			}
			if scan--; scan == 0 {
				last = string(k)
				return nil
			}
		}
		return nil
	})
	if err != nil {
		return nil, "", &Error{"read records of", s.dir, err, ""}
	}
	return ids, last, nil
}

// Names returns the ids of all records of a kind in the order in which they came here. It reads
// none of the records.
func (s *Store) Names(kind string) (list []string, err error) {
	err = s.view(func(tx *transaction) error {
		prefix := key(kind, "")
		c := tx.Bucket(bucketKinds).Cursor()
		for k, id := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, id = c.Next() {
			list = append(list, string(id))
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"list the records of", s.dir, err, ""}
	}
	return list, nil
}

// Children returns the records whose parent is id.
func (s *Store) Children(id string) ([]merge.State, error) {
	return s.collect(bucketParents, key(id, ""))
}

// ChildrenOf returns the records of a kind whose parent is id. It reads no others: the runs of a
// visit are many times as long as its certificate.
func (s *Store) ChildrenOf(id, kind string) (list []merge.State, err error) {
	err = s.view(func(tx *transaction) error {
		kinds, prefix := tx.Bucket(bucketKinds), key(id, "")
		c := tx.Bucket(bucketParents).Cursor()
		for k, _ := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
			child := string(k[len(prefix):])
			if string(kinds.Get(append(key(kind, ""), beginning(tx, child)...))) != child {
				continue
			}
			state, err := listed(tx, child, kind)
			if err != nil {
				return err
			}
			list = append(list, state)
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read records of", s.dir, err, ""}
	}
	return list, nil
}

// Lookup returns the records of a kind that have a text in one of the indexed fields: tag, serial
// and label of an instrument, serial of a standard, code of a site, name of a method.
func (s *Store) Lookup(kind, field, value string) ([]merge.State, error) {
	if strings.ContainsRune(value, 0) {
		return nil, nil
	}
	return s.collect(bucketLookup, key(kind, field, value, ""))
}

// Entry is one line of the journal.
type Entry struct {
	Seq    uint64
	Change change.Change
}

// Bounds limit one reading of the journal; 0 is no limit.
type Bounds struct {
	Changes int // at most so many are returned
	Bytes   int // it stops once those taken have so many bytes
	Scan    int // it looks at no more than so many, taken or not
}

// Piece returns the journal's entries after a sequence number that keep accepts (nil: all), within
// bounds. It also returns the last number that it looked at, from which the next call goes on. An
// error of keep ends it. keep is called between transactions, so that it may read the store.
func (s *Store) Piece(
	seq uint64, b Bounds, keep func(*change.Change) (bool, error),
) (list []Entry, last uint64, err error) {
	last = seq
	looked, size := 0, 0
	for {
		most := maxSome
		if b.Changes > 0 {
			most = min(most, max(b.Changes-len(list), 1))
		}
		some, sizes, err := s.some(last, most)
		if err != nil {
			return nil, 0, &Error{"read the journal of", s.dir, err, ""}
		}
		if len(some) == 0 {
			return list, last, nil
		}
		for i, e := range some {
			if planted == "the cursor skips an entry at the bound of bytes" && b.Bytes > 0 && size > 0 &&
				size+sizes[i] > b.Bytes {
				return list, e.Seq, nil
			}
			if b.Changes > 0 && len(list) >= b.Changes || b.Scan > 0 && looked >= b.Scan || b.Bytes > 0 && size > 0 &&
				size+sizes[i] > b.Bytes {
				return list, last, nil
			}
			looked++
			yes := keep == nil
			if !yes {
				if yes, err = keep(&e.Change); err != nil {
					return nil, 0, err
				}
			}
			last = e.Seq
			if yes {
				size += sizes[i]
				list = append(list, e)
			}
		}
	}
}

// some reads the next few entries.
func (s *Store) some(after uint64, most int) (list []Entry, sizes []int, err error) {
	err = s.view(func(tx *transaction) error {
		c := tx.Bucket(bucketJournal).Cursor()
		size := 0
		for k, v := c.Seek(number(after + 1)); k != nil && len(list) < most && size < maxSomeBytes; k, v = c.Next() {
			one, err := change.Parse(v)
			if err != nil {
				return err
			}
			size += len(v)
			list, sizes = append(list, Entry{binary.BigEndian.Uint64(k), one}), append(sizes, len(v))
		}
		return nil
	})
	return list, sizes, err
}

// Since is Piece with a bound on the number of entries only.
func (s *Store) Since(seq uint64, limit int, keep func(*change.Change) bool) (list []Entry, last uint64, err error) {
	if keep == nil {
		return s.Piece(seq, Bounds{Changes: limit}, nil)
	}
	return s.Piece(seq, Bounds{Changes: limit}, func(c *change.Change) (bool, error) { return keep(c), nil })
}

// Last returns the sequence number of the newest entry.
func (s *Store) Last() (last uint64, err error) {
	err = s.view(func(tx *transaction) error {
		last = tx.Bucket(bucketJournal).Sequence()
		return nil
	})
	return last, err
}

// History returns every change of a record, oldest first.
func (s *Store) History(record string) (list []Entry, err error) {
	err = s.view(func(tx *transaction) error {
		take := func(seq []byte) error {
			one, err := change.Parse(tx.Bucket(bucketJournal).Get(seq))
			if err != nil {
				return err
			}
			list = append(list, Entry{binary.BigEndian.Uint64(seq), one})
			return nil
		}
		if seq, ok := pointed(tx.Bucket(bucketRecords).Get([]byte(record))); ok {
			return take(seq)
		}
		prefix := key(record, "")
		c := tx.Bucket(bucketHistory).Cursor()
		for k, _ := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, _ = c.Next() {
			if err := take(k[len(prefix):]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, &Error{"read the history of " + record + " in", s.dir, err, ""}
	}
	return list, nil
}
