package store_test

import (
	"bytes"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// kept returns how a record is kept in a file that nobody uses.
func kept(t *testing.T, dir, id string) (b []byte) {
	t.Helper()
	db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, &bbolt.Options{ReadOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	err = db.View(func(tx *bbolt.Tx) error {
		b = bytes.Clone(tx.Bucket([]byte("records")).Get([]byte(id)))
		return nil
	})
	if err != nil || db.Close() != nil {
		t.Fatal(err)
	}
	return b
}

// TestAReadingIsALine: a reading added to a run leaves the kept state of the run as it is, until
// the readings since outgrow it. At every moment the record equals a replay of all its changes, for
// the program that wrote it and for one that opens the file.
func TestAReadingIsALine(t *testing.T) {
	dir := t.TempDir()
	want := merge.State{}
	written, before := 0, []byte(nil)
	value := `{"value":"2.50","note":"` + strings.Repeat("as read ", 40) + `"}`
	for i := range 150 {
		s, err := openedWith(dir, quick)
		if err != nil {
			t.Fatal(err)
		}
		for k := range 2 { // the second time it is cached
			c := made(
				fmt.Sprintf("c%dn%d", i, k), "r1", "run", "v1", fmt.Sprintf("capture.%d.%d", k, i), value,
				uint64(2*i+k),
			)
			if want, err = merge.Apply(want, c); err != nil {
				t.Fatal(err)
			}
			add(t, s, c)
			got, ok, err := s.Record("r1")
			if err != nil || !ok || !bytes.Equal(got.Bytes(), want.Bytes()) {
				t.Fatalf("change %d.%d: there %v, %v", i, k, ok, err)
			}
		}
		if list, err := s.History("r1"); err != nil || len(list) != 2*(i+1) {
			t.Fatalf("%d lines, %v", len(list), err)
		}
		if list, err := s.Children("v1"); err != nil || len(list) != 1 || !bytes.Equal(list[0].Bytes(), want.Bytes()) {
			t.Fatalf("below its visit: %d, %v", len(list), err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		now := kept(t, dir, "r1")
		if !bytes.Equal(now, before) {
			written, before = written+len(now), now
		}
		if i%50 == 49 {
			if r := check(t, dir); len(r.Damage) > 0 {
				t.Fatal(r.Damage)
			}
		}
	}
	if all := len(want.Bytes()); written > 3*all {
		t.Errorf("%d bytes were written of a record that has %d in the end", written, all)
	}
}

// TestReadingsTogether: many changes of many records in one call, some refused, give the same as
// one at a time.
func TestReadingsTogether(t *testing.T) {
	one, all := t.TempDir(), t.TempDir()
	a, b := open(t, one), open(t, all)
	long := `"` + strings.Repeat("x", 700) + `"`
	for n := range 12 {
		var list []change.Change
		for i := range 40 {
			kind := "run"
			if i%13 == 12 {
				kind = "visit" // another kind than the record has
			}
			list = append(
				list,
				made(
					fmt.Sprintf("c%dn%d", n, i), fmt.Sprintf("r%d", i%3), kind, "",
					fmt.Sprintf("f.%d", (i*7+n)%29), long, uint64(100*n+i),
				),
			)
		}
		refused := len(add(t, b, list...).Refused)
		for i := range list {
			refused -= len(add(t, a, list[i]).Refused)
		}
		if refused != 0 {
			t.Fatalf("call %d: refused differ by %d", n, refused)
		}
	}
	for i := range 3 {
		x, _, err := a.Record(fmt.Sprintf("r%d", i))
		y, _, err2 := b.Record(fmt.Sprintf("r%d", i))
		if err != nil || err2 != nil || !bytes.Equal(x.Bytes(), y.Bytes()) {
			t.Errorf("r%d differs: %v, %v", i, err, err2)
		}
	}
	for dir, s := range map[string]*store.Store{one: a, all: b} {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if r := check(t, dir); len(r.Damage) > 0 {
			t.Error(r.Damage)
		}
	}
}
