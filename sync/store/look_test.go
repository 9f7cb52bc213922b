package store_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/sync/store"
)

// newestMeta returns which of a database's two first pages names the newest transaction.
func newestMeta(b []byte) int {
	tx := func(n int) uint64 { return binary.LittleEndian.Uint64(b[n*os.Getpagesize()+16+48:]) }
	if tx(1) > tx(0) {
		return 1
	}
	return 0
}

// TestDamagedFileIsNotOpened: a file that was truncated or emptied, or has a broken first page, is
// refused with its bytes unchanged, and the check names it. The store goes back to the transaction
// before only on request.
func TestDamagedFileIsNotOpened(t *testing.T) {
	whole := t.TempDir()
	filled(t, whole)
	b := read(t, filepath.Join(whole, store.File))
	newest := newestMeta(b)
	high := int(binary.LittleEndian.Uint64(b[newest*os.Getpagesize()+16+40:])) // pages in use; the file may be longer
	flipped := func(page, at int) []byte {
		c := bytes.Clone(b)
		c[page*os.Getpagesize()+16+at] ^= 4
		return c
	}
	for name, tt := range map[string]struct {
		image []byte
		back  bool // the store can go back to the transaction before
	}{
		"cut in the middle":        {b[:len(b)/2/512*512], false},
		"cut by a page":            {b[:(high-1)*os.Getpagesize()], false},
		"empty":                    {nil, false},
		"both first pages broken":  {func() []byte { c := flipped(0, 3); c[os.Getpagesize()+16] ^= 1; return c }(), false},
		"the number of the newest": {flipped(newest, 48), true},
		"the number of the other":  {flipped(1-newest, 48), true},
		"the sum of the newest":    {flipped(newest, 60), true},
		"the mark of the other":    {flipped(1-newest, 0), true},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, store.File)
		if err := os.WriteFile(path, tt.image, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := store.Open(dir)
		if err == nil {
			t.Errorf("%s: opened", name)
			s.Close() // the test has failed already
			continue
		}
		if !errors.Is(err, store.ErrBroken) || !strings.Contains(err.Error(), "gaugewright check --data "+dir) {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(read(t, path), tt.image) {
			t.Errorf("%s: the file was altered", name)
		}
		if r := check(t, dir); len(r.Damage) == 0 {
			t.Errorf("%s: the check names nothing", name)
		}
		s, err = store.OpenWith(dir, store.Options{NoSync: true, FallBack: true})
		if (err == nil) != tt.back {
			t.Errorf("%s: gone back %v", name, err)
		}
		if err != nil {
			continue
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if r := check(t, dir); len(r.Damage) > 0 {
			t.Errorf("%s: after going back: %q", name, r.Damage)
		}
	}
}
