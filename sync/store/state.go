package store

import (
	"bytes"
	"errors"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"

	"go.etcd.io/bbolt"
)

// A record that one change made is kept as the number of that change in the journal, where its values stand already: most records of a plant's
// past are written once, and every value would lie in the file twice. It has no line in the history either. A second change puts the whole state in
// its place, and lines for both.
const pointerMark = '#' // no state begins with it

func pointer(seq []byte) []byte { return append([]byte{pointerMark}, seq...) }

// pointed returns the number of the change that alone makes a record, if it is kept so.
func pointed(kept []byte) (seq []byte, ok bool) {
	if len(kept) != 9 || kept[0] != pointerMark {
		return nil, false
	}
	return kept[1:], true
}

var errNoEntry = errors.New("the change that makes the record is missing from the journal")

// beginning returns the number of the change that began a record, nil where there is none.
func beginning(tx *bbolt.Tx, id string) []byte {
	if seq, ok := pointed(tx.Bucket(bucketRecords).Get([]byte(id))); ok {
		return seq
	}
	prefix := key(id, "")
	if k, _ := tx.Bucket(bucketHistory).Cursor().Seek(prefix); bytes.HasPrefix(k, prefix) {
		return k[len(prefix):]
	}
	return nil
}

// stateOf reads a record, if it is there.
func stateOf(tx *bbolt.Tx, id string) (merge.State, bool, error) {
	kept := tx.Bucket(bucketRecords).Get([]byte(id))
	if kept == nil {
		return merge.State{}, false, nil
	}
	seq, ok := pointed(kept)
	if !ok {
		s, err := merge.ParseState(kept)
		return s, err == nil, err
	}
	entry := tx.Bucket(bucketJournal).Get(seq)
	if entry == nil {
		return merge.State{}, false, errNoEntry
	}
	one, err := change.Parse(entry)
	if err != nil {
		return merge.State{}, false, err
	}
	if one.Record != id {
		return merge.State{}, false, errNoEntry
	}
	s, err := merge.Apply(merge.State{}, one)
	return s, err == nil, err
}

// filled is a bucket whose keys only ever grow: its pages are filled to the end, since nothing comes between.
func filled(tx *bbolt.Tx, name []byte) *bbolt.Bucket {
	b := tx.Bucket(name)
	b.FillPercent = 1
	return b
}
