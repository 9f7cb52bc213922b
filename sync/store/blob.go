package store

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
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

// PutBlob keeps bytes under their SHA-256, synced with their folder when it returns. The same blob
// twice is the same as once.
//
// Refuses: ErrBlobHash, ErrBlobSize; ErrFull where there is no room: nothing of it is kept then.
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
	if is, err := s.erased(name); err != nil || is {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), arriving+"*")
	if err != nil {
		return &Error{"write", path, err, ""}
	}
	_, err = f.Write(b)
	if err = errors.Join(err, syncBlob(f), f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(&Error{"write", path, err, "is the disk full?"}, os.Remove(f.Name()))
	}
	if err := os.Remove(piecesOf(path)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return &Error{"remove", piecesOf(path), err, ""}
	}
	return s.syncBlobs()
}

// ErrBlobPlace is returned when a piece does not begin where those that have arrived end.
var ErrBlobPlace = errors.New("the piece does not begin where the blob has come to")

// Arrived says how much of a blob is here; whole, that it is here to its end.
func (s *Store) Arrived(name string) (n int64, whole bool, err error) {
	path, err := s.blobPath(name)
	if err != nil {
		return 0, false, err
	}
	if info, err := os.Stat(path); err == nil {
		return info.Size(), true, nil
	}
	info, err := os.Stat(piecesOf(path))
	if errors.Is(err, os.ErrNotExist) {
		return 0, false, nil
	}
	if err != nil {
		return 0, false, &Error{"look at", path, err, ""}
	}
	return info.Size(), false, nil
}

func piecesOf(path string) string {
	return filepath.Join(filepath.Dir(path), arriving+filepath.Base(path))
}

// PutPiece keeps a piece of a blob until the others have come, so that a line that breaks costs one
// piece. The last one makes the blob: only then is it hashed, and synced when PutPiece returns
// whole.
//
// Takes:   the blob's name, where the piece begins, how long the blob will be, the piece.
// Gives:   how much has arrived.
// Refuses: ErrFull where there is no room: nothing of the piece counts then. ErrBlobPlace, with
// what has arrived, for a piece that begins elsewhere; ErrBlobHash when the whole is not what it is
// named by: then nothing of it is kept and the sender begins again.
func (s *Store) PutPiece(name string, from, total int64, b []byte) (n int64, whole bool, err error) {
	path, err := s.blobPath(name)
	if err != nil {
		return 0, false, err
	}
	if total < 0 || total > MaxBlob || from < 0 || from+int64(len(b)) > total {
		return 0, false, ErrBlobSize
	}
	if is, err := s.erased(name); err != nil || is {
		return total, is, err
	}
	s.pieces.Lock()
	defer s.pieces.Unlock()
	if n, whole, err = s.Arrived(name); err != nil || whole {
		return n, whole, err
	}
	half := piecesOf(path)
	if n > total { // somebody said that it is longer
		if err := os.Remove(half); err != nil {
			return n, false, &Error{"remove", half, err, ""}
		}
		n = 0
	}
	ended := n == total && n > 0 // all had come, and then it could not be synced or named, or the power went
	if from != n && !ended {
		return n, false, ErrBlobPlace
	}
	fail := func(err error) (int64, bool, error) { return n, false, &Error{"write", half, err, "is the disk full?"} }
	f, err := os.OpenFile(half, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return fail(err)
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	if !ended {
		if _, err := f.WriteAt(b, from); err != nil {
			return fail(errors.Join(err, f.Truncate(from)))
		}
		n += int64(len(b))
	}
	if n < total {
		return n, false, nil
	}
	h := sha256.New()
	if _, err := io.Copy(h, io.NewSectionReader(f, 0, n)); err != nil {
		return fail(err)
	}
	if hex.EncodeToString(h.Sum(nil)) != name && planted != "a blob is not hashed" {
		return 0, false, errors.Join(ErrBlobHash, os.Remove(half))
	}
	if err := syncBlob(f); err != nil {
		return fail(err)
	}
	if err := os.Rename(half, path); err != nil {
		return fail(err)
	}
	return n, true, s.syncBlobs()
}

func syncBlob(f *os.File) error {
	if planted == "a blob is not synced" {
		return nil
	}
	return f.Sync()
}

// syncBlobs makes sure that the names of blobs are on the disk.
func (s *Store) syncBlobs() error {
	if planted == "the folder of blobs is not synced" {
		return nil
	}
	return s.options.SyncFolder(filepath.Join(s.dir, "blobs"))
}

// Blob returns the bytes of a blob; an error that is os.ErrNotExist where it has not arrived,
// ErrErased where it was erased.
func (s *Store) Blob(name string) ([]byte, error) {
	path, err := s.blobPath(name)
	if err != nil {
		return nil, err
	}
	b, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		is, why := s.erased(name)
		if why != nil {
			return nil, why
		}
		if is {
			return nil, ErrErased
		}
	}
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
