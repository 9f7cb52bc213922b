//go:build unix

package postgres_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"gaugewright/sync/engine"
	"gaugewright/sync/postgres"
	"gaugewright/sync/postgres/pgtest"

	"go.etcd.io/bbolt"
	"pgregory.net/rapid"
)

func open(t testing.TB, address string, o postgres.Options) *postgres.DB {
	t.Helper()
	db, err := postgres.Open(context.Background(), address, o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

// pair is one transaction on each engine. Both must do the same.
type pair struct {
	ours  engine.Bucket
	bolts *bbolt.Bucket
}

func same(t *rapid.T, what string, ourKey, ourValue, boltKey, boltValue []byte) {
	if !bytes.Equal(ourKey, boltKey) || (ourKey == nil) != (boltKey == nil) || !bytes.Equal(ourValue, boltValue) ||
		(ourValue == nil) != (boltValue == nil) {
		t.Fatalf("%s: %q %q, bbolt has %q %q", what, ourKey, ourValue, boltKey, boltValue)
	}
}

// TestAgainstBbolt runs random transactions on both engines. After each step, gets, walks in both
// directions and seeks agree, also within an uncommitted transaction and after a rollback.
func TestAgainstBbolt(t *testing.T) {
	server := pgtest.Start(t)
	rapid.Check(t, func(t *rapid.T) {
		db, err := postgres.Open(context.Background(), server.Plant(), postgres.Options{Mute: true, Remember: 4000})
		if err != nil {
			t.Fatal(err)
		}
		defer db.Close()
		dir, err := os.MkdirTemp("", "bolt")
		if err != nil {
			t.Fatal(err)
		}
		defer os.RemoveAll(dir)
		bolt, err := bbolt.Open(filepath.Join(dir, "db"), 0o600, &bbolt.Options{NoSync: true})
		if err != nil {
			t.Fatal(err)
		}
		defer bolt.Close()
		name := []byte("b")
		if err := errors.Join(
			db.Update(func(tx engine.Tx) error { _, err := tx.CreateBucket(name); return err }),
			bolt.Update(func(tx *bbolt.Tx) error { _, err := tx.CreateBucket(name); return err }),
		); err != nil {
			t.Fatal(err)
		}
		keys := rapid.Map(rapid.IntRange(0, 120), func(n int) []byte { return fmt.Appendf(nil, "%c%c", n%11, n*7) })
		no := errors.New("no")
		for range rapid.IntRange(1, 5).Draw(t, "transactions") {
			ends := error(nil)
			if rapid.Bool().Draw(t, "rolled back") {
				ends = no
			}
			steps := rapid.IntRange(1, 80).Draw(t, "steps")
			err := bolt.Update(func(theirs *bbolt.Tx) error {
				err := db.Update(func(ours engine.Tx) error {
					p := pair{ours.Bucket(name), theirs.Bucket(name)}
					for range steps {
						p.step(t, keys)
					}
					return ends
				})
				if !errors.Is(err, ends) {
					t.Fatal(err)
				}
				return ends
			})
			if !errors.Is(err, ends) {
				t.Fatal(err)
			}
			err = bolt.View(func(theirs *bbolt.Tx) error {
				return db.View(func(ours engine.Tx) error {
					p := pair{ours.Bucket(name), theirs.Bucket(name)}
					p.walk(t)
					p.read(t, keys)
					return nil
				})
			})
			if err != nil {
				t.Fatal(err)
			}
		}
	})
}

func (p pair) step(t *rapid.T, keys *rapid.Generator[[]byte]) {
	switch rapid.IntRange(0, 5).Draw(t, "what") {
	case 0, 1, 2:
		k, v := keys.Draw(t, "key"), []byte(rapid.StringN(0, 3, 9).Draw(t, "value"))
		if err := errors.Join(p.ours.Put(k, v), p.bolts.Put(k, v)); err != nil {
			t.Fatal(err)
		}
	case 3:
		k := keys.Draw(t, "key")
		if err := errors.Join(p.ours.Delete(k), p.bolts.Delete(k)); err != nil {
			t.Fatal(err)
		}
	case 4:
		n := p.bolts.Sequence() + 1
		if err := errors.Join(p.ours.SetSequence(n), p.bolts.SetSequence(n)); err != nil {
			t.Fatal(err)
		}
	default:
		p.read(t, keys)
		p.walk(t)
	}
	if p.ours.Sequence() != p.bolts.Sequence() {
		t.Fatalf("sequence %d, bbolt has %d", p.ours.Sequence(), p.bolts.Sequence())
	}
}

func (p pair) read(t *rapid.T, keys *rapid.Generator[[]byte]) {
	list := [][]byte{keys.Draw(t, "key"), keys.Draw(t, "key")}
	if rapid.Bool().Draw(t, "wanted") {
		p.ours.Want(list)
	}
	for _, k := range list {
		same(t, "get", k, p.ours.Get(k), k, p.bolts.Get(k))
	}
}

// walk compares both cursors, from an end or a key, with turns.
func (p pair) walk(t *rapid.T) {
	ours, bolts := p.ours.Cursor(), p.bolts.Cursor()
	var a, b, c, d []byte
	switch rapid.IntRange(0, 2).Draw(t, "from") {
	case 0:
		a, b = ours.First()
		c, d = bolts.First()
	case 1:
		a, b = ours.Last()
		c, d = bolts.Last()
	default:
		k := []byte(rapid.StringN(0, 2, 3).Draw(t, "seek"))
		a, b = ours.Seek(k)
		c, d = bolts.Seek(k)
	}
	same(t, "a first step", a, b, c, d)
	back := rapid.Bool().Draw(t, "back")
	for n := 0; a != nil && n < 150; n++ {
		if n%40 == 39 {
			back = !back
		}
		if back {
			a, b = ours.Prev()
			c, d = bolts.Prev()
		} else {
			a, b = ours.Next()
			c, d = bolts.Next()
		}
		same(t, "a step", a, b, c, d)
	}
}

var countBucket = []byte("count")

// counted adds one to a number in a transaction, and adds an entry for it.
func counted(db *postgres.DB) error {
	return db.Update(func(tx engine.Tx) error {
		b := tx.Bucket(countBucket)
		if b == nil {
			var err error
			if b, err = tx.CreateBucket(countBucket); err != nil {
				return err
			}
		}
		n := b.Sequence() + 1
		if err := b.SetSequence(n); err != nil {
			return err
		}
		key := fmt.Appendf(nil, "%08d", n)
		if b.Get(key) != nil {
			return fmt.Errorf("%d is there", n)
		}
		return b.Put(key, []byte("x"))
	})
}

func count(t testing.TB, db *postgres.DB) (sequence uint64, lines int) {
	t.Helper()
	err := db.View(func(tx engine.Tx) error {
		b := tx.Bucket(countBucket)
		sequence = b.Sequence()
		return b.Each(func(_, _ []byte) error { lines++; return nil })
	})
	if err != nil {
		t.Fatal(err)
	}
	return sequence, lines
}

// TestOneWriterOverAll: programs that write at once wait for each other. No write is lost or done
// twice, and each program reads what the others wrote rather than what it remembers.
func TestOneWriterOverAll(t *testing.T) {
	server := pgtest.Start(t)
	address := server.Plant()
	dbs := []*postgres.DB{open(t, address, postgres.Options{}), open(t, address, postgres.Options{}), open(t, address, postgres.Options{})}
	var all sync.WaitGroup
	const each = 40
	for _, db := range dbs {
		for range 2 {
			all.Go(func() {
				for range each / 2 {
					if err := counted(db); err != nil {
						t.Error(err)
					}
				}
			})
		}
	}
	all.Wait()
	for _, db := range dbs {
		if n, lines := count(t, db); n != 3*each || lines != 3*each {
			t.Errorf("%d counted, %d lines, want %d", n, lines, 3*each)
		}
	}
	for i, db := range slices.Backward(dbs) { // the others see at once what one writes
		if err := counted(db); err != nil {
			t.Fatal(err)
		}
		if n, _ := count(t, dbs[0]); n != uint64(3*each+len(dbs)-i) {
			t.Errorf("the first sees %d after the write of %d", n, i)
		}
	}
}

// TestNewsPass: the other programs hear of a write, both by notification and by polling.
func TestNewsPass(t *testing.T) {
	server := pgtest.Start(t)
	for name, o := range map[string]postgres.Options{"told": {Poll: time.Hour}, "asked": {Mute: true}} {
		t.Run(name, func(t *testing.T) {
			address := server.Plant()
			a, b := open(t, address, o), open(t, address, o)
			if err := counted(a); err != nil {
				t.Fatal(err)
			}
			time.Sleep(time.Second / 2) // the first look
			for len(b.News()) > 0 {
				<-b.News()
			}
			began := time.Now()
			if err := counted(a); err != nil {
				t.Fatal(err)
			}
			select {
			case <-b.News():
				t.Logf("told after %v", time.Since(began))
			case <-time.After(4 * time.Second): // before the look that happens anyway
				t.Error("nobody told")
			}
		})
	}
}

// TestUnsafeIsRefused: a database that confirms a commit before it is safe is refused.
func TestUnsafeIsRefused(t *testing.T) {
	server := pgtest.Start(t)
	db, err := postgres.Open(context.Background(), server.Plant()+"&synchronous_commit=off", postgres.Options{})
	if !errors.Is(err, postgres.ErrUnsafe) {
		t.Errorf("%v %v", db, err)
	}
	for _, address := range []string{"postgres://h:x/", "postgres://h/d?plant=", "http://h"} {
		if _, err := postgres.Open(context.Background(), address, postgres.Options{}); !errors.Is(err, postgres.ErrAddress) {
			t.Errorf("%s: %v", address, err)
		}
	}
}
