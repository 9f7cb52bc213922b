package store_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/journal"
	"gaugewright/sync/merge"
	"gaugewright/sync/store"

	"go.etcd.io/bbolt"
)

// erasing is a change that erases name and strokes from another one.
func erasing(t *testing.T, id string, of change.Change, count uint64) change.Change {
	t.Helper()
	e := store.Erasure{
		Values: []store.ErasedValue{{Field: "signature", Members: []string{"name"}, Digest: "0f"}},
		By:     "em", At: "2026-03-04", Why: "asked for",
	}
	leaf := journal.Leaf(of.Bytes())
	left := merge.Without(of, []merge.Erased{{Field: "signature", Members: []string{"name"}, Digest: "0f"}})
	rest := sha256.Sum256(left.Bytes())
	e.Leaf, e.Rest = hex.EncodeToString(leaf[:]), hex.EncodeToString(rest[:])
	b, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	return made(id, of.Record, "visit", "", store.ErasureField(of.ID), string(b), count)
}

// TestErasedOfAnEntry: what is erased from a change is in no entry, state or backup any more,
// wherever it comes from and in whatever order. The tree keeps its root. A phone that has the
// original change gets the reply that it is here. A check accepts the erasure and names who erased it and
// why.
func TestErasedOfAnEntry(t *testing.T) {
	const name = "Sefa Lindqvar"
	one := made("c1", "v1", "visit", "", "signature", `{"name":"`+name+`","at":"t"}`, 1)
	more := made("c2", "v1", "visit", "", "place", `"boiler"`, 2)
	gone := erasing(t, "e1", one, 3)
	left := merge.Without(one, merge.ReadErased(gone.Set[0].Value))
	var root string
	for _, order := range [][]change.Change{
		{one, more, gone}, {one, gone, more}, {gone, one, more}, {more, gone, one}, {left, more, gone}, {left, gone, more},
	} {
		dir := t.TempDir()
		s := open(t, dir)
		for _, c := range order {
			add(t, s, c)
		}
		if r, err := s.Add(context.Background(), []change.Change{one, left, gone}); err != nil || len(r.Known) != 3 ||
			len(r.Refused) != 0 {
			t.Fatalf("sent again: %+v, %v", r, err)
		}
		state, _, err := s.Record("v1")
		if err != nil || strings.Contains(string(state.Bytes()), name) {
			t.Fatal(string(state.Bytes()), err)
		}
		if now := string(state.Bytes()); root == "" {
			root = now
		} else if root != now {
			t.Errorf("another state: %s", now)
		}
		if c, _, err := s.Change("c1"); err != nil || !bytes.Equal(c.Bytes(), left.Bytes()) {
			t.Errorf("%s, %v", c.Bytes(), err)
		}
		if b, err := os.ReadFile(filepath.Join(dir, store.Log)); err != nil || bytes.Contains(b, []byte(name)) {
			t.Error("the log has the name", err)
		}
		var copied bytes.Buffer
		if err := s.Backup(&copied, false); err != nil {
			t.Fatal(err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		r := check(t, dir)
		if len(r.Damage) > 0 {
			t.Fatal(r.Damage)
		}
		fresh := string(order[0].Bytes()) == string(left.Bytes()) // it never had what was erased
		if notes := strings.Join(r.Notes, "\n"); strings.Contains(notes, "were erased on 2026-03-04 by em: asked for") == fresh {
			t.Error(r.Notes)
		}
		back := filepath.Join(t.TempDir(), "back")
		if r, err := store.Restore(back, &copied); err != nil || len(r.Damage) > 0 {
			t.Fatal(r, err)
		}
		if b, err := os.ReadFile(filepath.Join(back, store.File)); err != nil || bytes.Contains(b, []byte(name)) {
			t.Error("a backup has the name", err)
		}
	}
}

// TestErasedIsKnown: a sender who brings the original of an erased change gets the reply that it is here,
// even if they may not write any more. What was held of it is closed.
func TestErasedIsKnown(t *testing.T) {
	one := made("c1", "v1", "visit", "", "signature", `{"name":"Sefa Lindqvar","at":"t"}`, 1)
	other := made("c1", "v1", "visit", "", "signature", `{"name":"Sefa Lindqvar","at":"u"}`, 1)
	gone := erasing(t, "e1", one, 2)
	left := merge.Without(one, merge.ReadErased(gone.Set[0].Value))
	s := open(t, t.TempDir())
	if err := s.Quarantine(store.Held{Reason: "the account was ended", Bytes: one.Bytes()}); err != nil {
		t.Fatal(err)
	}
	add(t, s, gone, left)
	for _, reason := range []string{"the account was ended", "for another reason"} { // the original, and again
		if err := s.Quarantine(store.Held{Reason: reason, From: "an", Bytes: one.Bytes()}); err != nil {
			t.Fatal(err)
		}
	}
	known, err := s.Standings([]change.Change{one, left, other})
	if err != nil || !known[0].Known || !known[1].Known || known[2].Known {
		t.Errorf("%+v %v", known, err)
	}
	held, err := s.Quarantined()
	if err != nil || len(held) != 2 || held[0].Closed == nil || held[0].Closed.How != store.ClosedArrived {
		t.Errorf("%+v %v", held, err)
	}
	for _, h := range held {
		if !bytes.Equal(h.Bytes, left.Bytes()) {
			t.Errorf("held: %s", h.Bytes)
		}
	}
	dir := s.Dir()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r := check(t, dir); len(r.Damage) > 0 {
		t.Errorf("%q", r.Damage)
	}
}

// TestAnErasureCoversNothingElse: an entry that was altered beyond what was erased, and a value
// that is still here, are damage.
func TestAnErasureCoversNothingElse(t *testing.T) {
	one := made("c1", "v1", "visit", "", "signature", `{"name":"Sefa Lindqvar","at":"t"}`, 1)
	for what, entry := range map[string]func([]byte) []byte{
		"altered": func(b []byte) []byte { return bytes.Replace(b, []byte(`"at":"t"`), []byte(`"at":"u"`), 1) },
		"here":    func([]byte) []byte { return one.Bytes() },
	} {
		dir := t.TempDir()
		s := open(t, dir)
		add(t, s, one, erasing(t, "e1", one, 2))
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		altered(t, dir, func(tx *bbolt.Tx) error {
			b := tx.Bucket([]byte("journal"))
			k := []byte{0, 0, 0, 0, 0, 0, 0, 1}
			return b.Put(k, entry(bytes.Clone(b.Get(k))))
		})
		if r := check(t, dir); len(r.Damage) == 0 {
			t.Errorf("%s: no damage", what)
		}
	}
}
