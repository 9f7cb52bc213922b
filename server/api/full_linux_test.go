package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"os"
	"strings"
	"testing"

	"gaugewright/sync/store"
	"gaugewright/sync/tight"
)

// TestBlobForAFullDisk checks that a full disk gives 507 with a code and no folder names, that
// nothing of the blob counts, and that the same blob is accepted once there is space.
func TestBlobForAFullDisk(t *testing.T) {
	if !tight.Alone(t) {
		return
	}
	p := newPlant(t)
	photo := strings.Repeat("photo ", 50_000)
	sum := sha256.Sum256([]byte(photo))
	path := "/api/blobs/" + hex.EncodeToString(sum[:])
	var a answer
	tight.RoomFor(t, 100_000, func() { a = p.do("technician", "PUT", path, photo) })
	if a.status != 507 || !strings.Contains(string(a.body), `"code":"full"`) ||
		strings.Contains(string(a.body), "blobs") {
		t.Errorf("%d %s", a.status, a.body)
	}
	if head := p.do("technician", "HEAD", path, ""); head.status != 404 || head.header.Get("Blob-Arrived") != "0" {
		t.Errorf("%d, %s arrived", head.status, head.header.Get("Blob-Arrived"))
	}
	if a := p.do("technician", "PUT", path, photo); a.status != 204 {
		t.Errorf("with room: %d %s", a.status, a.body)
	}
	if a := p.do("technician", "GET", path, ""); string(a.body) != photo {
		t.Errorf("%d, %d bytes", a.status, len(a.body))
	}
}

// TestBackupOnAFullDisk checks that a backup without space says so and leaves nothing behind, and
// succeeds once there is space.
func TestBackupOnAFullDisk(t *testing.T) {
	if !tight.Alone(t) {
		return
	}
	p := newPlant(t)
	f := p.phone()
	for range 40 { // space that the copy of the database needs
		f.make("instrument", "", set("tag", "PI-1"), set("note", strings.Repeat("long ", 2000)))
	}
	var a answer
	tight.RoomFor(t, 200_000, func() { a = p.do("administrator", "POST", "/api/backup", "") })
	if a.status != 507 || !strings.Contains(string(a.body), `"code":"full"`) {
		t.Errorf("%d %s", a.status, a.body)
	}
	var err error
	tight.RoomFor(t, 200_000, func() { err = p.store.Backup(io.Discard, false) })
	if !errors.Is(err, store.ErrFull) {
		t.Errorf("the copy: %v", err)
	}
	list, err := os.ReadDir(p.store.Dir())
	for _, e := range list {
		if strings.Contains(e.Name(), "backup") {
			t.Errorf("%s was left behind", e.Name())
		}
	}
	if a := p.do("administrator", "POST", "/api/backup", ""); err != nil || a.status != 200 || len(a.body) == 0 {
		t.Errorf("with room: %d, %v", a.status, err)
	}
}
