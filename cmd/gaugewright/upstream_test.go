package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"gaugewright/server/api"
	"gaugewright/server/auth"
	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/store"
)

const secret = "a long enough secret"

// place is an office or hub that is served in this process.
type place struct {
	t      *testing.T
	store  *store.Store
	keeper *auth.Keeper
	server *httptest.Server
	f      *forwarder // nil at the office
}

func newPlace(t *testing.T, upstream *place) *place {
	t.Helper()
	s, err := store.OpenWith(t.TempDir(), store.Options{NoSync: true})
	if err != nil {
		t.Fatal(err)
	}
	p := &place{t: t, store: s}
	if p.keeper, err = auth.New(s, time.Now); err != nil {
		t.Fatal(err)
	}
	for id, role := range map[string]auth.Role{"an": auth.Technician, "rev": auth.Reviewer, "hvb": auth.Hub} {
		if _, err := p.keeper.Add(id, "name "+id, role, secret); err != nil {
			t.Fatal(err)
		}
	}
	d := api.Deps{Store: s, Keeper: p.keeper, Now: time.Now, Client: fstest.MapFS{"index.html": {}}}
	if upstream != nil {
		if p.f, err = newForwarder(s, above{address: upstream.server.URL, name: "name hvb", password: secret}); err != nil {
			t.Fatal(err)
		}
		d.OnAccepted, d.Forwarding, d.FetchBlob = p.f.nudge, p.f.state, p.f.fetch.Blob
	}
	p.server = httptest.NewServer(api.New(d))
	t.Cleanup(func() {
		p.server.Close()
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return p
}

func (p *place) do(who, method, path, body string) (int, []byte) {
	p.t.Helper()
	token := ""
	if who != "" {
		l, err := p.keeper.Login("name "+who, secret, "here")
		if err != nil {
			p.t.Fatal(err)
		}
		token = l.Access
	}
	r, err := http.NewRequest(method, p.server.URL+path, strings.NewReader(body))
	if err != nil {
		p.t.Fatal(err)
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+token)
	a, err := http.DefaultClient.Do(r)
	if err != nil {
		p.t.Fatal(err)
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	if err != nil {
		p.t.Fatal(err)
	}
	return a.StatusCode, b
}

func (p *place) push(who string, list ...change.Change) (answer struct{ Acknowledged, Quarantined []any }) {
	p.t.Helper()
	var changes [][]byte
	for i := range list {
		changes = append(changes, list[i].Bytes())
	}
	status, b := p.do(
		who, "POST", "/api/sync",
		`{"store":"","cursor":0,"nonce":"n","device":"d`+who+`","changes":[`+string(bytes.Join(changes, []byte(",")))+`]}`,
	)
	if status != 200 || json.Unmarshal(b, &answer) != nil {
		p.t.Fatalf("%d %s", status, b)
	}
	return answer
}

func (p *place) size() int {
	p.t.Helper()
	n, err := p.store.Last()
	if err != nil {
		p.t.Fatal(err)
	}
	return int(n)
}

func by(author, id, record, kind, name string) change.Change {
	return change.Change{ID: id, Device: "d" + author, Seq: 1, Author: author, Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(0, 0, "d"+author),
		Record: record, Kind: kind, Set: []change.Setting{{Field: name, Value: []byte(`"1"`)}}}
}

// TestForwardingThroughAChain: what a technician brings to the farthest hub reaches the office
// through another hub, photo included. What the office writes comes down. The office judges each
// change by its author. The queue is shown.
func TestForwardingThroughAChain(t *testing.T) {
	office := newPlace(t, nil)
	near := newPlace(t, office)
	far := newPlace(t, near)
	ctx := context.Background()
	if r := far.push("an", by("an", "c1", "r1", "visit", "remark.a"), by("an", "c2", "r2", "visit", "remark.a")); len(r.Acknowledged) != 2 {
		t.Fatalf("%+v", r)
	}
	if r := far.push("rev", by("rev", "c3", "r4", "instrument", "tag")); len(r.Acknowledged) != 1 {
		t.Fatalf("%+v", r)
	}
	if r := office.push("rev", by("rev", "c4", "r3", "instrument", "tag")); len(r.Acknowledged) != 1 {
		t.Fatalf("%+v", r)
	}
	photo := strings.Repeat("a photo ", 75_000) // of three pieces
	sum := sha256.Sum256([]byte(photo))
	name := hex.EncodeToString(sum[:])
	if status, b := far.do("an", "PUT", "/api/blobs/"+name, photo); status != 204 {
		t.Fatalf("%d %s", status, b)
	}
	var f api.Forwarding
	if status, b := far.do("an", "GET", "/api/hub", ""); status != 200 || json.Unmarshal(b, &f) != nil ||
		f.Waiting != 3 || f.Blobs != 1 || f.Upstream == "" || f.Last != "" {
		t.Errorf("%s", b)
	}
	if err := office.keeper.Revoke("rev"); err != nil { // the hubs do not know
		t.Fatal(err)
	}
	for range 2 {
		for _, p := range []*place{far, near, far} {
			if err := p.f.hub.Sync(ctx); err != nil {
				t.Fatal(err)
			}
		}
	}
	if office.size() != 3 || near.size() != 4 || far.size() != 4 {
		t.Errorf("office %d, near %d, far %d changes", office.size(), near.size(), far.size())
	}
	if held, err := office.store.Quarantined(); err != nil || len(held) != 1 ||
		!bytes.Contains(held[0].Bytes, []byte(`"c3"`)) {
		t.Errorf("set aside: %v, %v", held, err)
	}
	if b, err := office.store.Blob(name); err != nil || string(b) != photo {
		t.Errorf("photo %q, %v", b, err)
	}
	if q, err := near.f.hub.Queue(); err != nil || q.Refused != 1 || q.Waiting != 0 || q.Blobs != 0 {
		t.Errorf("%+v, %v", q, err)
	}
	// A hub's account carries changes, and may do nothing else.
	for path, want := range map[string]int{"/api/hub": 403, "/api/users": 403, "/api/tree": 200} {
		if status, _ := office.do("hvb", "GET", path, ""); status != want {
			t.Errorf("a hub at %s: %d", path, status)
		}
	}
	if r := office.push("hvb", by("hvb", "c5", "r5", "visit", "f"), by("nobody", "c6", "r5", "visit", "f")); len(r.Quarantined) != 2 {
		t.Errorf("a hub's own and a stranger's: %+v", r)
	}
	if err := office.keeper.Revoke("hvb"); err != nil {
		t.Fatal(err)
	}
	near.push("an", by("an", "c8", "r8", "visit", "remark.a"))
	if err := near.f.hub.Sync(ctx); err == nil {
		t.Error("a revoked hub may still bring changes")
	}
	if q, err := near.f.hub.Queue(); err != nil || q.Waiting != 1 {
		t.Errorf("a revoked hub's queue: %+v, %v", q, err)
	}
	if r := office.push("an", by("rev", "c7", "r5", "visit", "f")); len(r.Quarantined) != 1 {
		t.Errorf("a technician brings another's: %+v", r)
	}
}

// TestForwarderRunsByItself: what comes in is forwarded soon, and a line that was broken is used
// again once it is back.
func TestForwarderRunsByItself(t *testing.T) {
	office := newPlace(t, nil)
	hub := newPlace(t, office)
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan struct{})
	go func() { defer close(done); hub.f.run(ctx) }()
	for i := range 3 {
		hub.push("an", by("an", fmt.Sprintf("c%d", i), "r1", "visit", fmt.Sprintf("remark.%d", i)))
		for deadline := time.Now().Add(20 * time.Second); office.size() != i+1; time.Sleep(10 * time.Millisecond) {
			if time.Now().After(deadline) {
				t.Fatalf("change %d has not arrived", i)
			}
		}
	}
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		f, err := hub.f.state()
		if err == nil && f.Last != "" && f.Waiting == 0 && f.Problem == "" {
			break
		}
		if time.Now().After(deadline) {
			t.Fatalf("%+v, %v", f, err)
		}
	}
	stop()
	<-done
	office.server.Close()
	if err := hub.f.hub.Sync(context.Background()); err == nil {
		t.Error("no line, and no problem")
	}
}

func TestUpstreamMustBeSafe(t *testing.T) {
	for _, bad := range []string{"http://office.example", "office.example", "ftp://office.example", ""} {
		if _, err := newLine(above{address: bad, name: "hvb", password: secret}); err == nil {
			t.Errorf("%q: taken", bad)
		}
	}
	for _, good := range []string{"https://office.example", "https://office.example:8443", "http://localhost:8080", "http://127.0.0.1:8080"} {
		if _, err := newLine(above{address: good, name: "hvb", password: secret}); err != nil {
			t.Errorf("%q: %v", good, err)
		}
	}
}
