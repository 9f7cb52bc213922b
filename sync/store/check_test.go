package store_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

var quick = store.Options{NoSync: true}

// filled makes a data folder with some of everything and returns the journal's bytes.
func filled(t *testing.T, dir string) []string {
	t.Helper()
	s, err := openedWith(dir, quick)
	if err != nil {
		t.Fatal(err)
	}
	var wrote []string
	for i := range 60 {
		kind, parent := "instrument", ""
		field, value := "tag", fmt.Sprintf(`"PI-%d"`, i)
		if i%3 == 0 {
			kind, parent, field, value = "visit", "r1", "remark.x", fmt.Sprintf(
				`{"text":%q}`, strings.Repeat("long text ", i*4),
			)
		}
		c := made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i), kind, parent, field, value, uint64(i))
		wrote = append(wrote, string(c.Bytes()))
		add(t, s, c)
	}
	photo := []byte("photo")
	sum := sha256.Sum256(photo)
	if err := s.PutBlob(hex.EncodeToString(sum[:]), photo); err != nil {
		t.Fatal(err)
	}
	add(t, s, made("cx", "rx", "visit", "", "photo.a", `{"sha256":"`+strings.Repeat("0", 64)+`"}`, 99))
	wrote = append(wrote, string(func() []byte {
		c := made("cx", "rx", "visit", "", "photo.a", `{"sha256":"`+strings.Repeat("0", 64)+`"}`, 99)
		return c.Bytes()
	}()))
	if err := errors.Join(s.Quarantine(store.Held{Reason: "no", Bytes: []byte("{}")}), s.Close()); err != nil {
		t.Fatal(err)
	}
	return wrote
}

func check(t *testing.T, dir string) store.Report {
	t.Helper()
	r, err := checked(dir)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestCheckOfAWholeFolder(t *testing.T) {
	dir := t.TempDir()
	filled(t, dir)
	if r := check(t, dir); len(r.Damage) != 0 || r.Changes != 61 || r.Records != 61 || r.Held != 1 || r.Blobs != 1 || r.Heads != 62 || len(r.Notes) != 2 { // a number that did not come, a blob that did not arrive
		t.Errorf("%+v", r)
	}
	if _, err := store.Check(t.TempDir()); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("an empty folder: %v", err)
	}
	s := open(t, dir)
	defer s.Close()
	if _, err := checked(dir); err == nil {
		t.Error("a folder in use was checked")
	}
}

