package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"

	"gaugewright/sync/tight"
)

// TestBlobForAFullDisk: 507 with a code and no word of the server's folders; nothing of it counts,
// and with space the same blob comes through.
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
