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
	// ErrBlobHash is returned when the bytes do not match the hash in their name.
	ErrBlobHash = errors.New("the bytes do not have this SHA-256")
	// ErrBlobSize is returned when a blob is larger than MaxBlob.
	ErrBlobSize = errors.New("the blob is too large")
)

// arriving begins the name of a blob that is not complete yet.
const arriving = "arriving-"

// IsBlobName reports whether name is 64 lower-case hexadecimal digits.
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
	return filepath.Join(s.folder, "blobs", name), nil
}

// PutBlob keeps bytes under their SHA-256. When it returns, they are synced with their folder.
// Putting the same blob twice is the same as once.
//
// Refuses: ErrBlobHash, ErrBlobSize; ErrFull if there is no room: then nothing of the blob is kept.
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
	if there, err := s.HasBlob(name); err != nil || there {
		return err
	}
	if is, err := s.erased(name); err != nil || is {
		return err
	}
	if s.options.Blobs != nil {
		return s.options.Blobs.Put(name, b)
	}
	if err := writeBlob(path, b); err != nil {
		return err
	}
	if err := os.Remove(piecesOf(path)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return &Error{"remove", piecesOf(path), err, ""}
	}
	return s.syncBlobs()
}

// writeBlob writes a blob that is whole under its name, or nothing. The folder is not synced yet.
func writeBlob(path string, b []byte) error {
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
	return nil
}

// ErrBlobPlace is returned when a piece does not begin where the pieces so far end.
var ErrBlobPlace = errors.New("the piece does not begin where the blob has come to")

// Arrived returns how much of a blob is here. whole says that all of it is.
func (s *Store) Arrived(name string) (n int64, whole bool, err error) {
	path, err := s.blobPath(name)
	if err != nil {
		return 0, false, err
	}
	if s.options.Blobs != nil {
		return s.arrivedElsewhere(name)
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

// PutPiece keeps a piece of a blob until the others have come, so that a broken line costs one
// piece. The last piece completes the blob, which is hashed only then. It is synced when PutPiece
// returns whole.
//
// Takes:   the blob's name, where the piece begins, how long the blob will be, the piece.
// Gives:   how much has arrived.
// Refuses: ErrFull if there is no room: then nothing of the piece counts. ErrBlobPlace, with what
// has arrived, for a piece that begins elsewhere. ErrBlobHash if the complete blob does not match
// its name: then nothing of it is kept, and the sender begins again.
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
	if n, whole, err = s.Arrived(name); err != nil || whole && s.options.Blobs == nil {
		return n, whole, err
	}
	if s.options.Blobs != nil {
		if whole {
			return n, true, s.dropPieces(name) // a server ended between the two
		}
		return s.putPieceElsewhere(name, from, total, b)
	}
	half := piecesOf(path)
	if n > total { // an earlier sender gave a greater length
		if err := os.Remove(half); err != nil {
			return n, false, &Error{"remove", half, err, ""}
		}
		n = 0
	}
	ended := n == total && n > 0 // all had come, but the blob could not be synced or named, or the power failed
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
	return s.options.SyncFolder(filepath.Join(s.folder, "blobs"))
}

// Blob returns the bytes of a blob. The error is os.ErrNotExist if it has not arrived, and
// ErrErased if it was erased.
func (s *Store) Blob(name string) ([]byte, error) {
	path, err := s.blobPath(name)
	if err != nil {
		return nil, err
	}
	var b []byte
	if s.options.Blobs != nil {
		b, err = s.options.Blobs.Get(name)
	} else {
		b, err = os.ReadFile(path)
	}
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

// HasBlob reports whether a blob is here.
func (s *Store) HasBlob(name string) (bool, error) {
	path, err := s.blobPath(name)
	if err != nil {
		return false, err
	}
	if s.options.Blobs != nil {
		_, err = s.options.Blobs.Size(name)
	} else {
		_, err = os.Stat(path)
	}
	if errors.Is(err, os.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}
