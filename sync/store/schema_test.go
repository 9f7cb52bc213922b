package store_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/sync/store"
)

var keepFlag = flag.Bool("keep", false, "keep a file of the present schema in testdata, where there is none")

// TestEverySchemaHasItsFile: for every schema that was ever written, including the present one, a
// file is kept that a program of that time really wrote. Anyone who adds a migration finds the
// previous file here; -keep writes the present one.
func TestEverySchemaHasItsFile(t *testing.T) {
	for n := 1; n <= store.Schema; n++ {
		file := filepath.Join("testdata", fmt.Sprintf("schema-%d.db.gz", n))
		_, err := os.Stat(file)
		if errors.Is(err, os.ErrNotExist) && *keepFlag && n == store.Schema {
			keepPresent(t, file)
			continue
		}
		if err != nil {
			t.Errorf("schema %d: %v", n, err)
		}
	}
}

func keepPresent(t *testing.T, file string) {
	dir := t.TempDir()
	filled(t, dir)
	s, err := store.OpenWith(dir, quick)
	if err != nil {
		t.Fatal(err)
	}
	// Two writers who had not seen each other, one change that replaces another, and one refused
	// for its different kind.
	add(
		t, s, made("y1", "r4", "instrument", "", "note", `"mine"`, 200),
		made("y2", "r4", "instrument", "", "note", `"yours"`, 201),
	)
	seen := made("y3", "r5", "instrument", "", "tag", `"PI-500"`, 202)
	seen.Set[0].Sees = []string{"c5"}
	add(t, s, seen)
	if err := errors.Join(s.Private("users").Put("an", []byte("1")), s.Close()); err != nil {
		t.Fatal(err)
	}
	b, err := os.ReadFile(filepath.Join(dir, store.File))
	if err != nil {
		t.Fatal(err)
	}
	var packed bytes.Buffer
	z := gzip.NewWriter(&packed)
	if _, err := z.Write(b); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(z.Close(), os.WriteFile(file, packed.Bytes(), 0o644)); err != nil {
		t.Fatal(err)
	}
}

// TestLaterSchemasAreRead: a kept file has 64 changes in 61 records, with a contested field, a
// replaced one, one held change and one private value. It is intact, keeps its name, its epoch and
// its key, and goes on from where it stopped.
func TestLaterSchemasAreRead(t *testing.T) {
	for n := 2; n <= store.Schema; n++ {
		t.Run(fmt.Sprintf("schema %d", n), func(t *testing.T) { readKept(t, fmt.Sprintf("schema-%d.db.gz", n)) })
	}
}

func readKept(t *testing.T, file string) {
	dir := oldFile(t, file)
	s := open(t, dir)
	entries, last, err := s.Since(0, 100, nil)
	if err != nil || last != 64 || len(entries) != 64 {
		t.Fatalf("last %d, %d entries, %v", last, len(entries), err)
	}
	h, err := s.Head()
	if err != nil || h.Size != 64 || h.Verify(s.HeadKey()) != nil || h.Epoch != s.Epoch() || h.Store != s.StoreID() {
		t.Errorf("head %+v, %v", h, err)
	}
	const root = "afd2c9d64e3867bbcc07f13dfd844869842ad92d477cd56c0721abb10cff2b4e"
	if h.Root != root {
		t.Errorf("root %s", h.Root)
	}
	r4, ok, err := s.Record("r4")
	if f, has := r4.Field("note"); err != nil || !ok || !has || !f.Contested() || len(f.Heads) != 2 {
		t.Errorf("r4: %+v, %v", r4, err)
	}
	r5, _, err := s.Record("r5")
	if f, has := r5.Field("tag"); err != nil || !has || f.Contested() || string(f.Heads[0].Value) != `"PI-500"` ||
		len(f.Replaced) != 1 {
		t.Errorf("r5: %+v, %v", r5, err)
	}
	if list, err := s.Lookup("instrument", "tag", "PI-500"); err != nil || len(list) != 1 || list[0].ID != "r5" {
		t.Errorf("by its tag: %+v, %v", list, err)
	}
	if list, err := s.Lookup("instrument", "tag", "PI-5"); err != nil || len(list) != 0 {
		t.Errorf("by the tag it had: %+v, %v", list, err)
	}
	if list, err := s.Quarantined(); err != nil || len(list) != 1 || list[0].Reason != "no" {
		t.Errorf("%+v, %v", list, err)
	}
	if v, err := s.Private("users").Get("an"); err != nil || string(v) != "1" {
		t.Errorf("private value %q, %v", v, err)
	}
	add(t, s, made("z1", "r4", "instrument", "", "note", `"later"`, 300))
	proof, err := s.Consistency(64, 65)
	if err != nil || len(proof) == 0 {
		t.Errorf("%v, %v", proof, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r := check(t, dir); len(r.Damage) != 0 || r.Changes != 65 || r.Records != 61 || r.Held != 1 {
		t.Errorf("%+v", r)
	}
}
