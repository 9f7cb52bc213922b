package store_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// contentsOf reads a database whole: each bucket's path with its sequence, each key with its value.
// What names the log is left out.
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

// lossy is the disk of a store: what it has for sure of the database, and what was written since.
type lossy struct {
	t     *testing.T
	dir   string
	base  []byte   // of the database, when all of it was synced last
	since [][]byte // after transactions since
}

func (d *lossy) options() store.Options {
	return store.Options{
		NoSync: true, MaxLog: 60_000,
		Synced: func() { d.base, d.since = d.image(store.File), nil },
		Wrote: func() {
			if d.base != nil { // else it is being made
				d.since = append(d.since, d.image(store.File))
			}
		},
	}
}

func (d *lossy) image(name string) []byte { return read(d.t, filepath.Join(d.dir, name)) }

// cut makes a folder with what a power cut may leave: of each page of the database any state since
// the last sync, or a torn one, and the log's bytes.
func (d *lossy) cut(random *rand.Rand, to string, log []byte) {
	d.t.Helper()
	all := append([][]byte{d.base}, d.since...)
	length := len(d.base)
	if newest := all[len(all)-1]; random.IntN(2) == 0 {
		length = max(length, len(newest)) // how long the file is was not synced either
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

// busy does one of the things that write, and says what must be there from then on.
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

// cutOften cuts the power again and again while a store is busy, and returns what was not as it had
// been.
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

// differs opens what a power cut left and says what is not as it had been.
func differs(t *testing.T, dir string, want map[string]string) (what string) {
	t.Helper()
	defer func() { // pages of two moments may lead anywhere
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

// TestWritesAreDoneAgain: whatever a power cut leaves of the database's pages since they were last
// synced, the log makes it again what it was, to the byte of every key and value.
func TestWritesAreDoneAgain(t *testing.T) {
	for _, one := range cutOften(t) {
		t.Error(one)
	}
}

// copied copies a database that is in use, which a simulated one may be between two transactions.
func copied(t *testing.T, dir string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), store.File)
	if err := os.WriteFile(path, read(t, filepath.Join(dir, store.File)), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// inUse makes a folder as it is while its program runs, with a log of some records, and returns
// where each record of the log begins and ends.
func inUse(t *testing.T) (dir string, ends []int) {
	t.Helper()
	from := t.TempDir()
	s, err := store.OpenWith(from, quick)
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	for i := range 6 {
		ends = append(ends, len(read(t, filepath.Join(from, store.Log))))
		add(t, s, made(fmt.Sprint("c", i), fmt.Sprint("r", i), "visit", "", "f", `"value"`, uint64(i)))
	}
	for _, name := range []string{store.File, store.Log} {
		if err := os.WriteFile(filepath.Join(dir, name), read(t, filepath.Join(from, name)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return dir, append(ends, len(read(t, filepath.Join(dir, store.Log))))
}

// TestTornLogIsCut: of a last record that is not whole nobody was told that it was kept; it goes,
// and all before it is there.
func TestTornLogIsCut(t *testing.T) {
	whole, ends := inUse(t)
	log, last := read(t, filepath.Join(whole, store.Log)), ends[len(ends)-2]
	random := rand.New(rand.NewPCG(13, 14))
	for at := last; at < len(log); at += 1 + random.IntN(40) {
		for _, torn := range [][]byte{
			log[:at],
			append(bytes.Clone(log[:at]), make([]byte, len(log)-at)...),
			append(bytes.Clone(log[:at]), bytes.Repeat([]byte{0xa5}, 3000)...),
		} {
			dir := t.TempDir()
			err := errors.Join(
				os.WriteFile(filepath.Join(dir, store.File), read(t, filepath.Join(whole, store.File)), 0o600),
				os.WriteFile(filepath.Join(dir, store.Log), torn, 0o600),
			)
			if err != nil {
				t.Fatal(err)
			}
			if r := check(t, dir); len(r.Damage) > 0 || r.Changes != 5 {
				t.Fatalf("cut at %d: %+v", at, r)
			}
			s, err := store.OpenWith(dir, quick)
			if err != nil {
				t.Fatalf("cut at %d: %v", at, err)
			}
			if n, err := s.Last(); n != 5 || err != nil {
				t.Errorf("cut at %d: %d entries, %v", at, n, err)
			}
			if err := s.Close(); err != nil {
				t.Fatal(err)
			}
		}
	}
}

// TestDamagedLogIsRefused: a log that is damaged before its end, is missing or is of another
// database is refused by name, with the bytes as they were.
func TestDamagedLogIsRefused(t *testing.T) {
	whole, ends := inUse(t)
	other, _ := inUse(t)
	log := read(t, filepath.Join(whole, store.Log))
	flipped := func(at int) []byte {
		b := bytes.Clone(log)
		b[at] ^= 8
		return b
	}
	older := t.TempDir()
	filled(t, older)
	for name, tt := range map[string]struct {
		db, log []byte
		says    string
	}{
		"a number in the middle":       {nil, flipped(ends[2] + 7), "record 4 "},
		"a length in the middle":       {nil, flipped(ends[2] + 9), "record 4 "},
		"a value in the middle":        {nil, flipped(ends[3] - 5), "record 4 "},
		"the head's mark":              {nil, flipped(3), "head"},
		"a page of the head":           {nil, flipped(2000), "head"},
		"a head that is cut":           {nil, log[:3000], "head"},
		"an empty log":                 {nil, []byte{}, "head"},
		"the log of another":           {nil, read(t, filepath.Join(other, store.Log)), "another database"},
		"a database of another moment": {read(t, filepath.Join(older, store.File)), log, "another database"},
		"no log":                       {nil, nil, "is missing"},
	} {
		dir := t.TempDir()
		path := filepath.Join(dir, store.File)
		if tt.db == nil {
			tt.db = read(t, filepath.Join(whole, store.File))
		}
		if err := os.WriteFile(path, tt.db, 0o600); err != nil {
			t.Fatal(err)
		}
		if tt.log != nil {
			if err := os.WriteFile(filepath.Join(dir, store.Log), tt.log, 0o600); err != nil {
				t.Fatal(err)
			}
			if _, err := store.Look(dir); !errors.Is(err, store.ErrDamaged) {
				t.Errorf("%s: a look says %v", name, err)
			}
		}
		s, err := store.OpenWith(dir, quick)
		if err == nil {
			t.Errorf("%s: opened", name)
			s.Close() // the test has failed already
			continue
		}
		if !errors.Is(err, store.ErrBroken) || !strings.Contains(err.Error(), tt.says) ||
			!strings.Contains(err.Error(), "gaugewright check --data "+dir) {
			t.Errorf("%s: %v", name, err)
		}
		if !bytes.Equal(read(t, path), tt.db) {
			t.Errorf("%s: the database was altered", name)
		}
		if s, err := store.OpenToRead(dir); err == nil {
			t.Errorf("%s: opened for reading", name)
			s.Close() // the test has failed already
		}
		if r := check(t, dir); len(r.Damage) == 0 {
			t.Errorf("%s: the check names nothing", name)
		}
	}
}

// TestFolderInUseIsRead: a folder whose program was killed is whole for whoever looks, checks or
// reads it, and stays as it was.
func TestFolderInUseIsRead(t *testing.T) {
	dir, _ := inUse(t)
	db, log := read(t, filepath.Join(dir, store.File)), read(t, filepath.Join(dir, store.Log))
	// The two first pages as a cut may leave them.
	torn := bytes.Clone(db)
	clear(torn[:2*pageSize])
	if err := os.WriteFile(filepath.Join(dir, store.File), torn, 0o600); err != nil {
		t.Fatal(err)
	}
	if there, err := store.Look(dir); !there || err != nil {
		t.Errorf("there %v, %v", there, err)
	}
	if r := check(t, dir); len(r.Damage) > 0 || r.Changes != 6 || len(r.Notes) != 1 {
		t.Errorf("%+v", r)
	}
	s, err := store.OpenToRead(dir)
	if err != nil {
		t.Fatal(err)
	}
	if n, err := s.Last(); n != 6 || err != nil {
		t.Errorf("%d entries, %v", n, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(read(t, filepath.Join(dir, store.File)), torn) ||
		!bytes.Equal(read(t, filepath.Join(dir, store.Log)), log) {
		t.Error("who only reads has altered something")
	}
	if list, err := os.ReadDir(dir); err != nil || len(list) != 2 {
		t.Errorf("%v, %v", list, err)
	}
}

// TestBackupHasWhatTheLogHas: a backup that is taken while the newest transactions stand in the log
// has them, and needs no log.
func TestBackupHasWhatTheLogHas(t *testing.T) {
	s, err := store.OpenWith(t.TempDir(), quick)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	add(t, s, made("c1", "r1", "visit", "", "f", `"value"`, 1))
	var b bytes.Buffer
	if err := s.Backup(&b, false); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "back")
	if r, err := store.Restore(dir, &b); err != nil || r.Changes != 1 || len(r.Damage) > 0 {
		t.Errorf("%+v, %v", r, err)
	}
	if _, err := os.Stat(filepath.Join(dir, store.Log)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("what was restored has a log: %v", err)
	}
}

// TestStoreWithoutLog: a store that keeps no log goes on with one, and the other way round.
func TestStoreWithoutLog(t *testing.T) {
	dir := t.TempDir()
	for i, o := range []store.Options{{NoSync: true, NoLog: true}, {NoSync: true}, {NoSync: true, NoLog: true}} {
		s, err := store.OpenWith(dir, o)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(filepath.Join(dir, store.Log)); (err == nil) == o.NoLog {
			t.Errorf("round %d: the log: %v", i, err)
		}
		add(t, s, made(fmt.Sprint("c", i), "r1", "visit", "", "f", `"value"`, uint64(i)))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if r := check(t, dir); len(r.Damage) > 0 || r.Changes != i+1 {
			t.Errorf("round %d: %+v", i, r)
		}
	}
}

// TestLogInTwoHands: a folder with a log that one program uses is not opened by another one.
func TestLogInTwoHands(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	add(t, s, made("c1", "r1", "visit", "", "f", `"value"`, 1))
	before := read(t, filepath.Join(dir, store.File))
	if other, err := store.OpenWith(dir, quick); err == nil || !strings.Contains(err.Error(), "another gaugewright") {
		t.Errorf("%v", err)
		if err == nil {
			other.Close() // the test has failed already
		}
	}
	if !bytes.Equal(read(t, filepath.Join(dir, store.File)), before) {
		t.Error("the database was altered")
	}
}

// TestLogThatTheDiskRefuses: a transaction whose record finds no space is refused and leaves
// nothing; with space the next ones are kept, and a power cut finds them.
func TestLogThatTheDiskRefuses(t *testing.T) {
	dir := t.TempDir()
	var log *os.File
	s, err := store.OpenWith(dir, store.Options{
		NoSync: true,
		OpenFile: func(name string, flag int, mode os.FileMode) (*os.File, error) {
			f, err := os.OpenFile(name, flag, mode)
			if strings.Contains(name, store.Log) {
				log = f
			}
			return f, err
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	add(t, s, made("c1", "r1", "visit", "", "f", `"one"`, 1))
	free := fullDevice(t, log)
	two := made("c2", "r1", "visit", "", "f", `"two"`, 2)
	if _, err := s.Add(context.Background(), []change.Change{two}); !errors.Is(err, store.ErrFull) {
		t.Errorf("on a full disk: %v", err)
	}
	if n, err := s.Last(); n != 1 || err != nil {
		t.Errorf("%d entries, %v", n, err)
	}
	free()
	add(t, s, made("c3", "r1", "visit", "", "f", `"three"`, 3))
	cut := t.TempDir()
	for _, name := range []string{store.File, store.Log} {
		if err := os.WriteFile(filepath.Join(cut, name), read(t, filepath.Join(dir, name)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if r := check(t, cut); len(r.Damage) > 0 || r.Changes != 2 {
		t.Errorf("%+v", r)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestDatabaseOutgrowsItsMap: a database that outgrows the address space it was given is mapped anew,
// though the log's moment is held, and what was written is there after a power cut and after a good
// end.
func TestDatabaseOutgrowsItsMap(t *testing.T) {
	dir := t.TempDir()
	s, err := store.OpenWith(dir, store.Options{NoSync: true, Room: 1 << 20, Patience: 50 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	value := `"` + strings.Repeat("long ", 60_000) + `"`
	for i := range 12 {
		add(t, s, made(fmt.Sprint("c", i), fmt.Sprint("r", i), "visit", "", "f", value, uint64(i)))
	}
	cut := t.TempDir()
	for _, name := range []string{store.File, store.Log} {
		if err := os.WriteFile(filepath.Join(cut, name), read(t, filepath.Join(dir, name)), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, one := range []string{cut, dir} {
		if r := check(t, one); len(r.Damage) > 0 || r.Changes != 12 {
			t.Errorf("%+v", r)
		}
	}
}

// FuzzLog reads any bytes as a log: they are a log, or refused.
func FuzzLog(f *testing.F) {
	dir := f.TempDir()
	s, err := store.OpenWith(dir, quick)
	if err != nil {
		f.Fatal(err)
	}
	add(f, s, made("c1", "r1", "visit", "", "f", `"one"`, 1))
	b, err := os.ReadFile(filepath.Join(dir, store.Log))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(b)
	f.Add(b[:len(b)-1])
	f.Add(binary.BigEndian.AppendUint64(bytes.Clone(b), 2))
	f.Cleanup(func() {
		if err := s.Close(); err != nil {
			f.Error(err)
		}
	})
	f.Fuzz(func(t *testing.T, b []byte) {
		at := t.TempDir()
		if err := os.WriteFile(filepath.Join(at, store.Log), b, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(at, store.File), read(t, filepath.Join(dir, store.File)), 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := store.Check(at); err != nil && !errors.Is(err, io.EOF) {
			t.Fatal(err)
		}
	})
}
