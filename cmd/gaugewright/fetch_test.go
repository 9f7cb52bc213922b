package main

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"
)

// TestHubFetchesBlobs: the farthest hub of a chain gives out a photo that only the office has. The
// hubs keep it on the way and do not send it back up. Asking whether it is there fetches nothing.
// Without a line the error says so, and a blob that nobody has is not found.
func TestHubFetchesBlobs(t *testing.T) {
	office := newPlace(t, nil)
	near := newPlace(t, office)
	far := newPlace(t, near)
	named := func(text string) string {
		sum := sha256.Sum256([]byte(text))
		return hex.EncodeToString(sum[:])
	}
	photo, later := named("a photo"), named("another")
	for name, text := range map[string]string{photo: "a photo", later: "another"} {
		if err := office.store.PutBlob(name, []byte(text)); err != nil {
			t.Fatal(err)
		}
	}
	if status, _ := far.do("an", "HEAD", "/api/blobs/"+photo, ""); status != 404 {
		t.Errorf("HEAD: %d", status)
	}
	if has, err := near.store.HasBlob(photo); has || err != nil {
		t.Errorf("HEAD fetched it: %v, %v", has, err)
	}
	if status, _ := far.do("an", "GET", "/api/blobs/"+named("nowhere"), ""); status != 404 {
		t.Errorf("what is nowhere: %d", status)
	}
	if status, _ := far.do("an", "GET", "/api/blobs/none", ""); status != 400 {
		t.Errorf("no name: %d", status)
	}
	if status, b := far.do("an", "GET", "/api/blobs/"+photo, ""); status != 200 || string(b) != "a photo" {
		t.Errorf("%d %q", status, b)
	}
	for _, p := range []*place{near, far} {
		if has, err := p.store.HasBlob(photo); !has || err != nil {
			t.Errorf("it is not kept: %v, %v", has, err)
		}
		if err := p.f.hub.Sync(t.Context()); err != nil {
			t.Error(err)
		}
		if q, err := p.f.hub.Queue(); err != nil || q.Blobs != 0 {
			t.Errorf("%+v, %v", q, err)
		}
	}
	office.server.Close()
	if status, b := far.do("an", "GET", "/api/blobs/"+photo, ""); status != 200 || string(b) != "a photo" {
		t.Errorf("kept, and the office is gone: %d %q", status, b)
	}
	if status, b := near.do("an", "GET", "/api/blobs/"+later, ""); status != 502 {
		t.Errorf("the office is gone: %d %s", status, b)
	}
}
