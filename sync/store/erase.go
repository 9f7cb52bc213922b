package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
)

// ErrErased is returned for a blob that was erased.
var ErrErased = errors.New("it was erased")

// erasures are kept in the private part, by the blob's name.
const erasures = "erased"

type erasure struct {
	At  string `json:"at"`
	Why string `json:"why"`
}

// Erasure is what a record says was erased from one of its changes: the leaf that the journal's
// tree keeps for the entry, and what is left of the entry. A change that sets the field
// ErasureField to it erases wherever it arrives, here, at hubs and on phones.
type Erasure struct {
	Change string        `json:"change"`
	Values []ErasedValue `json:"values"`
	Blobs  []string      `json:"blobs,omitempty"` // by their hash
	Leaf   string        `json:"leaf"`            // of the entry as it was, in hexadecimal
	Rest   string        `json:"rest"`            // SHA-256 of what is left of the entry
	By     string        `json:"by"`              // who erased it, the id of an account
	At     string        `json:"at"`
	Why    string        `json:"why"`
	// Now replaces hashes that were made of the original value by hashes of what is left: of the
	// content of signatures and approvals by their change, of certificates' records by their id.
	Now map[string]string `json:"now,omitempty"`
}

// ErasedValue is what was erased from one value.
type ErasedValue struct {
	Field   string   `json:"field"`
	Members []string `json:"members"`
	Digest  string   `json:"digest"` // of the original value, as statements have it
	Left    string   `json:"left"`   // the same of what is left of it
}

// ErasureField returns the name of the field that says what was erased from a change.
func ErasureField(change string) string { return "erased." + change }

// ErasureOf returns what a record says was erased from one of its changes.
func ErasureOf(s *merge.State, change string) (e Erasure, ok bool) {
	b, ok := s.Value(ErasureField(change))
	return e, ok && json.Unmarshal(b, &e) == nil
}

// erase replaces a change's entry by what is left of it, if a change says that something was erased
// from it, and records which blobs go. The tree keeps the leaf of the original entry.
func (w *writer) erase(c *change.Change, t *touched) error {
	for _, set := range c.Set {
		id := merge.Erases(set.Field)
		if id == "" {
			continue
		}
		t.erased = true
		all := merge.ReadErased(set.Value)
		if err := errors.Join(w.eraseEntry(c.Record, id, all), w.aside.erase(c.Record, id, all)); err != nil {
			return err
		}
		var e Erasure
		if json.Unmarshal(set.Value, &e) != nil || len(e.Blobs) == 0 {
			continue
		}
		notes, err := w.tx.Bucket(bucketPrivate).CreateBucketIfNotExists([]byte(erasures))
		if err != nil {
			return err
		}
		note, err := json.Marshal(erasure{e.At, e.Why})
		if err != nil {
			return err
		}
		for _, name := range e.Blobs {
			if !IsBlobName(name) {
				continue
			}
			if err := notes.Put([]byte(name), note); err != nil {
				return err
			}
			w.gone = append(w.gone, name)
		}
	}
	return nil
}

func (w *writer) eraseEntry(record, id string, all []merge.Erased) error {
	seq := w.tx.Bucket(bucketIDs).Get([]byte(id))
	if seq == nil {
		return nil // it is erased when it comes
	}
	entries := w.tx.Bucket(bucketJournal)
	one, err := change.Parse(bytes.Clone(entries.Get(seq)))
	if err != nil || one.Record != record {
		return err
	}
	left := merge.Without(one, all)
	return entries.Put(bytes.Clone(seq), left.Bytes())
}

// isErased reports whether an entry and a change are the same apart from what was erased from one.
func isErased(entry []byte, c *change.Change) bool {
	one, err := change.Parse(entry)
	return err == nil && merge.SameButErased(&one, c)
}

// vouchedLeaf returns the leaf of a change as it was, where its record says that the bytes of an
// entry are what was left of it. The office says that of its own journal alone, so that the change
// was in it.
func vouchedLeaf(s *merge.State, id string, entry []byte) (leaf journal.Hash, ok bool) {
	f, ok := s.Field(ErasureField(id))
	if !ok || planted == "what is left is as good as anything" {
		return leaf, false
	}
	rest := sha256.Sum256(entry)
	for i := range f.Heads {
		var e Erasure
		if json.Unmarshal(f.Heads[i].Value, &e) != nil || e.Rest != hex.EncodeToString(rest[:]) {
			continue
		}
		if b, err := hex.DecodeString(e.Leaf); err == nil && len(b) == len(leaf) {
			return journal.Hash(b), true
		}
	}
	return leaf, false
}

