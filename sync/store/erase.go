package store

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"
)

// ErrErased is returned for a blob that was erased.
var ErrErased = errors.New("it was erased")

// erasures are kept in the private part, by the blob's name.
const erasures = "erased"

type erasure struct {
	At  string `json:"at"`
	Why string `json:"why"`
}

// EraseBlob takes a blob out for good, because it shows a person who may ask for that. The records
// go on naming it by its hash, so that the journal's proofs stay whole. Who brings it again is told
// that it is here, and nothing of it is kept. more goes with the note of it.
func (s *Store) EraseBlob(name, why string, more ...Step) error {
	path, err := s.blobPath(name)
	if err != nil {
		return err
	}
	b, err := json.Marshal(erasure{s.options.Now().UTC().Format(time.RFC3339), why})
	if err != nil {
		return err
	}
	if err := s.Private(erasures).Put(name, b, more...); err != nil {
		return err
	}
	s.pieces.Lock()
	defer s.pieces.Unlock()
	for _, one := range []string{path, piecesOf(path)} {
		if err := os.Remove(one); err != nil && !errors.Is(err, os.ErrNotExist) {
			return &Error{"remove", one, err, ""}
		}
	}
	return SyncFolder(filepath.Dir(path))
}

// erased says whether a blob was erased.
func (s *Store) erased(name string) (bool, error) {
	b, err := s.Private(erasures).Get(name)
	return b != nil, err
}

// erased notes which blobs that records name were erased, and damages where one is here all the
// same.
func (w *walk) erased(tx *bbolt.Tx) error {
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
		if _, err := os.Stat(filepath.Join(w.dir, "blobs", string(k))); err == nil {
			w.damage("erased", "%s was erased on %s and is here all the same", k, e.At)
		}
		return nil
	})
}
