package store_test

import (
	"compress/gzip"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"
)

// oldFile puts a kept file of an earlier schema into a new data folder.
func oldFile(t *testing.T, name string) string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, store.File), b, 0o600); err != nil {
		t.Fatal(err)
	}
	return dir
}

// TestFirstSchemaIsBroughtUp: the kept file has 13 changes in four records, one held change and one
// private value, and no tree.
func TestFirstSchemaIsBroughtUp(t *testing.T) {
	dir := oldFile(t, "schema-1.db.gz")
	s := open(t, dir)
	entries, last, err := s.Since(0, 100, nil)
	if err != nil || last != 13 {
		t.Fatalf("last %d, %v", last, err)
	}
	var leaves []journal.Hash
	for _, e := range entries {
		leaves = append(leaves, journal.Leaf(e.Change.Bytes()))
	}
	want := journal.Root(leaves)
	h, err := s.Head()
	if err != nil || h.Size != 13 || h.Root != hex.EncodeToString(want[:]) || h.Epoch == "" || h.Epoch != s.Epoch() ||
		h.Verify(s.HeadKey()) != nil {
		t.Errorf("head %+v, %v", h, err)
	}
	held := store.Held{Reason: "not readable", Bytes: []byte(`{"x":1}`)}
	if err := s.Quarantine(held); err != nil {
		t.Fatal(err)
	}
	if list, err := s.Quarantined(); err != nil || len(list) != 1 {
		t.Errorf("%d held, %v", len(list), err)
	}
	if v, err := s.Private("users").Get("an"); err != nil || string(v) != "1" {
		t.Errorf("private value %q, %v", v, err)
	}
	epoch, key := s.Epoch(), s.HeadKey()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s = open(t, dir); s.Epoch() != epoch || s.HeadKey() != key {
		t.Error("epoch or key change by opening")
	}
}

// TestHeadsAreConsistent: each head is signed, and each earlier tree is shown to be the beginning
// of the last one.
func TestHeadsAreConsistent(t *testing.T) {
	at := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	s, err := openedWith(
		t.TempDir(),
		store.Options{NoSync: true, Now: func() time.Time { at = at.Add(time.Second); return at }},
	)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	var heads []store.Head
	for i := range 20 {
		var batch []change.Change
		for k := range i%4 + 1 {
			batch = append(batch, made(fmt.Sprintf("c%dx%d", i, k), "r1", "visit", "", "f", "1", uint64(i)))
		}
		add(t, s, batch...)
		add(t, s, batch...) // a repeat adds no entry and no head
		h, err := s.Head()
		if err != nil {
			t.Fatal(err)
		}
		if err := h.Verify(s.HeadKey()); err != nil {
			t.Fatal(err)
		}
		heads = append(heads, h)
	}
	last := heads[len(heads)-1]
	for _, h := range heads {
		proof, err := s.Consistency(h.Size, last.Size)
		if err != nil {
			t.Fatal(err)
		}
		if err := journal.CheckConsistency(int(h.Size), int(last.Size), hash(t, h.Root), hash(t, last.Root), proof); err != nil {
			t.Errorf("from %d to %d: %v", h.Size, last.Size, err)
		}
		if root, err := s.Root(h.Size); err != nil || root != h.Root {
			t.Errorf("root of %d: %s, %v", h.Size, root, err)
		}
	}
	for _, alter := range []func(h *store.Head){
		func(h *store.Head) { h.Size++ }, func(h *store.Head) { h.Root = heads[0].Root }, func(h *store.Head) { h.Time = heads[0].Time },
		func(h *store.Head) { h.Epoch = "e" }, func(h *store.Head) { h.Store = "s" }, func(h *store.Head) { h.Signature = heads[0].Signature },
	} {
		h := last
		alter(&h)
		if err := h.Verify(s.HeadKey()); !errors.Is(err, store.ErrSignature) {
			t.Errorf("an altered head is taken: %+v, %v", h, err)
		}
	}
	if _, err := s.Root(last.Size + 1); !errors.Is(err, journal.ErrRange) {
		t.Errorf("beyond the end: %v", err)
	}
}

func hash(t *testing.T, text string) journal.Hash {
	t.Helper()
	b, err := hex.DecodeString(text)
	if err != nil || len(b) != len(journal.Hash{}) {
		t.Fatalf("%q is no hash", text)
	}
	return journal.Hash(b)
}

func TestPieceKeepsItsBounds(t *testing.T) {
	s := open(t, t.TempDir())
	var all []change.Change
	for i := range 30 {
		all = append(all, made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i%3), "visit", "", "f", "1", uint64(i)))
	}
	add(t, s, all...)
	size := len(all[0].Bytes())
	for name, tt := range map[string]struct {
		b           store.Bounds
		looked      int
		taken, last int
	}{
		"changes": {store.Bounds{Changes: 4}, 10, 4, 10},
		"scan":    {store.Bounds{Scan: 8}, 8, 3, 8},
		"bytes":   {store.Bounds{Bytes: 3*size + size/2}, 9, 3, 9},
		"none":    {store.Bounds{}, 30, 10, 30},
	} {
		looked := 0
		list, last, err := s.Piece(
			0, tt.b, func(c *change.Change) (bool, error) { looked++; return c.Record == "r0", nil },
		)
		if err != nil || len(list) != tt.taken || looked > tt.looked || last > uint64(tt.last) ||
			last < list[len(list)-1].Seq {
			t.Errorf("%s: %d taken, %d looked at, last %d, %v", name, len(list), looked, last, err)
		}
	}
	failed := errors.New("no")
	if _, _, err := s.Piece(0, store.Bounds{}, func(*change.Change) (bool, error) { return false, failed }); !errors.Is(err, failed) {
		t.Errorf("the error of keep: %v", err)
	}
}
