package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
)

// TestBlobInPieces checks that pieces are kept until the last has come, that what has arrived is
// reported, and that a piece which starts elsewhere changes nothing.
func TestBlobInPieces(t *testing.T) {
	p := newPlant(t)
	photo := strings.Repeat("photo ", 100)
	sum := sha256.Sum256([]byte(photo))
	path := "/api/blobs/" + hex.EncodeToString(sum[:])
	put := func(path, body, content string) answer {
		t.Helper()
		r := httptest.NewRequest("PUT", path, strings.NewReader(body))
		r.Header.Set("Content-Range", content)
		r.Header.Set("Authorization", "Bearer "+p.tokens["technician"])
		return p.send(r)
	}
	for _, tt := range []struct {
		from, to, status int
		arrived          string
	}{
		{0, 250, 202, "250"}, {0, 250, 409, "250"}, {300, 600, 409, "250"}, {250, 400, 202, "400"},
		{400, 600, 204, "600"}, {400, 600, 204, "600"},
	} {
		a := put(path, photo[tt.from:tt.to], fmt.Sprintf("bytes %d-%d/%d", tt.from, tt.to-1, len(photo)))
		if a.status != tt.status || a.header.Get("Blob-Arrived") != tt.arrived {
			t.Errorf("%d to %d: %d, %s arrived: %s", tt.from, tt.to, a.status, a.header.Get("Blob-Arrived"), a.body)
		}
		head := p.do("technician", "HEAD", path, "")
		if whole := tt.status == 204; head.header.Get("Blob-Arrived") != tt.arrived || (head.status == 200) != whole ||
			(head.status == 404) == whole {
			t.Errorf("after %d to %d: %d, %s", tt.from, tt.to, head.status, head.header.Get("Blob-Arrived"))
		}
	}
	if a := p.do("technician", "GET", path, ""); string(a.body) != photo {
		t.Errorf("%d %q", a.status, a.body)
	}
	other := strings.Replace(path, path[len(path)-4:], "0000", 1)
	if a := put(other, photo[:300], "bytes 0-299/600"); a.status != 202 {
		t.Errorf("%d %s", a.status, a.body)
	}
	if a := put(other, photo[300:], "bytes 300-599/600"); a.status != 400 ||
		!strings.Contains(string(a.body), `"hash"`) {
		t.Errorf("what has another hash: %d %s", a.status, a.body)
	}
	if a := p.do("technician", "HEAD", other, ""); a.status != 404 || a.header.Get("Blob-Arrived") != "0" {
		t.Errorf("after that: %d %v", a.status, a.header)
	}
	for _, bad := range []string{"bytes 0-5", "bytes 5-0/9", "bytes 0-9/9", "bytes -1-5/9", "items 0-5/9", "bytes 00-5/9", "bytes 0-5/9 "} {
		if a := put(other, "abcdef", bad); a.status != 400 {
			t.Errorf("%s: %d", bad, a.status)
		}
	}
	if a := put(other, "abc", "bytes 0-2/99999999999"); a.status != 413 {
		t.Errorf("too long: %d", a.status)
	}
}
