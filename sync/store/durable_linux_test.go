package store_test

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"unsafe"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

// cachestat is the number of the system call that counts a file's cached pages by state. It is the
// same on every processor (Linux 6.5, include/uapi/asm-generic/unistd.h).
const cachestat = 451

// unwritten returns how many pages of a file a power cut would lose now.
func unwritten(f *os.File) (pages uint64, err error) {
	var whole [2]uint64
	var counts struct{ cached, dirty, writing, evicted, lately uint64 }
	_, _, e := syscall.Syscall6(
		cachestat, f.Fd(), uintptr(unsafe.Pointer(&whole)), uintptr(unsafe.Pointer(&counts)), 0, 0, 0,
	)
	if e != 0 {
		return 0, e
	}
	return counts.dirty + counts.writing, nil
}

// tellsUnwritten reports whether this machine's kernel and the disk of a folder distinguish dirty
// pages: an unsynced file has some, and a synced file has none.
func tellsUnwritten(t *testing.T, dir string) bool {
	f, err := os.Create(filepath.Join(dir, "try"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := f.Write(make([]byte, 1<<14)); err != nil {
		t.Fatal(err)
	}
	before, err := unwritten(f)
	if err != nil {
		return false
	}
	if err := f.Sync(); err != nil {
		t.Fatal(err)
	}
	after, err := unwritten(f)
	return err == nil && before > 0 && after == 0
}

// onDisk writes to a new store and returns what a power cut after an answer would lose.
func onDisk(t *testing.T) (lost []string) {
	t.Helper()
	dir := t.TempDir()
	blobs := filepath.Join(dir, "blobs")
	var db, log *os.File
	named := map[string]bool{} // names that were in a folder when it was synced
	look := func(what string, f *os.File) {
		if n, err := unwritten(f); err != nil || n > 0 {
			lost = append(lost, fmt.Sprintf("%s: %d pages, %v", what, n, err))
		}
	}
	logs := 0
	o := store.Options{
		MaxLog: 30_000,
		OpenFile: func(name string, flag int, mode os.FileMode) (f *os.File, err error) {
			f, err = os.OpenFile(name, flag, mode)
			if strings.HasPrefix(filepath.Base(name), store.Log) {
				log = f
			} else if filepath.Base(name) == store.File {
				db = f
			}
			return f, err
		},
		SyncFolder: func(dir string) error {
			list, err := os.ReadDir(dir)
			for _, e := range list {
				named[filepath.Join(dir, e.Name())] = true
			}
			if db != nil && filepath.Base(dir) != "blobs" {
				look("the database when a log begins or ends", db)
				logs++
				if _, err := os.Stat(filepath.Join(dir, store.Log)); err == nil {
					look("a new log", log)
				}
			}
			return err
		},
	}
	s, err := store.OpenWith(dir, o)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if !named[filepath.Join(dir, store.File)] {
		lost = append(lost, "the name of the database")
	}
	if !named[filepath.Join(dir, store.Log)] {
		lost = append(lost, "the name of the log")
	}
	for i := range 20 {
		c := made(
			fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i%3), "run", "", fmt.Sprintf("capture.%d", i),
			`"`+strings.Repeat("x", 2000)+`"`, uint64(i),
		)
		if r, err := s.Add(context.Background(), []change.Change{c}); err != nil || len(r.Accepted) != 1 {
			t.Fatal(r, err)
		}
		look("a change that was acknowledged", log)
	}
	if err := s.Quarantine(store.Held{Reason: "no", Bytes: []byte("{}")}); err != nil {
		t.Fatal(err)
	}
	look("a change that was set aside", log)
	if logs < 3 {
		lost = append(lost, fmt.Sprintf("the folder was synced %d times for new logs", logs))
	}
	for i, pieces := range []int{1, 3} {
		b := []byte(strings.Repeat(fmt.Sprintf("photo %d ", i), 4000))
		sum := sha256.Sum256(b)
		name := hex.EncodeToString(sum[:])
		if pieces == 1 {
			err = s.PutBlob(name, b)
		}
		for n := 0; pieces > 1 && n < len(b); {
			end := min(n+len(b)/pieces, len(b))
			if _, _, err = s.PutPiece(name, int64(n), int64(len(b)), b[n:end]); err != nil {
				break
			}
			n = end
		}
		if err != nil {
			t.Fatal(err)
		}
		f, err := os.Open(filepath.Join(blobs, name))
		if err != nil {
			t.Fatal(err)
		}
		look(fmt.Sprintf("a blob in %d pieces", pieces), f)
		if err := f.Close(); err != nil {
			t.Fatal(err)
		}
		if !named[filepath.Join(blobs, name)] {
			lost = append(lost, fmt.Sprintf("the name of a blob in %d pieces", pieces))
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// The same if each transaction is synced by itself.
	o.NoLog = true
	if s, err = store.OpenWith(dir, o); err != nil {
		t.Fatal(err)
	}
	add(t, s, made("without", "r1", "run", "", "capture.x", `"1"`, 99))
	look("a change that was acknowledged without a log", db)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return lost
}

// TestAnsweredIsOnTheDisk: what the store has answered for is in no page that a power cut would
// lose, and every file name on the way to it was synced.
func TestAnsweredIsOnTheDisk(t *testing.T) {
	if !tellsUnwritten(t, t.TempDir()) {
		t.Skip("this kernel (before Linux 6.5) or file system does not tell which pages are written")
	}
	if lost := onDisk(t); len(lost) > 0 {
		t.Errorf("a power cut would lose: %q", lost)
	}
}
