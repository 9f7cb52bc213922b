//go:build planted

package store_test

import (
	"testing"

	"gaugewright/sync/store"
)

// TestPlantedLosses builds in each error by which an answer would come before the disk has what it
// is for.
func TestPlantedLosses(t *testing.T) {
	if !tellsUnwritten(t, t.TempDir()) {
		t.Skip("this kernel or file system does not tell which pages are written")
	}
	defer store.Plant("")
	for _, name := range []string{"the database is not synced", "a blob is not synced", "the folder of blobs is not synced"} {
		store.Plant(name)
		if lost := onDisk(t); len(lost) == 0 {
			t.Errorf("%q: not found", name)
		} else {
			t.Logf("%q: %s", name, lost[0])
		}
	}
}
