package link_test

import (
	"bytes"
	"context"
	"errors"
	"path/filepath"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

// TestWhatWasGivenIsTakenBack: after an older copy was restored a person brings what they were
// given, of whoever wrote it. What the office's signature covers is taken as it was; the rest is
// judged as if they had written it, and quarantined.
func TestWhatWasGivenIsTakenBack(t *testing.T) {
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	var copied bytes.Buffer
	if err := s.Backup(&copied, false); err != nil {
		t.Fatal(err)
	}
	theirs, also := made("c1", "r1", 1), made("c2", "r2", 2)
	if r, err := s.Add(context.Background(), []change.Change{theirs, also}); err != nil || len(r.Accepted) != 2 {
		t.Fatal(r, err)
	}
	ask := func(s *store.Store, q link.Request) link.Response {
		t.Helper()
		q.Nonce, q.Device, q.Limit, q.Protocol = "n", "d9", 100, link.Protocol
		read, err := link.ReadRequest(q.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		side := link.Side{
			Store: s, Sender: "me", InScope: func(*change.Change) (bool, error) { return true, nil },
			MayWrite: func(*change.Change) error { return errors.New("the change names another author") },
		}
		p, err := side.Serve(context.Background(), read, "")
		if err != nil {
			t.Fatal(err)
		}
		if p, err = link.ReadResponse(p.Bytes(), &read); err != nil {
			t.Fatal(err)
		}
		return p
	}
	given := ask(s, link.Request{})
	if given.Given == "" || len(given.Changes) != 2 {
		t.Fatalf("%+v", given)
	}
	old := link.Request{Nonce: "n", Device: "d9", Limit: 100}
	side := link.Side{Store: s, InScope: func(*change.Change) (bool, error) { return true, nil }}
	if p, err := side.Serve(context.Background(), old, ""); err != nil || p.Given != "" {
		t.Errorf("to protocol 1: %q, %v", p.Given, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "back")
	if _, err := store.Restore(dir, &copied); err != nil {
		t.Fatal(err)
	}
	back, err := store.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := back.Close(); err != nil {
			t.Error(err)
		}
	}()
	group := link.Back{Given: given.Given, Changes: []link.Sent{{Bytes: theirs.Bytes()}, {Bytes: also.Bytes()}}}
	altered := also
	altered.Set = []change.Setting{{Field: "f", Value: []byte(`"9"`)}}
	forged := link.Back{Given: given.Given, Changes: []link.Sent{{Bytes: theirs.Bytes()}, {Bytes: altered.Bytes()}}}
	p := ask(back, link.Request{Back: []link.Back{forged}})
	if len(p.Acknowledged) != 0 || len(p.Quarantined) != 2 {
		t.Errorf("forged: %+v", p)
	}
	p = ask(back, link.Request{Back: []link.Back{group}})
	if len(p.Acknowledged) != 2 || len(p.Quarantined) != 0 || len(p.Changes) != 2 {
		t.Errorf("as given: %+v", p)
	}
	p = ask(back, link.Request{Back: []link.Back{group}})
	if len(p.Acknowledged) != 2 {
		t.Errorf("once more: %+v", p)
	}
	// What was quarantined of it meanwhile is closed: the journal has it. The altered one is not.
	open, _, err := back.HeldAfter(0, 10, 1<<20, false)
	if err != nil || len(open) != 1 || !bytes.Equal(open[0].Bytes, altered.Bytes()) {
		t.Errorf("%+v, %v", open, err)
	}
}
