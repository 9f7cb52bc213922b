package store_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/store"
)

func sent(id, author string, n uint64) (change.Change, []byte) {
	c := made(id, "r"+id, "instrument", "", "tag", `"PI-1"`, n)
	c.Author = author
	return c, c.Bytes()
}

func held(t *testing.T, s *store.Store) (open int, how []string) {
	t.Helper()
	list, err := s.Quarantined()
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range list {
		if h.Closed == nil {
			open++
			how = append(how, "open")
		} else {
			how = append(how, h.Closed.How)
		}
	}
	if n, err := s.HeldCount(); err != nil || n != open {
		t.Errorf("%d counted, %d open, %v", n, open, err)
	}
	return open, how
}

// TestHeldIsClosed: an entry of the quarantine is closed by the arrival of its change in the
// journal, by a new reason for holding it, and by a person's decision, which sending it again does
// not undo. The author hears what was refused for good. The store passes the check.
func TestHeldIsClosed(t *testing.T) {
	dir := t.TempDir()
	s, err := openedWith(dir, quick)
	if err != nil {
		t.Fatal(err)
	}
	hold := func(reason, from string, b []byte) {
		t.Helper()
		if err := s.Quarantine(store.Held{Reason: reason, From: from, Bytes: b}); err != nil {
			t.Fatal(err)
		}
	}
	one, first := sent("c1", "an", 1)
	_, other := sent("c2", "an", 2)
	_, bens := sent("c3", "ben", 3)
	hold("ended", "an", first)
	hold("ended", "hvb", other)
	hold("another author", "an", bens)
	hold("no change", "an", []byte("{}"))
	if n, how := held(t, s); n != 4 {
		t.Errorf("%v", how)
	}
	hold("may not", "an", first)
	if _, how := held(t, s); !slices.Equal(how, []string{"again", "open", "open", "open", "open"}) {
		t.Errorf("held for another reason: %v", how)
	}
	hold("ended", "an", first)
	if _, how := held(t, s); !slices.Equal(how, []string{"open", "open", "open", "open", "again"}) {
		t.Errorf("held for the first reason again: %v", how)
	}
	forged := one
	forged.Set = []change.Setting{{Field: "tag", Value: []byte(`"PI-9"`)}}
	hold("ended", "ben", forged.Bytes())
	add(t, s, one)
	if _, how := held(t, s); !slices.Equal(how, []string{"arrived", "open", "open", "open", "again", "open"}) {
		t.Errorf("the change came: %v", how)
	}
	if list, err := s.HeldBy("an", 0, 9, 1<<20); err != nil || len(list) != 2 || list[0].Change != "c2" ||
		list[0].From != "hvb" || list[1].From != "ben" {
		t.Errorf("%+v, %v", list, err)
	}
	if err := s.CloseHeld(2, store.Closing{How: store.ClosedRejected, By: "pe11", At: "2026-03-04T05:06:07Z", Why: "typed twice"}); err != nil {
		t.Fatal(err)
	}
	hold("ended", "an", other)
	hold("for a new reason", "an", other)
	_, how := held(t, s)
	if !slices.Equal(how, []string{"arrived", "rejected", "open", "open", "again", "open", "rejected"}) {
		t.Errorf("a rejected one sent again: %v", how)
	}
	list, err := s.Refusals("an", 9)
	if err != nil || len(list) != 3 ||
		list[0] != (store.Refusal{ID: "c2", Reason: "rejected by the office: typed twice"}) {
		t.Errorf("%+v, %v", list, err)
	}
	if list, err := s.RefusalsFrom("ben", 9); err != nil || len(list) != 1 || list[0].ID != "c1" {
		t.Errorf("%+v, %v", list, err)
	}
	if list, rest, err := s.HeldAfter(0, 2, 1<<20, false); err != nil || len(list) != 2 || rest != 1 ||
		list[0].Seq != 3 {
		t.Errorf("%+v, %d, %v", list, rest, err)
	}
	if list, rest, err := s.HeldAfter(3, 9, 1<<20, true); err != nil || len(list) != 4 || rest != 0 {
		t.Errorf("%+v, %d, %v", list, rest, err)
	}
	if _, err := s.HeldAt(99); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%v", err)
	}
	altered := one
	altered.Set = forged.Set
	rejected, _ := sent("c2", "an", 2)
	if known, err := s.Standings([]change.Change{one, altered, rejected, {}}); err != nil ||
		!slices.Equal(known, []store.Standing{{Known: true}, {}, {Rejected: "rejected by the office: typed twice"}, {}}) {
		t.Errorf("%v, %v", known, err)
	}
	if there, err := s.Has([]string{"c1", "c2"}); err != nil || !slices.Equal(there, []string{"c1"}) {
		t.Errorf("%v, %v", there, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if r := check(t, dir); len(r.Damage) > 0 {
		t.Errorf("%q", r.Damage)
	}
}

// TestPieceEndsAtItsBytes: a piece that its byte limit ends leaves nothing out; the next one begins
// with what did not fit.
func TestPieceEndsAtItsBytes(t *testing.T) {
	s, err := openedWith(t.TempDir(), quick)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close() // the test loses nothing if closing fails
	var all []change.Change
	for i := range 12 {
		c := made(
			fmt.Sprintf("c%d", i), "r1", "visit", "", fmt.Sprintf("remark.%d", i),
			fmt.Sprintf(`{"text":"%0*d"}`, 100+300*i, 7), uint64(i),
		)
		all = append(all, c)
	}
	if _, err := s.Add(context.Background(), all); err != nil {
		t.Fatal(err)
	}
	for size := 1; size < 9000; size += 137 {
		var got []string
		for at, turns := uint64(0), 0; turns < 20; turns++ {
			list, last, err := s.Piece(at, store.Bounds{Bytes: size}, nil)
			if err != nil {
				t.Fatal(err)
			}
			if len(list) == 0 {
				break
			}
			if n := len(list); last != list[n-1].Seq {
				t.Fatalf("of %d bytes: the piece ends with %d and says %d", size, list[n-1].Seq, last)
			}
			for _, e := range list {
				got = append(got, e.Change.ID)
			}
			at = last
		}
		if len(got) != len(all) {
			t.Fatalf("pieces of %d bytes: %v", size, got)
		}
	}
}

// TestOneSenderDoesNotFillTheQuarantine: one account gets a quarter of the room; what others bring
// is still kept.
func TestOneSenderDoesNotFillTheQuarantine(t *testing.T) {
	s, err := opened(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}()
	if err := s.Quarantine(store.Held{Reason: "no", Bytes: []byte("first"), From: "anna"}); err != nil {
		t.Fatal(err)
	}
	full := binary.BigEndian.AppendUint64(nil, store.MaxHeldOf-10)
	if err := s.Private("held from").Put("anna", full); err != nil {
		t.Fatal(err)
	}
	if err := s.Quarantine(store.Held{Reason: "no", Bytes: []byte("one more"), From: "anna"}); !errors.Is(err, store.ErrHeldFull) {
		t.Errorf("beyond her room: %v", err)
	}
	if err := s.Quarantine(store.Held{Reason: "no", Bytes: []byte("one more"), From: "bert"}); err != nil {
		t.Errorf("another's: %v", err)
	}
	if err := s.SetHeldSize(store.MaxHeld - 100); err != nil {
		t.Fatal(err)
	}
	if err := s.Quarantine(store.Held{Reason: "no", Bytes: []byte("still fits"), From: "cora"}); err != nil {
		t.Error(err)
	}
	much := bytes.Repeat([]byte("x"), 200)
	if err := s.Quarantine(store.Held{Reason: "no", Bytes: much, From: "cora"}); !errors.Is(err, store.ErrHeldFull) {
		t.Errorf("too much for all: %v", err)
	}
}
