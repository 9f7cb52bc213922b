package main

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"gaugewright/server/demo"
	"gaugewright/server/verify"
	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

var everyByte = flag.Bool("every", false, "flip a bit in every byte of the demo's folder, not in a sample of them")

// byteOf is a byte of a value in a data folder's database.
type byteOf struct {
	bucket string
	key    []byte
	at     int
	want   string // a pattern of what has to be named
}

// TestNoBitOfADemoMayBeAnother: in the data folder of an invented plant, with certificates that the
// office's key signed, a bit is flipped in entries of the journal, in signatures and approvals, in
// certificates and in signed heads. verify names that entry or head each time, and holds the folder
// as it was before and after. A sample of fixed seed; -every takes each byte.
func TestNoBitOfADemoMayBeAnother(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "data")
	s, err := store.OpenWith(dir, store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	instruments := 24
	if *everyByte {
		instruments = 4
	}
	options := demo.Options{Seed: 7, Today: time.Now(), Instruments: instruments, Years: 2}
	if _, err = demo.Seed(context.Background(), s, options); err == nil {
		issueOne(t, s)
	}
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	ring := filepath.Join(t.TempDir(), "keys.json")
	doKeys := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return keys(a, in, out, out) }
	said, err := runs(t, doKeys, "", "--data", dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(ring, []byte(said), 0o600); err != nil {
		t.Fatal(err)
	}
	doVerify := func(a []string, in *strings.Reader, out *bytes.Buffer) error { return verifyRecords(a, in, out, out) }
	holds := func() {
		t.Helper()
		if out, err := runs(t, doVerify, "", "--keys", ring, dir); err != nil || !strings.Contains(out, "all of it holds") {
			t.Fatal(out, err)
		}
	}
	holds()
	db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, &bbolt.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	places, err := placesOf(db)
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(5, 6))
	for _, what := range []string{"entry", "signature", "approval", "certificate", "head"} {
		list := places[what]
		if len(list) == 0 {
			t.Fatalf("there is no %s", what)
		}
		if !*everyByte {
			rnd.Shuffle(len(list), func(i, k int) { list[i], list[k] = list[k], list[i] })
			list = list[:16]
		}
		for i := range list {
			bit := byte(1) << rnd.IntN(8)
			flip(t, dir, &list[i], bit)
			out, err := runs(t, doVerify, "", "--keys", ring, dir)
			if !errors.Is(err, verify.ErrNot) || !regexp.MustCompile(list[i].want).MatchString(err.Error()) {
				t.Errorf(
					"%s: bit %08b of byte %d of %s %x: %v %q, want %q",
					what, bit, list[i].at, list[i].bucket, list[i].key, err, out, list[i].want,
				)
			}
			flip(t, dir, &list[i], bit)
		}
	}
	holds()
}

// placesOf returns where a bit is to be flipped, by what it is of.
func placesOf(db *bbolt.DB) (map[string][]byteOf, error) {
	places := map[string][]byteOf{}
	add := func(what, bucket string, k []byte, from, to int, want string) {
		for at := from; at < to; at++ {
			places[what] = append(places[what], byteOf{bucket, bytes.Clone(k), at, want})
		}
	}
	return places, db.View(func(tx *bbolt.Tx) error {
		err := tx.Bucket([]byte("journal")).ForEach(func(k, v []byte) error {
			c, err := change.Parse(v)
			if err != nil {
				return err
			}
			want := fmt.Sprintf(`entry %d\b`, binary.BigEndian.Uint64(k))
			add("entry", "journal", k, 0, len(v), want)
			if c.Kind == "certificate" {
				add("certificate", "journal", k, 0, len(v), want)
			}
			for _, field := range []string{"signature", "approval"} {
				i := slices.IndexFunc(c.Set, func(x change.Setting) bool { return x.Field == field })
				if i < 0 {
					continue
				}
				from := bytes.Index(v, c.Set[i].Value)
				add(field, "journal", k, from, from+len(c.Set[i].Value), want)
			}
			return nil
		})
		return errors.Join(err, tx.Bucket([]byte("heads")).ForEach(func(k, v []byte) error {
			var h store.Head
			if err := json.Unmarshal(v, &h); err != nil {
				return err
			}
			add("head", "heads", k, 0, len(v), "head")
			return nil
		}))
	})
}

// flip flips bits of a byte.
func flip(t *testing.T, dir string, p *byteOf, bits byte) {
	t.Helper()
	db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, &bbolt.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error {
		b := tx.Bucket([]byte(p.bucket))
		v := bytes.Clone(b.Get(p.key))
		v[p.at] ^= bits
		return b.Put(p.key, v)
	})
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
}
