package store

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
)

// Blobs keeps complete blobs by their names outside the data folder, for several servers at once.
// If a blob is missing, the error is fs.ErrNotExist.
type Blobs interface {
	// Put keeps a blob. The blob is safe when Put returns.
	Put(name string, b []byte) error
	Get(name string) ([]byte, error)
	// Size returns how many bytes a blob has.
	Size(name string) (int64, error)
	// Remove removes a blob; a missing blob is no error.
	Remove(name string) error
	// Each calls f with every blob.
	Each(f func(name string, size int64) error) error
}

// BlobsHere says whether blobs are in the store's folder, not elsewhere.
func (s *Store) BlobsHere() bool { return s.options.Blobs == nil }

// EachBlob calls f with the name and the size of every whole blob, in no order.
func (s *Store) EachBlob(f func(name string, size int64) error) error {
	if s.options.Blobs != nil {
		return s.options.Blobs.Each(f)
	}
	list, err := os.ReadDir(filepath.Join(s.folder, "blobs"))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return &Error{"read", s.folder, err, ""}
	}
	for _, e := range list {
		if !IsBlobName(e.Name()) {
			continue
		}
		info, err := e.Info()
		if errors.Is(err, os.ErrNotExist) {
			continue // it was erased meanwhile
		}
		if err == nil {
			err = f(e.Name(), info.Size())
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// CopyBlobs puts every whole blob elsewhere, but for those that are there already. said is called
// with how many have been looked at.
func (s *Store) CopyBlobs(to Blobs, said func(n int)) error {
	n := 0
	return s.EachBlob(func(name string, size int64) error {
		there, err := to.Size(name)
		if errors.Is(err, fs.ErrNotExist) {
			err, there = nil, -1
		}
		if err != nil {
			return err
		}
		if there != size {
			b, err := s.Blob(name)
			if errors.Is(err, ErrErased) {
				return nil
			}
			if err != nil {
				return err
			}
			if err := to.Put(name, b); err != nil {
				return err
			}
		}
		n++
		said(n)
		return nil
	})
}

// BringBlobs copies every blob that is kept elsewhere into a data folder, synced when it returns, but
// for those that are there already. said is called with how many have been looked at.
func BringBlobs(folder string, from Blobs, said func(n int)) error {
	dir := filepath.Join(folder, "blobs")
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return &Error{"make", dir, err, ""}
	}
	n := 0
	err := from.Each(func(name string, size int64) error {
		path := filepath.Join(dir, name)
		if info, err := os.Stat(path); IsBlobName(name) && (err != nil || info.Size() != size) {
			b, err := from.Get(name)
			if err != nil {
				return err
			}
			if err := writeBlob(path, b); err != nil {
				return err
			}
		}
		n++
		said(n)
		return nil
	})
	return errors.Join(err, SyncFolder(dir))
}

// arrivingPieces is the private part of the pieces of blobs that are kept elsewhere, until they are
// whole: by the blob's name, 0 and where the piece begins.
var arrivingPieces = []byte("arriving")

// putPieceElsewhere is PutPiece where blobs are kept elsewhere. The pieces are in the database, so
// that each may come to another server. The whole is put elsewhere outside the transaction: others
// do not wait for it.
func (s *Store) putPieceElsewhere(name string, from, total int64, b []byte) (n int64, whole bool, err error) {
	var had []byte
	err = s.together(func(tx *transaction) error {
		n = 0
		notes, err := tx.Bucket(bucketPrivate).CreateBucketIfNotExists(arrivingPieces)
		if err != nil {
			return err
		}
		var keys [][]byte
		had, keys = arrivedIn(notes, name)
		if n = int64(len(had)); n > total { // somebody said that it is longer
			had, n = nil, 0
			for _, k := range keys {
				if err := notes.Delete(k); err != nil {
					return err
				}
			}
		}
		if n == total && n > 0 { // all had come, and then it could not be put elsewhere
			return nil
		}
		if from != n {
			return ErrBlobPlace
		}
		if err := notes.Put(append(key(name, ""), number(uint64(from))...), b); err != nil {
			return err
		}
		had, n = append(had, b...), n+int64(len(b))
		return nil
	})
	if err != nil || n < total {
		return n, false, err
	}
	if sum := sha256.Sum256(had); hex.EncodeToString(sum[:]) != name {
		return 0, false, errors.Join(ErrBlobHash, s.dropPieces(name))
	}
	if err := s.options.Blobs.Put(name, had); err != nil {
		return n, false, err
	}
	return n, true, s.dropPieces(name)
}

// dropPieces removes what arrived of a blob that is whole elsewhere, or that nobody wants any more.
func (s *Store) dropPieces(name string) error {
	there := false
	err := s.view(func(tx *transaction) error {
		if notes := tx.Bucket(bucketPrivate).Bucket(arrivingPieces); notes != nil {
			k, _ := notes.Cursor().Seek(key(name, ""))
			there = bytes.HasPrefix(k, key(name, ""))
		}
		return nil
	})
	if err != nil || !there {
		return err
	}
	return s.update(func(tx *transaction) error {
		notes := tx.Bucket(bucketPrivate).Bucket(arrivingPieces)
		_, keys := arrivedIn(notes, name)
		for _, k := range keys {
			if err := notes.Delete(k); err != nil {
				return err
			}
		}
		return nil
	})
}

// arrivedIn returns what has arrived of a blob, and the keys of its pieces.
func arrivedIn(notes *bucket, name string) (b []byte, keys [][]byte) {
	prefix := key(name, "")
	c := notes.Cursor()
	for k, v := c.Seek(prefix); k != nil && bytes.HasPrefix(k, prefix); k, v = c.Next() {
		if binary.BigEndian.Uint64(k[len(prefix):]) != uint64(len(b)) {
			break
		}
		b, keys = append(b, v...), append(keys, bytes.Clone(k))
	}
	return b, keys
}

// arrivedElsewhere is Arrived for blobs that are kept elsewhere.
func (s *Store) arrivedElsewhere(name string) (n int64, whole bool, err error) {
	n, err = s.options.Blobs.Size(name)
	if err == nil {
		return n, true, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return 0, false, &Error{"look at", name, err, ""}
	}
	err = s.view(func(tx *transaction) error {
		n = 0
		if notes := tx.Bucket(bucketPrivate).Bucket(arrivingPieces); notes != nil {
			b, _ := arrivedIn(notes, name)
			n = int64(len(b))
		}
		return nil
	})
	return n, false, err
}

// removeElsewhere removes a blob that is kept elsewhere, and its pieces.
func (s *Store) removeElsewhere(name string) error {
	return errors.Join(s.options.Blobs.Remove(name), s.dropPieces(name))
}
