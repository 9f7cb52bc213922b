package store_test

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// noted makes a folder with a number of events and returns it, closed.
func noted(t *testing.T, n int, at time.Time) string {
	t.Helper()
	dir := t.TempDir()
	s, err := openedWith(dir, store.Options{Now: func() time.Time { return at }})
	if err != nil {
		t.Fatal(err)
	}
	for i := range n {
		if err := s.Note(store.Event{Kind: "login", By: "anna", Address: "192.0.2.1", Detail: strings.Repeat("x", i)}); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

// altered opens the database of a folder, as somebody with access to the file could.
func altered(t *testing.T, dir string, work func(*bbolt.Tx) error) {
	t.Helper()
	db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(db.Update(work), db.Close()); err != nil {
		t.Fatal(err)
	}
}

func entry(n byte) []byte { return []byte{0, 0, 0, 0, 0, 0, 0, n} }

func TestEventsAreReadNewestFirst(t *testing.T) {
	dir := noted(t, 5, time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC))
	s, err := opened(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	first, err := s.Events(0, 3)
	if err != nil || len(first) != 3 || first[0].Seq != 5 || first[0].Detail != "xxxx" ||
		first[0].At != "2026-11-25T08:00:00Z" {
		t.Fatalf("%+v %v", first, err)
	}
	rest, err := s.Events(first[2].Seq, 3)
	if err != nil || len(rest) != 2 || rest[0].Seq != 2 || rest[1].Seq != 1 {
		t.Errorf("%+v %v", rest, err)
	}
}

// TestAnAlteredEventLogIsNamed alters, removes, moves and cuts entries. The check must name each.
func TestAnAlteredEventLogIsNamed(t *testing.T) {
	events, meta := []byte("events"), []byte("meta")
	for name, work := range map[string]func(*bbolt.Tx) error{
		"a letter": func(tx *bbolt.Tx) error {
			v := bytes.Clone(tx.Bucket(events).Get(entry(2)))
			v[len(v)-3] ^= 1
			return tx.Bucket(events).Put(entry(2), v)
		},
		"an entry is missing":   func(tx *bbolt.Tx) error { return tx.Bucket(events).Delete(entry(2)) },
		"the newest is missing": func(tx *bbolt.Tx) error { return tx.Bucket(events).Delete(entry(4)) },
		"all are missing":       func(tx *bbolt.Tx) error { return tx.DeleteBucket(events) },
		"the number is missing": func(tx *bbolt.Tx) error { return tx.Bucket(meta).Delete(events) },
		"the signature is broken": func(tx *bbolt.Tx) error {
			v := bytes.Clone(tx.Bucket(meta).Get(events))
			v[len(v)-1] ^= 1
			return tx.Bucket(meta).Put(events, v)
		},
		"two changed places": func(tx *bbolt.Tx) error {
			a, b := bytes.Clone(tx.Bucket(events).Get(entry(2))), bytes.Clone(tx.Bucket(events).Get(entry(3)))
			return errors.Join(tx.Bucket(events).Put(entry(2), b), tx.Bucket(events).Put(entry(3), a))
		},
	} {
		dir := noted(t, 4, time.Now())
		if r, err := checked(dir); err != nil || len(r.Damage) != 0 || r.Events != 4 {
			t.Fatalf("before: %+v %v", r, err)
		}
		altered(t, dir, work)
		if r, err := checked(dir); err != nil || len(r.Damage) == 0 || !strings.HasPrefix(r.Damage[0], "events: ") {
			t.Errorf("%s: %q %v", name, r.Damage, err)
		}
	}
}

// TestEventsAreForgottenInTheirTime: after three years the text is gone and the chain is whole.
func TestEventsAreForgottenInTheirTime(t *testing.T) {
	then := time.Date(2020, 1, 1, 8, 0, 0, 0, time.UTC)
	dir := noted(t, 4, then)
	now := then.Add(store.KeepEvents + time.Hour)
	s, err := openedWith(dir, store.Options{Now: func() time.Time { return now }})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Note(store.Event{Kind: "login", By: "bert"}); err != nil {
		t.Fatal(err)
	}
	list, err := s.Events(0, 10)
	if err != nil || len(list) != 1 || list[0].By != "bert" || list[0].Seq != 5 {
		t.Errorf("%+v %v", list, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r, err := checked(dir); err != nil || len(r.Damage) != 0 || r.Events != 5 {
		t.Errorf("%+v %v", r, err)
	}
	altered(t, dir, func(tx *bbolt.Tx) error {
		if bytes.Contains(tx.Bucket([]byte("events")).Get(entry(1)), []byte("192.0.2.1")) {
			t.Error("the address is still there")
		}
		return nil
	})
}

// TestABackupHoldsNoFreePages: deleted data is not in the copy, though it is in free pages of the
// file.
func TestABackupHoldsNoFreePages(t *testing.T) {
	dir := t.TempDir()
	s, err := opened(dir)
	if err != nil {
		t.Fatal(err)
	}
	secret := "a hash that was replaced, and which nobody shall find"
	notes := s.Private("notes")
	for _, v := range []string{secret, "new"} {
		put := map[string][]byte{}
		for i := range 200 { // enough for pages of their own
			put[strings.Repeat("k", i+1)] = []byte(v + strings.Repeat("-", 100))
		}
		if err := notes.Batch(put, nil); err != nil {
			t.Fatal(err)
		}
	}
	raw, err := os.ReadFile(filepath.Join(dir, store.File))
	if err != nil || !bytes.Contains(raw, []byte(secret)) {
		t.Fatalf("the file itself should still hold it: %v", err)
	}
	var copied bytes.Buffer
	if err := errors.Join(s.Backup(&copied, false), s.Close()); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "copy")
	if r, err := store.Restore(to, &copied); err != nil || len(r.Damage) != 0 {
		t.Fatalf("%+v %v", r, err)
	}
	err = filepath.WalkDir(to, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if bytes.Contains(b, []byte(secret)) {
			t.Errorf("%s holds what was replaced", d.Name())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}
