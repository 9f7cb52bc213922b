//go:build planted

package store_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gaugewright/sync/store"
)

// TestPlantedLosses builds in each error that lets an answer come before the disk has the data.
func TestPlantedLosses(t *testing.T) {
	if !tellsUnwritten(t, t.TempDir()) {
		t.Skip("this kernel or file system does not tell which pages are written")
	}
	defer store.Plant("")
	for _, name := range []string{
		"the database is not synced", "the log is not synced", "a new log is not synced",
		"the folder of a new log is not synced", "the database is not synced before a new log", "a blob is not synced", "the folder of blobs is not synced",
	} {
		store.Plant(name)
		if lost := onDisk(t); len(lost) == 0 {
			t.Errorf("%q: not found", name)
		} else {
			t.Logf("%q: %s", name, lost[0])
		}
	}
}

// TestPlantedLogs builds in each error that keeps the log from restoring what was answered for.
func TestPlantedLogs(t *testing.T) {
	defer store.Plant("")
	for name, test := range map[string]func(*testing.T) []string{
		"pages of the last moment are written on": cutOften,
		"a write is not noted":                    cutOften,
		"a later log begins at an earlier moment": cutOften,
		"a damaged log is cut":                    damagedOpens,
	} {
		store.Plant(name)
		if found := test(t); len(found) == 0 {
			t.Errorf("%q: not found", name)
		} else {
			t.Logf("%q: %s", name, found[0][:min(len(found[0]), 200)])
		}
		store.Plant("")
	}
}

// damagedOpens returns what the store opens with a log that is damaged in its middle.
func damagedOpens(t *testing.T) (opened []string) {
	t.Helper()
	dir, ends := inUse(t)
	path := filepath.Join(dir, store.Log)
	b := read(t, path)
	b[ends[3]-5] ^= 8
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := store.OpenWith(dir, quick)
	if err != nil {
		return nil
	}
	n, err := s.Last()
	return []string{fmt.Sprintf("opened with %d entries, %v, %v", n, err, s.Close())}
}
