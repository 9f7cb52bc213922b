package link_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"path/filepath"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/link"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"
)

// TestWhatWasGivenIsTakenBack: after an older copy was restored, a person brings what they were
// sent, whoever wrote it. The office takes what its signature covers as it was. It judges the rest
// as that person's own changes, and quarantines them.
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
	// What was quarantined of it meanwhile is closed, since the journal has it. The altered change
	// stays open.
	open, _, err := back.HeldAfter(0, 10, 1<<20, false)
	if err != nil || len(open) != 1 || !bytes.Equal(open[0].Bytes, altered.Bytes()) {
		t.Errorf("%+v, %v", open, err)
	}
}

// TestErasuresComeBeforeWhatTheyLeft: what is left of a change goes into the tree of a restored copy by
// the leaf of what it was. So its erasure is taken first out of a group, and a device that pushes what
// is left before it knows of the restore is asked for it again.
func TestErasuresComeBeforeWhatTheyLeft(t *testing.T) {
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	var copied bytes.Buffer
	if err := s.Backup(&copied, false); err != nil {
		t.Fatal(err)
	}
	was := made("c1", "r1", 1)
	was.Set = []change.Setting{{Field: "who", Value: []byte(`{"n":1,"name":"somebody"}`)}}
	gone := []merge.Erased{{Field: "who", Members: []string{"name"}, Digest: "00"}}
	left := merge.Without(was, gone)
	leaf, rest := journal.Leaf(was.Bytes()), sha256.Sum256(left.Bytes())
	value, err := json.Marshal(store.Erasure{
		Change: "c1", Leaf: hex.EncodeToString(leaf[:]), Rest: hex.EncodeToString(rest[:]),
		Values: []store.ErasedValue{{Field: "who", Members: []string{"name"}, Digest: "00"}},
	})
	if err != nil {
		t.Fatal(err)
	}
	erasure := made("c2", "r1", 2)
	erasure.Set = []change.Setting{{Field: store.ErasureField("c1"), Value: value}}
	given := s.Given([][]byte{left.Bytes(), erasure.Bytes()})
	place := link.Request{Store: s.StoreID(), Epoch: s.Epoch()}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	group := []link.Back{{Given: given, Changes: []link.Sent{{Bytes: left.Bytes()}, {Bytes: erasure.Bytes()}}}}
	for name, pushes := range map[string]bool{"in a group": false, "pushed before": true} {
		dir := filepath.Join(t.TempDir(), "back")
		if _, err := store.Restore(dir, bytes.NewReader(copied.Bytes())); err != nil {
			t.Fatal(err)
		}
		back, err := store.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		ask := func(q link.Request) link.Response {
			t.Helper()
			q.Nonce, q.Device, q.Limit, q.Protocol = "n", "d1", 100, link.Protocol
			read, err := link.ReadRequest(q.Bytes())
			if err != nil {
				t.Fatal(err)
			}
			all := func(*change.Change) (bool, error) { return true, nil }
			side := link.Side{Store: back, Sender: "me", InScope: all, MayWrite: func(*change.Change) error { return nil }}
			p, err := side.Serve(context.Background(), read, "")
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		if pushes {
			q := place
			q.Changes = []link.Sent{{Bytes: left.Bytes()}}
			if p := ask(q); !p.Again || len(p.Acknowledged)+len(p.Quarantined) > 0 {
				t.Errorf("%s: %+v", name, p)
			}
		}
		if p := ask(link.Request{Back: group}); len(p.Acknowledged) != 2 {
			t.Errorf("%s: %+v", name, p)
		}
		if got, err := back.Leaves([]string{"c1"}); err != nil || got["c1"] != leaf {
			t.Errorf("%s: the tree has %x, it was %x, %v", name, got["c1"], leaf, err)
		}
		if err := back.Close(); err != nil {
			t.Error(err)
		}
	}
}
