package store_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"testing"

	"gaugewright/sync/store"
)

func nameOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// FuzzPieces sends pieces of a blob as the fuzzed bytes say: where each begins, how long it is,
// whether it is altered. In any order, a complete blob has the bytes of its name, and the honest
// pieces in their order always complete it.
func FuzzPieces(f *testing.F) {
	f.Add([]byte("a photo of a gauge"), []byte{0, 5, 0, 5, 13, 0})
	f.Add([]byte("another"), []byte{0, 3, 0, 0, 3, 0, 3, 4, 1, 0, 7, 0})
	f.Add([]byte{}, []byte{0, 0, 0})
	f.Add([]byte("abc"), []byte{0, 3, 62})
	f.Add([]byte("x"), []byte{1, 1, 0, 0, 9, 0, 0, 1, 2})
	s, err := store.OpenWith(f.TempDir(), quick)
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() {
		if err := s.Close(); err != nil {
			f.Error(err)
		}
	})
	f.Fuzz(func(t *testing.T, b, moves []byte) {
		if len(b) > 250 {
			b = b[:250]
		}
		name, total := nameOf(b), int64(len(b))
		path := s.Dir() + "/blobs/" + name
		remove := func() {
			for _, p := range []string{path, s.Dir() + "/blobs/arriving-" + name} {
				if err := os.Remove(p); err != nil && !errors.Is(err, os.ErrNotExist) {
					t.Fatal(err)
				}
			}
		}
		remove()
		defer remove()
		look := func(n int64, whole bool, err error) {
			t.Helper()
			if err != nil && !errors.Is(err, store.ErrBlobPlace) && !errors.Is(err, store.ErrBlobSize) &&
				!errors.Is(err, store.ErrBlobHash) {
				t.Fatal(err)
			}
			got, readErr := s.Blob(name)
			if there := readErr == nil; there && string(got) != string(b) || whole && !there || n < 0 {
				t.Fatalf("%d arrived, whole %v: %q, %v", n, whole, got, readErr)
			}
		}
		for ; len(moves) >= 3; moves = moves[3:] {
			from, to := min(int64(moves[0]), total), min(int64(moves[0])+int64(moves[1]), total)
			piece := append([]byte{}, b[from:to]...)
			if len(piece) > 0 && moves[2]&1 == 1 {
				piece[int(moves[2])%len(piece)] ^= 0x40
			}
			said := total
			if moves[2]&2 == 2 {
				said = int64(moves[2])
			}
			if moves[2]&4 == 4 {
				piece = append(piece, "more than there is"...)
			}
			look(s.PutPiece(name, int64(moves[0]), said, piece))
		}
		for range 3 { // a bad piece costs one restart
			n, whole, err := s.Arrived(name)
			if err != nil {
				t.Fatal(err)
			}
			if whole {
				break
			}
			if n > total {
				n = 0
			}
			look(s.PutPiece(name, n, total, b[n:]))
		}
		if _, whole, err := s.Arrived(name); err != nil || !whole {
			t.Fatalf("it is not whole: %v", err)
		}
	})
}

// TestPiecesThatOnlyLackTheirName: all bytes had come and the power failed before they were named.
// The next send then completes the blob, or restarts it if the bytes do not match the name.
func TestPiecesThatOnlyLackTheirName(t *testing.T) {
	s := open(t, t.TempDir())
	b := []byte("a photo of a gauge")
	for _, tt := range []struct {
		lies  []byte
		whole bool
	}{{b, true}, {[]byte("a photo of a house"), false}} {
		name, total := nameOf(b), int64(len(b))
		if err := os.WriteFile(s.Dir()+"/blobs/arriving-"+name, tt.lies, 0o600); err != nil {
			t.Fatal(err)
		}
		if n, whole, err := s.Arrived(name); n != total || whole || err != nil {
			t.Errorf("%d arrived, whole %v, %v", n, whole, err)
		}
		n, whole, err := s.PutPiece(name, 0, total, b[:5])
		if tt.whole && (n != total || !whole || err != nil) || !tt.whole &&
			(n != 0 || whole || !errors.Is(err, store.ErrBlobHash)) {
			t.Errorf("%q: %d, %v, %v", tt.lies, n, whole, err)
		}
		if tt.whole {
			if err := os.Remove(s.Dir() + "/blobs/" + name); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if n, whole, err := s.PutPiece(name, 0, total, b); n != total || !whole || err != nil {
			t.Errorf("begun anew: %d, %v, %v", n, whole, err)
		}
	}
}
