package store_test

import (
	"bytes"
	"context"
	"path/filepath"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/store"
)

// TestWhatComesBackIsKnownByItsSignature: a store that was restored from an older copy recognizes
// its own signature over what it sent since, in any order and with nothing else. It takes that back
// without judging it, and lists it once.
func TestWhatComesBackIsKnownByItsSignature(t *testing.T) {
	s, err := opened(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	var copied bytes.Buffer
	if err := s.Backup(&copied, false); err != nil {
		t.Fatal(err)
	}
	list := []change.Change{setOf(1, "v1", "a", "1"), setOf(2, "v1", "b", "2")}
	if r, err := s.Add(context.Background(), list); err != nil || len(r.Accepted) != 2 {
		t.Fatal(r, err)
	}
	signed := s.Given([][]byte{list[0].Bytes(), list[1].Bytes()})
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "back")
	if _, err := store.Restore(dir, &copied); err != nil {
		t.Fatal(err)
	}
	if err := brought(dir); err != nil {
		t.Fatal(err)
	}
	if s, err = opened(dir); err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	other := setOf(2, "v1", "b", "3")
	one, two := list[0].Bytes(), list[1].Bytes()
	earlier := store.GivenEarlier(s, [][]byte{one, two})
	for _, x := range []struct {
		what   string
		list   [][]byte
		others []journal.Hash
		sign   string
		want   bool
	}{
		{"as given", [][]byte{one, two}, nil, signed, true},
		{"in another order", [][]byte{two, one}, nil, signed, true},
		{"one fewer", [][]byte{one}, nil, signed, false},
		{"one twice", [][]byte{one, two, two}, nil, signed, false},
		{"one altered", [][]byte{one, other.Bytes()}, nil, signed, false},
		{"no signature", [][]byte{one, two}, nil, "", false},
		{"nothing", nil, nil, s.Given(nil), false},
		{"one by its leaf", [][]byte{two}, []journal.Hash{journal.Leaf(one)}, signed, true},
		{"by another leaf", [][]byte{two}, []journal.Hash{journal.Leaf(other.Bytes())}, signed, false},
		{"altered beside a leaf", [][]byte{other.Bytes()}, []journal.Hash{journal.Leaf(one)}, signed, false},
		{"leaves alone", nil, []journal.Hash{journal.Leaf(one), journal.Leaf(two)}, signed, false},
		{"by an earlier program", [][]byte{one, two}, nil, earlier, true},
		{"one fewer of that", [][]byte{one}, nil, earlier, false},
	} {
		if got := s.Gave(x.list, x.others, x.sign); got != x.want {
			t.Errorf("%s: %v", x.what, got)
		}
	}
	for range 2 {
		if _, err := s.AddBack(context.Background(), list, "an"); err != nil {
			t.Fatal(err)
		}
	}
	var ids []string
	err = s.CameBack(func(b store.Back, c *change.Change) error {
		if b.ID != c.ID || b.From != "an" || b.At == "" {
			t.Errorf("%+v of %s", b, c.ID)
		}
		ids = append(ids, c.ID)
		return nil
	})
	if err != nil || len(ids) != 2 || ids[0] != "c1" || ids[1] != "c2" {
		t.Errorf("%v, %v", ids, err)
	}
}

// TestPassing: what a newer program wrote is kept as it came, once, and counts against the quota of
// the account that brought it.
func TestPassing(t *testing.T) {
	s, err := opened(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	one := store.Passing{ID: "n1", From: "an", Bytes: []byte(`{"v":2,"id":"n1"}`)}
	if err := s.Pass(one, one); err != nil {
		t.Fatal(err)
	}
	if err := s.Pass(store.Passing{ID: "n1", Bytes: []byte(`{"v":2,"id":"n1","x":1}`)}); err == nil {
		t.Error("other bytes under the same id")
	}
	above := one
	above.Above = true
	if err := s.Pass(above, store.Passing{ID: "n2", Above: true, Bytes: []byte(`{"v":3,"id":"n2"}`)}); err != nil {
		t.Fatal(err)
	}
	list, err := s.PassingAfter(0, 10, 1000)
	if err != nil || len(list) != 2 || !list[0].Above || list[0].From != "an" ||
		string(list[1].Bytes) != `{"v":3,"id":"n2"}` {
		t.Fatalf("%+v, %v", list, err)
	}
	if list, err = s.PassingAfter(list[0].Seq, 10, 1000); err != nil || len(list) != 1 || list[0].ID != "n2" {
		t.Fatalf("%+v, %v", list, err)
	}
	if err := s.Pass(store.Passing{ID: "n3", From: "an", Bytes: make([]byte, store.MaxHeldOf)}); err == nil {
		t.Error("one account takes all the room")
	}
	if err := s.Passed(list...); err != nil {
		t.Fatal(err)
	}
	if _, there, err := s.PassingAs("n2"); err != nil || there {
		t.Errorf("%v, %v", there, err)
	}
	if p, there, err := s.PassingAs("n1"); err != nil || !there || string(p.Bytes) != string(one.Bytes) {
		t.Errorf("%+v, %v", p, err)
	}
}
