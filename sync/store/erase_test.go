package store_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// TestAnErasedPhoto is gone from the disk, does not come back, and leaves the proofs whole.
func TestAnErasedPhoto(t *testing.T) {
	dir := t.TempDir()
	s, err := opened(dir)
	if err != nil {
		t.Fatal(err)
	}
	photo := []byte("a face")
	sum := sha256.Sum256(photo)
	name := hex.EncodeToString(sum[:])
	c := made("c1", "v1", "visit", "", "photo.a", `{"sha256":"`+name+`"}`, 1)
	if _, err := s.Add(context.Background(), []change.Change{c}); err != nil {
		t.Fatal(err)
	}
	if err := s.PutBlob(name, photo); err != nil {
		t.Fatal(err)
	}
	head, err := s.Head()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.EraseBlob(name, "asked for by the person"); err != nil {
		t.Fatal(err)
	}
	gone := func(when string) {
		t.Helper()
		if _, err := s.Blob(name); !errors.Is(err, store.ErrErased) {
			t.Errorf("%s: %v", when, err)
		}
		if _, err := os.Stat(filepath.Join(dir, "blobs", name)); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%s: it is on the disk: %v", when, err)
		}
	}
	gone("after it was erased")
	if err := s.PutBlob(name, photo); err != nil {
		t.Errorf("a phone that brings it again must be done with it: %v", err)
	}
	gone("after it was brought again")
	if n, whole, err := s.PutPiece(name, 0, int64(len(photo)), photo[:2]); err != nil || !whole ||
		n != int64(len(photo)) {
		t.Errorf("in pieces: %d %v %v", n, whole, err)
	}
	gone("after it was brought in pieces")
	after, err := s.Head()
	if err != nil || after.Root != head.Root {
		t.Errorf("the journal's root moved: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := checked(dir)
	if err != nil || len(r.Damage) != 0 || !strings.Contains(strings.Join(r.Notes, "\n"), "was erased on") {
		t.Errorf("%+v %v", r, err)
	}
	if err := os.WriteFile(filepath.Join(dir, "blobs", name), photo, 0o600); err != nil {
		t.Fatal(err)
	}
	if r, err := checked(dir); err != nil || len(r.Damage) != 1 {
		t.Errorf("put back by hand: %+v %v", r, err)
	}
}
