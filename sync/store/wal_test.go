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
	"sync"
	"testing"
	"time"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// copied copies a database that is in use. A simulated database may be copied between two
// transactions.
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
	dir, _, ends = cutAt(t)
	return dir, ends
}

// cutAt is inUse with the database as it was before the last record.
func cutAt(t *testing.T) (dir string, before []byte, ends []int) {
	t.Helper()
	from := t.TempDir()
	s, err := store.OpenWith(from, quick)
	if err != nil {
		t.Fatal(err)
	}
	dir = t.TempDir()
	for i := range 6 {
		ends = append(ends, len(read(t, filepath.Join(from, store.Log))))
		before = read(t, filepath.Join(from, store.File))
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
	return dir, before, append(ends, len(read(t, filepath.Join(dir, store.Log))))
}

// TestTornLogIsCut: a torn last record was never acknowledged. It is removed, and everything before
// it is there.
func TestTornLogIsCut(t *testing.T) {
	whole, before, ends := cutAt(t)
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
				os.WriteFile(filepath.Join(dir, store.File), before, 0o600),
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

// TestDamagedLogIsRefused: a log that is damaged before its end, is missing or belongs to another
// database is refused with an error that says so, and its bytes stay unchanged.
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
		back    bool // the store can go back to the last intact transaction
	}{
		"a number in the middle":       {nil, flipped(ends[2] + 7), "record 4 ", true},
		"a length in the middle":       {nil, flipped(ends[2] + 9), "record 4 ", true},
		"a value in the middle":        {nil, flipped(ends[3] - 5), "record 4 ", true},
		"the head's mark":              {nil, flipped(3), "head", false},
		"a page of the head":           {nil, flipped(2000), "head", false},
		"a head that is cut":           {nil, log[:3000], "head", false},
		"an empty log":                 {nil, []byte{}, "head", false},
		"the log of another":           {nil, read(t, filepath.Join(other, store.Log)), "another database", false},
		"a database of another moment": {read(t, filepath.Join(older, store.File)), log, "another database", false},
		"no log":                       {nil, nil, "is missing", true},
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
		if r := check(t, dir); len(r.Damage) > 0 || tt.log != nil && r.Changes != 2 {
			t.Errorf("%s: after going back: %+v", name, r)
		}
	}
}

// TestFolderInUseIsRead: the folder of a killed program can be looked at, checked and read in full,
// and stays as it was.
func TestFolderInUseIsRead(t *testing.T) {
	dir, _ := inUse(t)
	db, log := read(t, filepath.Join(dir, store.File)), read(t, filepath.Join(dir, store.Log))
	// The two first pages as a power cut may leave them.
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

// TestBackupHasWhatTheLogHas: a backup taken while the newest transactions are only in the log has
// them, and needs no log.
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

// TestStoreWithoutLog: a store that was written without a log goes on with one, and the other way
// round.
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

// TestLogIsReadWithoutOne: a store without a log goes on from the log of a killed program, and what
// it writes then is kept.
func TestLogIsReadWithoutOne(t *testing.T) {
	dir, _ := inUse(t)
	for i, o := range []store.Options{{NoSync: true, NoLog: true}, {NoSync: true}} {
		s, err := store.OpenWith(dir, o)
		if err != nil {
			t.Fatal(err)
		}
		add(t, s, made(fmt.Sprint("n", i), "r1", "visit", "", "g", `"value"`, uint64(50+i)))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		if r := check(t, dir); len(r.Damage) > 0 || r.Changes != 7+i {
			t.Errorf("round %d: %+v", i, r)
		}
	}
}

// TestLastRecordThatTheDatabaseHad: if a last record is damaged though the database has had its
// transaction, it was damaged after it was answered for. The log is refused and not cut.
func TestLastRecordThatTheDatabaseHad(t *testing.T) {
	dir, ends := inUse(t)
	log := read(t, filepath.Join(dir, store.Log))
	for _, damaged := range [][]byte{log[:ends[5]], log[:ends[6]-1], log[:ends[1]]} {
		if err := os.WriteFile(filepath.Join(dir, store.Log), damaged, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := store.OpenWith(dir, quick)
		if err == nil {
			t.Error("opened")
			s.Close() // the test has failed already
		} else if !errors.Is(err, store.ErrBroken) || !strings.Contains(err.Error(), "the database has had 7") {
			t.Error(err)
		}
		if r := check(t, dir); len(r.Damage) == 0 {
			t.Error("the check names nothing")
		}
	}
}

// TestStoreThatFailed: after a disk refused a write that had to be safe, nothing is written any
// more. At the next start, what was answered for is there, and nothing else.
func TestStoreThatFailed(t *testing.T) {
	dir := t.TempDir()
	refuses := false
	s, err := store.OpenWith(dir, store.Options{MaxLog: 12_000, SyncFolder: func(string) error {
		if refuses {
			return errors.New("input/output error")
		}
		return nil
	}})
	if err != nil {
		t.Fatal(err)
	}
	refuses = true
	kept := 0
	for ; s.Failed() == nil && kept < 100; kept++ {
		add(t, s, made(fmt.Sprint("c", kept), fmt.Sprint("r", kept), "visit", "", "f", `"value"`, uint64(kept)))
	}
	no := made("no", "r1", "visit", "", "f", `"x"`, 900)
	if _, err := s.Add(context.Background(), []change.Change{no}); err == nil ||
		!strings.Contains(err.Error(), "start the program again") {
		t.Error(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, dir)
	if n, err := s.Last(); n != uint64(kept) || kept == 100 || err != nil {
		t.Errorf("%d entries where %d were kept, %v", n, kept, err)
	}
	add(t, s, made("yes", "r1", "visit", "", "f", `"x"`, 901))
}

// TestManyAtOnceBehindALog: while many write and read and backups are taken, nobody reads what is
// not in the log, and after a kill everything answered for is there.
func TestManyAtOnceBehindALog(t *testing.T) {
	dir := t.TempDir()
	s, err := store.OpenWith(dir, store.Options{NoSync: true, MaxLog: 40_000})
	if err != nil {
		t.Fatal(err)
	}
	var kept sync.Map
	var wait sync.WaitGroup
	for w := range 12 {
		wait.Go(func() {
			for i := range 60 {
				c := made(
					fmt.Sprintf("c%dx%d", w, i), fmt.Sprintf("r%d", i%7), "visit", "", fmt.Sprintf("f%d", w),
					`"value"`, uint64(w*1000+i),
				)
				c.Device = fmt.Sprintf("d%d", w)
				c.Stamp.Device = c.Device
				if _, err := s.Add(context.Background(), []change.Change{c}); err != nil {
					t.Error(err)
					return
				}
				if _, ok, err := s.Change(c.ID); !ok || err != nil {
					t.Errorf("what was just written is not read: %v", err)
				}
				kept.Store(c.ID, true)
			}
		})
	}
	for range 3 {
		wait.Go(func() {
			if err := s.Backup(io.Discard, false); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	r := check(t, dir)
	n := 0
	kept.Range(func(any, any) bool { n++; return true })
	if len(r.Damage) > 0 || n != 12*60 || r.Changes != n {
		t.Errorf("%d were kept: %+v", n, r)
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
// nothing. Once there is space the next ones are kept, and are there after a power cut.
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

// TestDatabaseOutgrowsItsMap: a database that outgrows the address space that it was given is
// mapped anew, though the log's moment is pinned. What was written is there after a power cut and
// after a normal end.
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

// FuzzLog reads any bytes as a log: they are a valid log, or refused.
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
