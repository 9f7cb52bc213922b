package api_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
	"time"

	"gaugewright/sync/change"
)

// TestPhotosOfARevokedUserAreKept checks that a revoked user's unsent work is quarantined with its
// photos, and that nothing else of theirs is accepted or shown to them.
func TestPhotosOfARevokedUserAreKept(t *testing.T) {
	p := newPlant(t)
	f := p.phone()
	photo := func(text string) (path string, name string) {
		sum := sha256.Sum256([]byte(text))
		name = hex.EncodeToString(sum[:])
		return "/api/blobs/" + name, name
	}
	mine, sha := photo("the gauge's glass")
	foreign, _ := photo("anything")
	others, sha2 := photo("of somebody else")
	if a := p.do("administrator", "POST", "/api/users/"+id("technician")+"/revoke", ""); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	p.now = p.now.Add(time.Hour) // the token has expired as well
	if a := p.do("technician", "PUT", mine, "the gauge's glass"); a.status != 403 {
		t.Errorf("before the work that names it: %d %s", a.status, a.body)
	}
	c, _, err := f.drafter.New(
		"visit", "", "", p.now,
		set("photo.a", doc{"sha256": sha, "type": "image/jpeg", "bytes": 17, "caption": ""}),
	)
	if err != nil {
		t.Fatal(err)
	}
	if why := f.give(c, nil); why == "" {
		t.Fatal("a revoked user's change was taken")
	}
	f.drafter.Author = id("reviewer") // the phone claims that somebody else wrote it
	c, _, err = f.drafter.New("visit", "", "", p.now, set("photo.b", doc{"sha256": sha2}))
	if err != nil {
		t.Fatal(err)
	}
	f.give(c, nil)
	for _, tt := range []struct {
		name, method, path, body string
		want                     int
	}{
		{"is it there", "HEAD", mine, "", 404},
		{"the photo", "PUT", mine, "the gauge's glass", 204},
		{"again", "PUT", mine, "the gauge's glass", 204},
		{"is it there now", "HEAD", mine, "", 200},
		{"other bytes under its name", "PUT", mine, "else", 400},
		{"a blob that nothing names", "PUT", foreign, "anything", 403},
		{"one that only somebody else's change names", "PUT", others, "of somebody else", 403},
		{"looking at it", "GET", mine, "", 403},
	} {
		if a := p.do("technician", tt.method, tt.path, tt.body); a.status != tt.want {
			t.Errorf("%s: %d %s, want %d", tt.name, a.status, a.body, tt.want)
		}
	}
	if kept, err := p.store.Blob(sha); err != nil || !bytes.Equal(kept, []byte("the gauge's glass")) {
		t.Errorf("for the office: %q %v", kept, err)
	}
	if a := p.do("", "PUT", mine, "the gauge's glass"); a.status != 401 {
		t.Errorf("a guest: %d", a.status)
	}
}

// TestARevokedUserHandsOverSoMuch checks that a revoked account's push is bounded, and that what
// exceeds the bound is not acknowledged, so that the device keeps it. What the journal already has
// is not quarantined again.
func TestARevokedUserHandsOverSoMuch(t *testing.T) {
	p := newPlant(t)
	before := made("c0", id("technician"), "visit", "remark.x")
	if why := p.sends("technician", before)[0]; why != "" {
		t.Fatal(why)
	}
	if a := p.do("administrator", "POST", "/api/users/"+id("technician")+"/revoke", ""); a.status != 204 {
		t.Fatalf("%d %s", a.status, a.body)
	}
	if why := p.sends("technician", before)[0]; why != "" {
		t.Errorf("what was taken before is set aside: %s", why)
	}
	// The reply says so also to a phone with nothing to send, so that it keeps nothing.
	for _, who := range []string{"technician", "reviewer"} {
		a := p.do(who, "POST", "/api/sync", `{"brief":true,`+push()[1:])
		if a.status != 200 || strings.Contains(string(a.body), `"ended":true`) != (who == "technician") {
			t.Errorf("%s: %d %s", who, a.status, a.body)
		}
	}
	text, n, refused := strings.Repeat("x", 500_000), 0, 0
	for range 6 {
		var list []change.Change
		for range 25 {
			n++
			c := made(fmt.Sprintf("c%d", n), id("technician"), "visit", "remark.x")
			c.Set[0].Value = []byte(`"` + text + `"`)
			list = append(list, c)
		}
		switch a := p.do("technician", "POST", "/api/sync", push(list...)); a.status {
		case 200:
		case 507:
			refused++
		default:
			t.Fatalf("%d %s", a.status, a.body)
		}
	}
	if count, size, err := p.store.HeldSize(); err != nil || count != 125 || size > 64<<20 || refused != 1 {
		t.Errorf("%d, %d bytes, %d refused, %v", count, size, refused, err)
	}
	if day := p.do("reviewer", "GET", "/api/office/day", ""); !strings.Contains(string(day.body), `"quarantined":125`) {
		t.Errorf("%s", day.body)
	}
}
