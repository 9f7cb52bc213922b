package store_test

import (
	"context"
	"errors"
	"fmt"
	"gaugewright/sync/change"
	"gaugewright/sync/store"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"go.etcd.io/bbolt"
)

// contentsOf reads a whole database: each bucket's path with its sequence, each key with its value.
// It leaves out what names the log.
func contentsOf(t *testing.T, path string) map[string]string {
	t.Helper()
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{ReadOnly: true, Timeout: time.Second})
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]string{}
	var walk func(path string, b *bbolt.Bucket) error
	walk = func(path string, b *bbolt.Bucket) error {
		all[path] = fmt.Sprint("sequence ", b.Sequence())
		return b.ForEach(func(k, v []byte) error {
			if v == nil {
				return walk(path+"/"+string(k), b.Bucket(k))
			}
			all[path+"\x00"+string(k)] = string(v)
			return nil
		})
	}
	err = db.View(func(tx *bbolt.Tx) error {
		return tx.ForEach(func(name []byte, b *bbolt.Bucket) error { return walk(string(name), b) })
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	delete(all, "meta\x00wal")
	return all
}

// lossy is the disk of a store: what it surely has of the database, and what was written since.
type lossy struct {
	t     *testing.T
	dir   string
	base  []byte   // the database when it was last fully synced
	since [][]byte // after transactions since
}

func (d *lossy) options() store.Options {
	return store.Options{
		NoSync: true, MaxLog: 60_000,
		Synced: func() { d.base, d.since = d.image(store.File), nil },
		Wrote: func() {
			if d.base != nil { // otherwise the database is being made
				d.since = append(d.since, d.image(store.File))
			}
		},
	}
}

func (d *lossy) image(name string) []byte { return read(d.t, filepath.Join(d.dir, name)) }

// cut makes a folder as a power cut may leave it: each page of the database in any state since the
// last sync, or torn, and the log's bytes.
func (d *lossy) cut(random *rand.Rand, to string, log []byte) {
	d.t.Helper()
	all := append([][]byte{d.base}, d.since...)
	length := len(d.base)
	if newest := all[len(all)-1]; random.IntN(2) == 0 {
		length = max(length, len(newest)) // the file's length was not synced either
	}
	mixed := make([]byte, length)
	for at := 0; at < length; at += 512 {
		from := all[random.IntN(len(all))]
		if at%pageSize != 0 && random.IntN(4) > 0 { // most pages are written whole
			continue
		}
		if at < len(from) {
			copy(mixed[at:min(at+pageSize, length)], from[at:])
		}
	}
	err := os.WriteFile(filepath.Join(to, store.File), mixed, 0o600)
	if log != nil {
		err = errors.Join(err, os.WriteFile(filepath.Join(to, store.Log), log, 0o600))
	}
	if err != nil {
		d.t.Fatal(err)
	}
}

// busy does one of the store's writes, and returns what must be there from then on.
func busy(t *testing.T, s *store.Store, random *rand.Rand, n int) {
	t.Helper()
	var err error
	switch random.IntN(8) {
	case 0:
		err = s.Quarantine(store.Held{Reason: fmt.Sprint("no ", n), Bytes: []byte(`{"n":1}`), From: "an"})
	case 1:
		err = s.Note(store.Event{Kind: "test", Detail: strings.Repeat("e", n%50)})
	case 2:
		err = s.Private("users").Batch(map[string][]byte{fmt.Sprint(n): []byte("v")}, []string{fmt.Sprint(n - 9)})
	case 3:
		err = s.Pass(store.Passing{ID: fmt.Sprint("p", n), From: "an", Bytes: []byte(`{"v":9}`)})
	default:
		var list []change.Change
		for i := range 1 + random.IntN(20) {
			list = append(list, made(
				fmt.Sprintf("c%dx%d", n, i), fmt.Sprintf("r%d", random.IntN(40)), "instrument", "p1",
				fmt.Sprintf("f%d", random.IntN(9)), `"`+strings.Repeat("x", random.IntN(900))+`"`, uint64(n*20+i),
			))
		}
		_, err = s.AddWith(
			context.Background(), list, func(_ store.View, c *change.Change) error {
				if strings.HasSuffix(c.ID, "x13") {
					return errors.New("not this one")
				}
				return nil
			}, s.Private("steps").Putting(fmt.Sprint(n), []byte("w")),
		)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// cutOften cuts the power again and again while a store is busy, and returns what differs
// afterwards.
func cutOften(t *testing.T) (wrong []string) {
	t.Helper()
	random := rand.New(rand.NewPCG(11, 12))
	d := &lossy{t: t, dir: t.TempDir()}
	s, err := store.OpenWith(d.dir, d.options())
	if err != nil {
		t.Fatal(err)
	}
	cuts, moments := 0, 0
	for n := 0; n < 250 && len(wrong) == 0; n++ {
		before := len(d.since)
		busy(t, s, random, n)
		if len(d.since) <= before {
			moments++
		}
		if n%8 > 0 {
			continue
		}
		log := d.image(store.Log)
		want := contentsOf(t, copied(t, d.dir))
		for range 4 {
			cuts++
			dir := t.TempDir()
			d.cut(random, dir, log)
			if what := differs(t, dir, want); what != "" {
				wrong = append(wrong, fmt.Sprintf("after %d: %s", n, what))
			}
		}
	}
	if moments < 3 && len(wrong) == 0 {
		t.Errorf("the log was begun anew %d times", moments)
	}
	t.Logf("%d cuts, %d new logs", cuts, moments)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(d.dir, store.Log)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a store that was closed has a log: %v", err)
	}
	return wrong
}

// differs opens what a power cut left and returns what differs from the state before.
func differs(t *testing.T, dir string, want map[string]string) (what string) {
	t.Helper()
	defer func() { // pages of two moments may point anywhere
		if p := recover(); p != nil {
			what = fmt.Sprint("the program ends: ", p)
		}
	}()
	after, err := store.OpenWith(dir, quick)
	if err != nil {
		return err.Error()
	}
	if err := after.Close(); err != nil {
		return err.Error()
	}
	if r := check(t, dir); len(r.Damage) > 0 {
		return fmt.Sprint(r.Damage)
	}
	got := contentsOf(t, filepath.Join(dir, store.File))
	for k, v := range want {
		if got[k] != v {
			return fmt.Sprintf("%q is %q, it was %q", k, got[k], v)
		}
	}
	if len(got) != len(want) {
		return fmt.Sprintf("%d keys, there were %d", len(got), len(want))
	}
	return ""
}

// TestWritesAreDoneAgain: whatever a power cut leaves of the pages written since the last sync, the
// log restores the database to the byte of every key and value.
func TestWritesAreDoneAgain(t *testing.T) {
	for _, one := range cutOften(t) {
		t.Error(one)
	}
}