// Vouches says whether a change is what was left of one of this journal: its record here says so.
// Whoever brings it after an older copy was restored need not be believed.
func (s *Store) Vouches(c *change.Change) (bool, error) {
	state, ok, err := s.Record(c.Record)
	if err != nil || !ok {
		return false, err
	}
	_, ok = vouchedLeaf(&state, c.ID, c.Bytes())
	return ok, nil
}

// leafOf returns the leaf of an entry: that of its bytes, or where something was erased of it the
// one that the tree has, if the erasure names that and what is left.
func (w *walk) leafOf(tx *transaction, n int, entry []byte, kept journal.Hash) journal.Hash {
	leaf := journal.Leaf(entry)
	if kept == leaf {
		return leaf
	}
	one, err := change.Parse(entry)
	if err != nil {
		return leaf
	}
	state, _, err := stateOf(tx, one.Record)
	if err != nil {
		return leaf
	}
	e, ok := ErasureOf(&state, one.ID)
	rest := sha256.Sum256(entry)
	if !ok || e.Leaf != hex.EncodeToString(kept[:]) || e.Rest != hex.EncodeToString(rest[:]) {
		return leaf
	}
	w.report.Notes = append(w.report.Notes, fmt.Sprintf(
		"of entry %d (change %s) personal values were erased on %s by %s: %s", n, one.ID, e.At, e.By, e.Why,
	))
	return kept
}

// erasedEntries reports damage if something is here that a record says was erased.
func (w *walk) erasedEntries(tx *transaction, s *merge.State) {
	for i := range s.Fields {
		id := merge.Erases(s.Fields[i].Name)
		if id == "" {
			continue
		}
		entry := tx.Bucket(bucketJournal).Get(tx.Bucket(bucketIDs).Get([]byte(id)))
		one, err := change.Parse(entry)
		if err != nil || one.Record != s.ID {
			continue // it has not come, or is damaged
		}
		if left := merge.Without(one, merge.ErasedIn(s, id)); !bytes.Equal(left.Bytes(), entry) {
			w.damage("erased", "values of change %s of %s were erased and are here all the same", id, s.ID)
		}
	}
}

// EraseBlob removes a blob for good, because it shows a person who may ask for that. The records go
// on naming it by its hash, so that the journal's proofs stay valid. A sender who brings it again
// gets the reply that it is here, and nothing of it is kept. more is written together with the note of the
// erasure.
func (s *Store) EraseBlob(name, why string, more ...Step) error {
	if _, err := s.blobPath(name); err != nil {
		return err
	}
	b, err := json.Marshal(erasure{s.options.Now().UTC().Format(time.RFC3339), why})
	if err != nil {
		return err
	}
	if err := s.Private(erasures).Put(name, b, more...); err != nil {
		return err
	}
	return s.removeBlob(name)
}

// removeBlob removes the file of a blob that is recorded as erased, and its pieces.
func (s *Store) removeBlob(name string) error {
	path, err := s.blobPath(name)
	if err != nil {
		return err
	}
	s.pieces.Lock()
	defer s.pieces.Unlock()
	if s.options.Blobs != nil {
		return s.removeElsewhere(name)
	}
	for _, one := range []string{path, piecesOf(path)} {
		if err := os.Remove(one); err != nil && !errors.Is(err, os.ErrNotExist) {
			return &Error{"remove", one, err, ""}
		}
	}
	return SyncFolder(filepath.Dir(path))
}

// erased reports whether a blob was erased.
func (s *Store) erased(name string) (bool, error) {
	b, err := s.Private(erasures).Get(name)
	return b != nil, err
}

// erased notes which blobs that records name were erased, and reports damage if one is here all the
// same.
func (w *walk) erased(tx *transaction) error {
	b := tx.Bucket(bucketPrivate).Bucket([]byte(erasures))
	if b == nil {
		return nil
	}
	return b.ForEach(func(k, v []byte) error {
		var e erasure
		if err := json.Unmarshal(v, &e); err != nil {
			w.damage("erased", "what is noted of %s is damaged", k)
			return nil
		}
		if of := w.wanted[string(k)]; of != "" {
			w.report.Notes = append(w.report.Notes, fmt.Sprintf("blob %s of %s was erased on %s", k, of, e.At))
		}
		delete(w.wanted, string(k))
		if w.has(string(k)) {
			w.damage("erased", "%s was erased on %s and is here all the same", k, e.At)
		}
		return nil
	})
}
