package store_test

import (
	"bytes"
	"errors"
	"os"
	"testing"

	"gaugewright/sync/store"
	"gaugewright/sync/tight"
)

// TestBlobOnAFullDisk: a blob or a piece that finds no space is refused with the reason. Nothing
// half-written counts, and once there is space it is kept.
func TestBlobOnAFullDisk(t *testing.T) {
	if !tight.Alone(t) {
		return
	}
	s := open(t, t.TempDir())
	files := func() (names []string) {
		list, err := os.ReadDir(s.Dir() + "/blobs")
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			names = append(names, e.Name())
		}
		return names
	}
	b := bytes.Repeat([]byte("a photo of a gauge "), 20_000)
	name, total, half := nameOf(b), int64(len(b)), int64(len(b)/2)
	tight.RoomFor(t, 100_000, func() {
		if err := s.PutBlob(name, b); !errors.Is(err, store.ErrFull) {
			t.Errorf("whole: %v", err)
		}
	})
	if n, whole, err := s.Arrived(name); n != 0 || whole || err != nil || len(files()) != 0 {
		t.Errorf("%d arrived, whole %v, %v; %v lie there", n, whole, err, files())
	}
	if n, _, err := s.PutPiece(name, 0, total, b[:half]); n != half || err != nil {
		t.Fatalf("%d, %v", n, err)
	}
	tight.RoomFor(t, uint64(half)+50_000, func() {
		if n, whole, err := s.PutPiece(name, half, total, b[half:]); n != half || whole ||
			!errors.Is(err, store.ErrFull) {
			t.Errorf("a piece: %d, %v, %v", n, whole, err)
		}
	})
	if n, whole, err := s.Arrived(name); n != half || whole || err != nil {
		t.Errorf("%d arrived, whole %v, %v", n, whole, err)
	}
	if n, whole, err := s.PutPiece(name, half, total, b[half:]); n != total || !whole || err != nil {
		t.Fatalf("%d, %v, %v", n, whole, err)
	}
	if got, err := s.Blob(name); err != nil || !bytes.Equal(got, b) || len(files()) != 1 {
		t.Errorf("%d bytes, %v; %v lie there", len(got), err, files())
	}
}