// TestCheckNamesDamage alters one thing at a time behind the store's back.
func TestCheckNamesDamage(t *testing.T) {
	whole := t.TempDir()
	filled(t, whole)
	s := open(t, whole)
	add(t, s, made("t1", "rt", "instrument", "", "tag", `"PI-T"`, 300))
	add(t, s, made("t2", "rt", "instrument", "", "serial", `"77"`, 301))
	long := `"` + strings.Repeat("x", 3000) + `"`
	for i := range 8 { // 64 to 71, of which the first six are in a kept state
		add(t, s, made(fmt.Sprintf("g%d", i), "rg", "instrument", "", fmt.Sprintf("note.%d", i), long, uint64(302+i)))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	n := func(i byte) []byte { return []byte{0, 0, 0, 0, 0, 0, 0, i} }
	bucket := func(tx *bbolt.Tx, name string) *bbolt.Bucket { return tx.Bucket([]byte(name)) }
	tests := map[string]func(tx *bbolt.Tx) error{
		"journal": func(tx *bbolt.Tx) error { return bucket(tx, "journal").Delete(n(7)) },
		"tree":    func(tx *bbolt.Tx) error { return replace(bucket(tx, "journal"), n(8), `PI-7"`, `PI-8"`) },
		"records": func(tx *bbolt.Tx) error { return replace(bucket(tx, "records"), []byte("rg"), `"xx`, `"xy`) },
		"records after another change than they say": func(tx *bbolt.Tx) error {
			return replace(bucket(tx, "records"), []byte("rg"), string(n(69)), string(n(70)))
		},
		"records after no change, with a state": func(tx *bbolt.Tx) error {
			return replace(bucket(tx, "records"), []byte("rg"), string(n(69)), string(n(0)))
		},
		"records after a change that is not theirs": func(tx *bbolt.Tx) error {
			return bucket(tx, "records").Put([]byte("rt"), append([]byte("*"), n(60)...))
		},
		"records of one change, of another record": func(tx *bbolt.Tx) error {
			return bucket(tx, "records").Put(
				[]byte("r5"), append([]byte("#"), n(7)...),
			)
		},
		"records of one change, of none": func(tx *bbolt.Tx) error {
			return bucket(tx, "records").Put([]byte("r5"), append([]byte("#"), n(200)...))
		},
		"records of two changes, kept as one": func(tx *bbolt.Tx) error {
			return bucket(tx, "records").Put([]byte("rt"), append([]byte("#"), n(62)...))
		},
		"ids":     func(tx *bbolt.Tx) error { return bucket(tx, "ids").Delete([]byte("c5")) },
		"history": func(tx *bbolt.Tx) error { return bucket(tx, "history").Delete(append([]byte("rt\x00"), n(62)...)) },
		"history of a record of one change, with a line of another": func(tx *bbolt.Tx) error {
			return bucket(tx, "history").Put(append([]byte("r4\x00"), n(7)...), nil)
		},
		"kinds": func(tx *bbolt.Tx) error {
			return bucket(tx, "kinds").Put(append([]byte("visit\x00"), n(4)...), []byte("r4"))
		},
		"kinds of another record": func(tx *bbolt.Tx) error {
			return bucket(tx, "kinds").Put(append([]byte("instrument\x00"), n(4)...), []byte("r5"))
		},
		"parents": func(tx *bbolt.Tx) error { return bucket(tx, "parents").Delete([]byte("r1\x00r3")) },
		"lookup": func(tx *bbolt.Tx) error {
			return bucket(tx, "lookup").Delete([]byte("instrument\x00tag\x00PI-4\x00r4"))
		},
		"heads":      func(tx *bbolt.Tx) error { return replace(bucket(tx, "heads"), n(9), `"size":9`, `"size":8`) },
		"quarantine": func(tx *bbolt.Tx) error { return bucket(tx, "quarantine").Put(n(1), []byte("no\x00[]")) },
		"meta":       func(tx *bbolt.Tx) error { return bucket(tx, "meta").Delete([]byte("epoch")) },
		"ids of one": func(tx *bbolt.Tx) error { return bucket(tx, "ids").Put([]byte("c99"), n(3)) },
	}
	for name, alter := range tests {
		dir := t.TempDir()
		if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
			t.Fatal(err)
		}
		db, err := bbolt.Open(filepath.Join(dir, store.File), 0o600, nil)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(db.Update(alter), db.Close()); err != nil {
			t.Fatal(err)
		}
		word, _, _ := strings.Cut(name, " ")
		if all := strings.Join(check(t, dir).Damage, "\n"); !strings.Contains("\n"+all, "\n"+word+": ") {
			t.Errorf("%s: %q", name, all)
		}
	}
	blobs := filepath.Join(whole, "blobs")
	list, err := os.ReadDir(blobs)
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if err := os.WriteFile(filepath.Join(blobs, list[0].Name()), []byte("phot0"), 0o600); err != nil {
		t.Fatal(err)
	}
	if r := check(t, whole); len(r.Damage) != 1 || !strings.HasPrefix(r.Damage[0], "blobs: ") {
		t.Errorf("an altered blob: %q", r.Damage)
	}
}

func replace(b *bbolt.Bucket, k []byte, old, now string) error {
	v := b.Get(k)
	if !bytes.Contains(v, []byte(old)) {
		return fmt.Errorf("%x holds no %s", k, old)
	}
	return b.Put(k, bytes.Replace(v, []byte(old), []byte(now), 1))
}

// TestBrokenFilesAreNamed flips bytes and cuts the file: either the check names damage, or the
// altered bytes are never read.
func TestBrokenFilesAreNamed(t *testing.T) {
	whole := t.TempDir()
	wrote := filled(t, whole)
	b, err := os.ReadFile(filepath.Join(whole, store.File))
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	named := 0
	const rounds = 150
	for i := range rounds {
		torn := bytes.Clone(b)
		switch i % 3 {
		case 0:
			torn[random.IntN(len(torn))] ^= byte(1 + random.IntN(255))
		case 1:
			at := random.IntN(len(torn) / 512)
			clear(torn[at*512 : at*512+512])
		case 2:
			torn = torn[:random.IntN(len(torn))]
		}
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, store.File), torn, 0o600); err != nil {
			t.Fatal(err)
		}
		r := check(t, dir)
		if len(r.Damage) > 0 {
			named++
			continue
		}
		s, err := store.OpenWith(dir, quick)
		if err != nil {
			t.Fatalf("round %d: checked as whole, but %v", i, err)
		}
		entries, _, err := s.Since(0, 1000, nil)
		if err := errors.Join(err, s.Close()); err != nil {
			t.Fatalf("round %d: %v", i, err)
		}
		// If the newer of the two first pages is lost, the file is at the transaction before, which
		// is complete too.
		if len(entries) < len(wrote)-1 {
			t.Fatalf("round %d: %d entries of %d and no damage named", i, len(entries), len(wrote))
		}
		for k, e := range entries {
			if string(e.Change.Bytes()) != wrote[k] {
				t.Fatalf("round %d: entry %d differs and no damage named", i, k+1)
			}
		}
	}
	if named < rounds/4 {
		t.Errorf("only %d of %d broken files were named", named, rounds)
	}
	t.Logf("%d of %d broken files named; the others were broken where nothing is kept", named, rounds)
}

