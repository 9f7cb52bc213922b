//go:build unix

package store_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// TestTheFolderIsItsOwnersAlone: no other account of the machine can read what the store writes,
// whatever the umask.
func TestTheFolderIsItsOwnersAlone(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "plant")
	s := open(t, dir)
	add(t, s, made("c1", "v1", "visit", "", "place", `"boiler"`, 1))
	b := []byte("a photo")
	if err := s.PutBlob(nameOf(b), b); err != nil {
		t.Fatal(err)
	}
	looked := 0
	err := filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := os.Stat(path)
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %v", path, info.Mode())
		}
		looked++
		return err
	})
	if err != nil || looked < 4 {
		t.Errorf("%d looked at, %v", looked, err)
	}
}
