package store_test

import (
	"bytes"
	"encoding/binary"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

var cuts = flag.Int("cuts", 1000, "how many power cuts to simulate")

const pageSize = 4096

// cut returns what a disk may hold after a power cut in a transaction that took a database from one
// image to the next. bbolt first syncs the pages of the transaction, then the page that makes them
// valid. whole says that the transaction must be there.
func cut(random *rand.Rand, before, after []byte) (image []byte, whole, gone bool) {
	txid := func(b []byte, page int) uint64 { return binary.LittleEndian.Uint64(b[page*pageSize+16+48:]) }
	newest := 0
	if txid(after, 1) > txid(after, 0) {
		newest = 1
	}
	switch random.IntN(3) {
	case 0: // within the pages: each is there, missing, or torn at a sector
		image = bytes.Clone(before)
		for at := 2 * pageSize; at < len(after); at += pageSize {
			if at >= len(image) {
				image = append(image, make([]byte, pageSize)...)
			}
			switch random.IntN(4) {
			case 0, 1:
				copy(image[at:at+pageSize], after[at:at+pageSize])
			case 2:
				n := 512 * random.IntN(9)
				copy(image[at:at+n], after[at:at+n])
			}
		}
		return image, false, true
	case 1: // between the syncs: all pages are there, and a part of the last one, perhaps all of it that counts
		image = bytes.Clone(after)
		if len(before) > newest*pageSize {
			copy(image[newest*pageSize:(newest+1)*pageSize], before[newest*pageSize:])
		}
		n := random.IntN(16 + 64 + 1)
		copy(image[newest*pageSize:newest*pageSize+n], after[newest*pageSize:])
		return image, false, false
	}
	return bytes.Clone(after), true, false // after both syncs, before anyone was told
}

// TestPowerCuts cuts the power at every write and sync point of a run of transactions, for a store
// without a log, as every store is while it is created or upgraded. What was acknowledged before
// the cut is always there. The transaction that was cut is there entirely or not at all.
func TestPowerCuts(t *testing.T) {
	const transactions = 50
	random := rand.New(rand.NewPCG(5, 6))
	dir, cutDir := t.TempDir(), t.TempDir()
	path, cutPath := filepath.Join(dir, store.File), filepath.Join(cutDir, store.File)
	n, done := 0, 0
	kept, lost := 0, 0
	for i := range transactions {
		s, err := store.OpenWith(dir, store.Options{NoSync: true, NoLog: true})
		if err != nil {
			t.Fatal(err)
		}
		// Opening may bring the file up to date or list free pages again, so the image before is
		// taken after it.
		before := read(t, path)
		var batch []change.Change
		for range 1 + random.IntN(12) {
			c := made(
				fmt.Sprintf("c%d", n), fmt.Sprintf("r%d", random.IntN(9)), "instrument", "", "tag",
				fmt.Sprintf(`"PI-%d"`, n), uint64(n),
			)
			batch = append(batch, c)
			n++
		}
		add(t, s, batch...)
		after := read(t, path)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		for range (*cuts - done) / (transactions - i) {
			done++
			image, whole, gone := cut(random, before, after)
			if err := os.WriteFile(cutPath, image, 0o600); err != nil {
				t.Fatal(err)
			}
			// The cut may also go through a sector, which real disks write whole: if a first page
			// is broken, the store falls back to the other one.
			c, err := store.OpenWith(cutDir, store.Options{NoSync: true, NoLog: true, FallBack: true})
			if err != nil {
				t.Fatalf("transaction %d, cut %d: %v", i, done, err)
			}
			last, err := c.Last()
			if err != nil {
				t.Fatal(err)
			}
			switch {
			case last == uint64(n):
				kept++
			case last == uint64(n-len(batch)):
				lost++
			default:
				t.Fatalf("transaction %d, cut %d: %d entries; %d before, %d after", i, done, last, n-len(batch), n)
			}
			if whole && last != uint64(n) || gone && last == uint64(n) {
				t.Fatalf("transaction %d, cut %d: %d entries, whole %v", i, done, last, whole)
			}
			if err := c.Close(); err != nil {
				t.Fatal(err)
			}
			if done%5 != 0 {
				continue
			}
			if r := check(t, cutDir); len(r.Damage) > 0 {
				t.Fatalf("transaction %d, cut %d: %q", i, done, r.Damage)
			}
		}
	}
	t.Logf(
		"%d cuts in %d transactions: the last one there %d times, not there %d times, never in part", done,
		transactions, kept, lost,
	)
	if kept == 0 || lost == 0 {
		t.Error("all cuts ended the same way")
	}
}

// TestPowerCutInTheFirstCreation: whatever a cut leaves of the very first database, opening makes a
// complete one.
func TestPowerCutInTheFirstCreation(t *testing.T) {
	made := t.TempDir()
	s, err := store.OpenWith(made, quick)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole := read(t, filepath.Join(made, store.File))
	random := rand.New(rand.NewPCG(7, 8))
	for i := range 100 {
		dir := t.TempDir()
		image := bytes.Clone(whole)
		switch i % 3 {
		case 0:
			image = image[:random.IntN(len(image)+1)]
		case 1:
			for at := 0; at < len(image); at += 512 {
				if random.IntN(2) == 0 {
					clear(image[at : at+512])
				}
			}
		}
		if err := os.WriteFile(filepath.Join(dir, store.File+".new"), image, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := store.OpenWith(dir, quick)
		if err != nil {
			t.Fatalf("round %d: %v", i, err)
		}
		if last, err := s.Last(); err != nil || last != 0 || s.StoreID() == "" {
			t.Errorf("round %d: %d entries, %v", i, last, err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if r := check(t, dir); len(r.Damage) > 0 {
			t.Errorf("round %d: %q", i, r.Damage)
		}
	}
}

func read(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}