// TestBackupWhileWriting takes copies during a load. Each copy is complete, holds everything that
// was acknowledged before it began, and is restored under a new epoch with the same store and key.
func TestBackupWhileWriting(t *testing.T) {
	dir := t.TempDir()
	filled(t, dir)
	if err := errors.Join(os.Mkdir(filepath.Join(dir, "authority"), 0o700), os.WriteFile(filepath.Join(dir, "authority", "root.key"), []byte("key"), 0o600)); err != nil {
		t.Fatal(err)
	}
	s := open(t, dir)
	stop, done := make(chan struct{}), make(chan int)
	go func() {
		n := 0
		for ; ; n++ {
			select {
			case <-stop:
				done <- n
				return
			default:
				// Long values make the file grow, so that it is mapped anew while a backup reads
				// it.
				value := fmt.Sprintf("%q", strings.Repeat("long ", 4000))
				c := made(fmt.Sprintf("w%d", n), fmt.Sprintf("rw%d", n), "visit", "", "f", value, uint64(100+n))
				if _, err := s.Add(context.Background(), []change.Change{c}); err != nil {
					t.Error(err)
				}
			}
		}
	}()
	for i := range 4 {
		before, err := s.Last()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := s.Backup(&b, i%2 == 0); err != nil {
			t.Fatal(err)
		}
		copied := filepath.Join(t.TempDir(), "copy")
		r, err := store.Restore(copied, bytes.NewReader(b.Bytes()))
		if err != nil || len(r.Damage) > 0 || uint64(r.Changes) < before || r.Store != s.StoreID() ||
			r.Epoch == s.Epoch() || r.Blobs != 1 || r.Held != 1 {
			t.Fatalf("restored %+v, %v; %d before", r, err, before)
		}
		if key, err := os.ReadFile(filepath.Join(copied, "authority", "root.key")); (err == nil) != (i%2 == 0) ||
			err == nil && string(key) != "key" {
			t.Errorf("authority: %q, %v", key, err)
		}
		c, err := store.Open(copied)
		if err != nil {
			t.Fatal(err)
		}
		if c.HeadKey() != s.HeadKey() || c.Epoch() != r.Epoch {
			t.Error("key or epoch changed on opening")
		}
		add(t, c, made("after", "ra", "visit", "", "f", "1", 1))
		if err := c.Close(); err != nil {
			t.Fatal(err)
		}
		if r := check(t, copied); len(r.Damage) != 0 {
			t.Errorf("after going on: %q", r.Damage)
		}
		if _, err := store.Restore(copied, bytes.NewReader(b.Bytes())); !errors.Is(err, os.ErrExist) {
			t.Errorf("restored over a folder in use: %v", err)
		}
	}
	close(stop)
	t.Logf("%d changes were written meanwhile", <-done)
	if list, err := filepath.Glob(filepath.Join(dir, "backup-*")); err != nil || len(list) != 0 {
		t.Errorf("left over: %v, %v", list, err)
	}
}

// TestHalfABackupIsRefused cuts and alters a backup at many places. Each is refused and leaves
// nothing behind.
func TestHalfABackupIsRefused(t *testing.T) {
	dir := t.TempDir()
	filled(t, dir)
	if err := os.WriteFile(filepath.Join(dir, "backup-123"), []byte("half a copy"), 0o600); err != nil {
		t.Fatal(err)
	}
	s := open(t, dir)
	if list, err := filepath.Glob(filepath.Join(dir, "backup-*")); err != nil || len(list) != 0 {
		t.Errorf("a copy that was cut short is still there: %v, %v", list, err)
	}
	var whole bytes.Buffer
	if err := s.Backup(&whole, false); err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(3, 4))
	parent := t.TempDir()
	to := filepath.Join(parent, "copy")
	for i := range 40 {
		b := bytes.Clone(whole.Bytes())
		if i%2 == 0 {
			b = b[:random.IntN(len(b))]
		} else {
			b[10+random.IntN(len(b)-10)] ^= byte(1 + random.IntN(255))
		}
		if _, err := store.Restore(to, bytes.NewReader(b)); !errors.Is(err, store.ErrBackup) {
			t.Errorf("round %d: %v", i, err)
		}
		if list, err := os.ReadDir(parent); err != nil || len(list) != 0 {
			t.Fatalf("round %d: left %v, %v", i, list, err)
		}
	}
	if _, err := store.Restore(to, io.LimitReader(&whole, 0)); !errors.Is(err, store.ErrBackup) {
		t.Errorf("nothing at all: %v", err)
	}
}
