package link_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"gaugewright/sync/change"
	"gaugewright/sync/clock"
	"gaugewright/sync/link"
	"gaugewright/sync/store"
)

func made(id, record string, count uint64) change.Change {
	return change.Change{ID: id, Device: "d1", Seq: count + 1, Author: "an", Wall: "2026-03-04T05:06:07.089Z", Stamp: clock.Next(count, 0, "d1"),
		Record: record, Kind: "visit", Set: []change.Setting{{Field: "f", Value: []byte(`"2.50"`)}}}
}

type reply struct {
	Store, Nonce, Time string
	Cursor             uint64
	More               bool
	Acknowledged       []string
	Quarantined        []struct{ ID, Reason string }
	Changes            []struct{ ID string }
}

func side(t *testing.T) *link.Side {
	t.Helper()
	s, err := store.Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return &link.Side{Store: s, MayWrite: func(*change.Change) error { return nil }, InScope: func(*change.Change) bool { return true }}
}

func exchange(t *testing.T, s *link.Side, cursorStore string, cursor uint64, limit int, changes ...string) reply {
	t.Helper()
	body := fmt.Sprintf(`{"store":%q,"cursor":%d,"nonce":"n1","device":"d1","limit":%d,"changes":[%s]}`, cursorStore, cursor, limit, strings.Join(changes, ","))
	q, err := link.ReadRequest([]byte(body))
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.Serve(context.Background(), q, "2026-03-04T05:06:08Z")
	if err != nil {
		t.Fatal(err)
	}
	var r reply
	if err := json.Unmarshal(p.Bytes(), &r); err != nil {
		t.Fatal(err)
	}
	if r.Nonce != "n1" {
		t.Errorf("nonce %q", r.Nonce)
	}
	return r
}

func text(c change.Change) string { return string(c.Bytes()) }

func TestLostReplyDoublesNothing(t *testing.T) {
	s := side(t)
	told := 0
	s.OnAccepted = func(c []change.Change) { told += len(c) }
	for range 3 {
		r := exchange(t, s, "", 0, 100, text(made("c1", "r1", 0)), text(made("c2", "r1", 1)))
		if len(r.Acknowledged) != 2 || len(r.Changes) != 2 || r.Cursor != 2 || r.More {
			t.Fatalf("%+v", r)
		}
	}
	if told != 2 {
		t.Errorf("told of %d new changes", told)
	}
}

func TestPullInPiecesReachesTheEnd(t *testing.T) {
	s := side(t)
	var all []change.Change
	for i := range 25 {
		all = append(all, made(fmt.Sprintf("c%d", i), fmt.Sprintf("r%d", i), uint64(i)))
	}
	if _, err := s.Store.Add(context.Background(), all); err != nil {
		t.Fatal(err)
	}
	s.InScope = func(c *change.Change) bool { return c.Record != "r3" }
	id := s.Store.StoreID()
	got, cursor, rounds := 0, uint64(0), 0
	for more := true; more; rounds++ {
		r := exchange(t, s, id, cursor, 7)
		got, cursor, more = got+len(r.Changes), r.Cursor, r.More
		if rounds > 10 {
			t.Fatal("no end")
		}
	}
	if got != 24 || cursor != 25 {
		t.Errorf("%d changes up to %d in %d rounds", got, cursor, rounds)
	}
	if r := exchange(t, s, id, cursor, 7); len(r.Changes) != 0 || r.More {
		t.Errorf("idle: %+v", r)
	}
}

func TestForeignOrFutureCursorStartsAgain(t *testing.T) {
	s := side(t)
	exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)))
	for name, r := range map[string]reply{"another store": exchange(t, s, "other", 1, 10), "beyond": exchange(t, s, s.Store.StoreID(), 99, 10)} {
		if len(r.Changes) != 1 || r.Cursor != 1 {
			t.Errorf("%s: %+v", name, r)
		}
	}
}

func TestRefusedIsKeptAndNamed(t *testing.T) {
	s := side(t)
	s.MayWrite = func(c *change.Change) error {
		if c.Record == "r2" {
			return errors.New("the account was revoked")
		}
		return nil
	}
	forged := made("c1", "r9", 5)
	r := exchange(t, s, "", 0, 10, text(made("c1", "r1", 0)), text(made("c2", "r2", 1)), `{"id":"c3","x":1}`, `17`)
	if len(r.Acknowledged) != 1 || len(r.Quarantined) != 3 || len(r.Changes) != 1 {
		t.Fatalf("%+v", r)
	}
	r = exchange(t, s, "", 0, 10, text(forged))
	if len(r.Acknowledged) != 0 || len(r.Quarantined) != 1 || r.Quarantined[0].ID != "c1" {
		t.Errorf("forged: %+v", r)
	}
	held, err := s.Store.Quarantined()
	if err != nil || len(held) != 4 {
		t.Errorf("%d held, %v", len(held), err)
	}
}

func TestReadRequestRefuses(t *testing.T) {
	for _, body := range []string{``, `[]`, `{}`, `{"nonce":"","device":"d1","changes":[]}`, `{"nonce":"n","device":"D!","changes":[]}`,
		`{"nonce":"n","device":"d1","changes":{}}`, `{"nonce":"n","device":"d1","changes":[],"limit":0}`, `{"nonce":"n","device":"d1","changes":[],"more":1}`} {
		if _, err := link.ReadRequest([]byte(body)); err == nil {
			t.Errorf("%s: taken", body)
		}
	}
}

func FuzzReadRequest(f *testing.F) {
	f.Add([]byte(`{"store":"","cursor":0,"nonce":"n1","device":"d1","changes":[` + text(made("c1", "r1", 0)) + `]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		q, err := link.ReadRequest(b)
		if err != nil && (q.Nonce != "" || q.Changes != nil) {
			t.Fatal("a request beside an error")
		}
	})
}
