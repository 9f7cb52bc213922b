package store

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
)

var (
	// ErrBlobName is returned when a name is not 64 lower-case hexadecimal digits.
	ErrBlobName = errors.New("a blob is named by its SHA-256 in 64 lower-case hexadecimal digits")
	// ErrBlobHash is returned when the bytes do not have the hash they are named by.
	ErrBlobHash = errors.New("the bytes do not have this SHA-256")
	// ErrBlobSize is returned when a blob is larger than MaxBlob.
	ErrBlobSize = errors.New("the blob is too large")
)

// arriving begins the name of a blob that is not whole yet.
const arriving = "arriving-"

// IsBlobName says whether name is 64 lower-case hexadecimal digits.
func IsBlobName(name string) bool {
	for i := range len(name) {
		if c := name[i]; !(c >= '0' && c <= '9' || c >= 'a' && c <= 'f') {
			return false
		}
	}
	return len(name) == 2*sha256.Size
}

func (s *Store) blobPath(name string) (string, error) {
	if !IsBlobName(name) {
		return "", ErrBlobName
	}
	return filepath.Join(s.dir, "blobs", name), nil
}

// PutBlob keeps bytes under their SHA-256, synced with their folder when it returns. The same blob twice is the same as once.
func (s *Store) PutBlob(name string, b []byte) error {
	path, err := s.blobPath(name)
	if err != nil {
		return err
	}
	if len(b) > MaxBlob {
		return ErrBlobSize
	}
	if sum := sha256.Sum256(b); hex.EncodeToString(sum[:]) != name {
		return ErrBlobHash
	}
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(path), arriving+"*")
	if err != nil {
		return &Error{"write", path, err, ""}
	}
	_, err = f.Write(b)
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(&Error{"write", path, err, "is the disk full?"}, os.Remove(f.Name()))
	}
	return syncFolder(filepath.Dir(path))
}

// Blob returns the bytes of a blob; an error that is os.ErrNotExist where it has not arrived.
func (s *Store) Blob(name string) ([]byte, error) {
	path, err := s.blobPath(name)
	if err != nil {
		return nil, err
	}
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, &Error{"read", path, err, ""}
	}
	return b, nil
}

// HasBlob says whether a blob is here.
func (s *Store) HasBlob(name string) (bool, error) {
	path, err := s.blobPath(name)
	if err != nil {
		return false, err
	}
	_, err = os.Stat(path)
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}
